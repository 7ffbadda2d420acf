"""What changed between two recipes."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from glost.api.recipes import Recipe
from glost.changes import as_json, markdown, text
from glost.changes.comparison import compare as compared
from glost.changes.judgement import told_of
from glost.changes.report import Report, Reported, state_of


@dataclass(frozen=True)
class Comparison:
    """Two recipes side by side. ``same``: both mean the same. ``state``: "same", "reworded" (only written otherwise),
    "rounded", "renamed" or "changed". ``changes``: what says something else, as in the JSON of ``glost compare``."""

    old: Recipe
    new: Recipe
    same: bool
    state: str
    reported: Reported = field(repr=False, compare=False)
    """For glost alone."""

    @property
    def data(self) -> dict[str, Any]:
        """One of ``recipes`` as ``glost compare --output json`` has it (schema/compare.schema.json)."""
        recipes: list[dict[str, Any]] = json.loads(as_json.as_json(Report([self.reported])))["recipes"]
        return recipes[0]

    @property
    def changes(self) -> list[dict[str, Any]]:
        changes: list[dict[str, Any]] = self.data["changes"]
        return changes

    @property
    def text(self) -> str:
        """As ``glost compare`` prints it."""
        return text.text(Report([self.reported]))

    def _repr_markdown_(self) -> str:
        return markdown.markdown(Report([self.reported]))


def compare(old: Recipe, new: Recipe) -> Comparison:
    """What changed in meaning: other amounts, not other spelling, order or scale."""
    found = compared(*(told_of(one.usable) for one in (old, new)))
    state = state_of(found)
    reported = Reported(old.file, new.file, new.name, state, old.text != new.text, found)
    return Comparison(old, new, not reported.differs, state, reported)
