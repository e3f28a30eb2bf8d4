"""Settings of Sphinx for the site; `docs/make_site.py` runs it on the gathered source."""

import neutralpoint

project = "Neutral Point"
author = "the contributors of Neutral Point"
version = release = neutralpoint.__version__
extensions = ["myst_parser", "sitemaker.markup"]
root_doc = "index"
language = "en"
smartquotes = False  # two hyphens of an option stay two
myst_enable_extensions = ["colon_fence", "dollarmath"]
myst_heading_anchors = 4
html_math_renderer = "mathml"
html_theme = "neutral"
html_copy_source = False
# Summaries of found pages would be fetched, which a browser refuses pages of a folder.
html_show_search_summary = False
html_show_sourcelink = False
html_permalinks_icon = "#"
html_title = "Neutral Point"
# Without colors of its own: the style sheet has them for both grounds.
pygments_style = "bw"
# A heading that repeats on a page of results is no fault of the site.
suppress_warnings = ["myst.header", "misc.highlighting_failure"]
