"""What the searches for an accident share: how a line is judged, and where its comment begins."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TypeAlias

Accepts: TypeAlias = Callable[[str, str], str | None]
"""``accepts(line, role)``: the grammar's token for a line in a block of that role, or None."""

SERIES_ROLES = ("series", "base_series", "blend", "base_blend")
"""Of the blocks whose lines take several amounts."""
ITEM_ROLES = ("base", "additions", "variation", "base_variation", *SERIES_ROLES)


def code_part(line: str) -> str:
    """A line up to its comment; a # inside quotes opens none."""
    found = re.search(r"(?<! ) +#", re.sub(r'"[^"]*"', lambda m: "x" * len(m[0]), line))
    return line[: found.start()] if found else line
