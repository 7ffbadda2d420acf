"""Names as a recipe has them, of a line of materials and of a block, and as they are compared."""

from __future__ import annotations

from glost.language import tree


def folded(name: str) -> str:
    """What two spellings of a name share: letter case and the width of blanks do not matter."""
    return " ".join(name.split()).casefold()


def ingredient_name(name: tree.Name) -> str:
    """The name of a line as the recipe has it."""
    return f'{name.kind} "{plain(name.text)}"' if name.kind else plain(name.text)


def plain(name: str) -> str:
    """A name with one blank between its words."""
    return " ".join(name.split())


def called(head: tree.Head) -> str:
    """The name of a block; one without a name is called as its head is."""
    return head.name.text if head.name else head.word.text
