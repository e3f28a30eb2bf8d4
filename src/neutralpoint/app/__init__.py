"""The workbench in the browser: one case, or a folder of cases, served to the machine it runs on.

What comes in: case folders, and requests of the pages in `templates` and `static`. What goes out:
JSON, figures as raw numbers, edits of `case.toml` that keep every comment, and jobs in processes of
their own. It is assumed that whoever may reach the address may read the case; writing needs the
token of a page that this process has served.

`serving.serve` is the whole of it, `workbench.make_app` the application alone. Nothing is imported
here, as the processes that jobs run in would wait for it.
"""
