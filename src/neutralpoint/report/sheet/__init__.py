"""The answer sheet: the one page that answers the question of a case.

What comes in: the findings. What goes out: the sheet as pieces of text of which every number names
the finding that it is bound to, and what its figures show. It is assumed that everything is worked
out: here it is chosen only, and `report.words.sheet` puts it into words.
"""
