"""glost: a plain-text recipe language for ceramic glazes, with a linter, a formatter and converters.

What stands in ``__all__`` is for programs (docs/python.md). It is imported when it is first asked for, so that
``import glost`` by itself costs next to nothing. Everything else below this package may change with any version.
"""

from typing import TYPE_CHECKING

__version__ = "0.1.0"

__all__ = [
    "Amount",
    "Collection",
    "Comparison",
    "ConfigError",
    "Finding",
    "Formula",
    "GlostError",
    "Material",
    "NotFoundError",
    "Plan",
    "Recipe",
    "RecipeError",
    "Test",
    "ValueRefusedError",
    "catalog",
    "collection",
    "compare",
    "fix",
    "format",
    "formats",
    "formula",
    "lint",
    "lint_text",
    "material",
    "parse",
    "plan",
    "read",
    "write",
    "write_bytes",
]

if TYPE_CHECKING:
    from glost.api import *


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module 'glost' has no attribute '{name}'")
    from importlib import import_module

    value: object = getattr(import_module("glost.api"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
