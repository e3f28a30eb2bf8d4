"""Words: sentences and tables from typed findings.

What comes in: findings. What goes out: the text that page, command line, film and figures print. It
is assumed that one number is said one way wherever it is printed.
"""
