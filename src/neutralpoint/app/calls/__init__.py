"""What the pages ask for: one handler for each address.

What comes in: a checked request with its notebook. What goes out: JSON or bytes. It is assumed that
the guard has let the request pass.
"""
