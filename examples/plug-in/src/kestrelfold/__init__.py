"""A plug-in of an invented receiver maker: a reader of its log, an examination and a cause."""
