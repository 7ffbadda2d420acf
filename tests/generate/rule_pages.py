"""docs/rules/: a page for each rule, from the rule itself, and the list of them."""

from __future__ import annotations

from pathlib import Path

from glost.linter.pages import listing_markdown, markdown
from glost.linter.rule import all_rules
from tests.conftest import TOP

FOLDER = TOP / "docs" / "rules"


def files() -> dict[Path, str | None]:
    pages: dict[Path, str | None] = dict.fromkeys(
        FOLDER.glob("*.md")
    )  # that of a rule which is gone goes too
    pages |= {FOLDER / f"{rule.name}.md": markdown(rule) for rule in all_rules()}
    return pages | {FOLDER / "README.md": listing_markdown()}
