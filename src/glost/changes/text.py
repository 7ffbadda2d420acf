"""A comparison for a person: aligned columns, what moved first."""

from __future__ import annotations

from collections.abc import Iterator

from glost.changes.nodes import brief_lines, collection_nodes, nodes_of, worth_telling
from glost.changes.report import Report
from glost.output.model import Node
from glost.output.model.text import COLUMNS, as_text


def text(report: Report, columns: int = COLUMNS) -> str:
    """All recipes that differ in anything, one empty line between."""
    return "\n".join(as_text(nodes, columns) for nodes in _blocks(report))


def _blocks(report: Report) -> Iterator[Iterator[Node]]:
    yield from (collection_nodes(collection) for collection in report.collections)
    yield from (nodes_of(one) for one in report.recipes if worth_telling(one))


def brief(report: Report) -> str:
    """One line a recipe, however long that is: it is for the eye that runs over it, and for programs of lines."""
    return "".join(f"{line}\n" for line in brief_lines(report))
