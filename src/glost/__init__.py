"""glost: a plain-text recipe language for ceramic glazes, with a linter, a formatter and converters."""

__version__ = "0.1.0"
