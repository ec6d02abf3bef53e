"""A run kept as one page: `page` builds it from sections, `predict` gives those of an operating point."""
