"""A plug-in of an invented receiver maker: a reader of its log, and an examination."""
