"""How a name is written in a line of materials."""

from __future__ import annotations

from glost.language import tree
from glost.language.layout import INDENT
from glost.language.parse import accepts, parse
from glost.language.source import Source


def item_name(name: str) -> str:
    """A name that holds no double quote, in quotes where it would read otherwise without them."""
    line = f"{INDENT}{name}  1"
    if accepts(line, "base") == "ITEM":
        item = parse(Source("", f"base:\n{line}\n")).blocks[0].lines[0]
        if isinstance(item, tree.Item) and item.name.written == name:
            return name
    return f'"{name}"'
