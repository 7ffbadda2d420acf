"""grammar/lines.json: the grammar as it is read at a start, and the words of the fields."""

from __future__ import annotations

from pathlib import Path

from glost.language.tables import GRAMMAR, TABLES, as_json
from glost.recipe.fields import FIELDS
from tests.conftest import TOP

FOLDER = TOP / "grammar"


def files() -> dict[Path, str]:
    return {FOLDER / TABLES: as_json((FOLDER / GRAMMAR).read_bytes(), FIELDS)}
