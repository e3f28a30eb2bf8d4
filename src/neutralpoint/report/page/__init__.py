"""The page: one HTML file that opens anywhere, and the same as PDF.

What comes in: findings and figures. What goes out: `report.html` and `report.pdf`. It is assumed
that the bundles of the page are built beforehand.
"""
