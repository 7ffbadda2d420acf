"""Writes docs/rules/ anew from the rules: python tests/write_rule_pages.py"""

from pathlib import Path

from glost.lint.pages import listing_markdown, markdown
from glost.lint.rule import all_rules

FOLDER = Path(__file__).parents[1] / "docs" / "rules"


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for page in FOLDER.glob("*.md"):
        page.unlink()
    for rule in all_rules():
        (FOLDER / f"{rule.name}.md").write_text(markdown(rule), "utf-8")
    (FOLDER / "README.md").write_text(listing_markdown(), "utf-8")


if __name__ == "__main__":
    main()
