"""Where a collection says what a material is: its entry in the materials file."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from glost.language.source import DecodeError, Source, Span
from glost.language.yaml_tree import Node, read_as_far
from glost.recipe.materials.catalogue import key
from glost.workspace.collection import Collection
from glost.workspace.files import read_text


class Place(NamedTuple):
    """The name of an entry, in a file."""

    path: Path
    text: str
    span: Span


def place_of(name: str, collection: Collection) -> Place | None:
    """The entry of a material in the collection's own file, by the name that it has in the catalogue; None where only
    glost itself knows it, or nobody."""
    if collection.root is None or collection.settings.materials is None:
        return None
    path = collection.root / collection.settings.materials
    try:
        source = Source(path.name, read_text(path))
    except DecodeError:
        return None
    root, _ = read_as_far(source)
    for node in _names(root):
        if isinstance(node.value, str) and key(node.value) == key(name):
            start = source.line_span(node.position.line).start + node.position.column - 1
            if not source.text.startswith(node.value, start):
                start += 1  # the name stands in quotes
            return Place(path, source.text, Span(start, start + len(node.value)))
    return None


def _names(root: Node | None) -> list[Node]:
    """The name of every entry, however little of the rest can be taken."""
    top = root.value if root is not None else None
    listed = top["materials"].node.value if isinstance(top, dict) and "materials" in top else None
    entries = [one.value for one in listed] if isinstance(listed, list) else []
    return [one["name"].node for one in entries if isinstance(one, dict) and "name" in one]
