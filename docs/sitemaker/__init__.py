"""Makes the site of the documents: source gathered, cases shown, numbers quoted, pages judged.

In: this repository, and the saved results of its examples. Out: a folder of pages that ask nothing
of any network. `docs/make_site.py` is the command.
"""
