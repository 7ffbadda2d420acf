"""glost for programs: what ``import glost`` offers. Its names, their arguments and what they return are held; see
docs/python.md for what that means.

Below it nothing is public. Each function does what the command of the same name does, through the same code, and
returns records in place of print.
"""

from glost.api.bench import Plan, plan
from glost.api.changes import Comparison, compare
from glost.api.checks import Finding, fix, format, lint, lint_text
from glost.api.chemistry import Formula, formula
from glost.api.forms import formats, write, write_bytes
from glost.api.recipes import (
    Amount,
    Collection,
    Material,
    NotFoundError,
    Recipe,
    RecipeError,
    Test,
    collection,
    material,
    parse,
    read,
)
from glost.api.table import catalog
from glost.errors import GlostError, ValueRefusedError
from glost.language.yaml_tree import ConfigError

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
