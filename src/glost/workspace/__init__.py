"""The files of a collection: found, read, written, kept, asked of git; many at once."""
