"""The table of fields in docs/language.md."""

from __future__ import annotations

from pathlib import Path

from glost.recipe.fields import FIELDS
from tests.conftest import TOP

PAGE = TOP / "docs" / "language.md"
BEGIN, END = "<!-- fields -->\n", "<!-- end of fields -->\n"


def table() -> str:
    rows = [
        ("field", "type", "says", "example"),
        ("---",) * 4,
        *(
            (f"`{key}`", field.type.name, field.says, f"`{key}: {field.example}`")
            for key, field in FIELDS.items()
        ),
    ]
    return "".join(f"| {' | '.join(row)} |\n" for row in rows)


def files() -> dict[Path, str]:
    text = PAGE.read_text("utf-8")
    before, rest = text.split(BEGIN)
    _, behind = rest.split(END)
    return {PAGE: f"{before}{BEGIN}{table()}{END}{behind}"}
