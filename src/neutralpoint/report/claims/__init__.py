"""Claims: what an author wants to say, held against the findings.

What comes in: `claims.toml` and the findings. What goes out: checked claims, and drafts to begin
with. It is assumed that a claim names the findings that it rests on.
"""
