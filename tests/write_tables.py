"""Writes grammar/lines.json anew from the grammar: python tests/write_tables.py"""

from pathlib import Path

from glost.language.tables import GRAMMAR, TABLES, as_json

FOLDER = Path(__file__).parents[1] / "grammar"


def main() -> None:
    (FOLDER / TABLES).write_text(as_json((FOLDER / GRAMMAR).read_bytes()), "utf-8")


if __name__ == "__main__":
    main()
