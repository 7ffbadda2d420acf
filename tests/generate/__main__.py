"""Writes what is generated anew.

    python -m tests.generate [--check] [NAME ...]

Without a name all of it, in the order in which one builds on another. ``--check`` writes nothing, names the files that
are not what they would be, and ends with 1 where there are any.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from tests.conftest import TOP
from tests.generate import (
    conformance,
    console,
    fields_table,
    git_tour,
    highlight,
    language_errors,
    rule_pages,
    safety_page,
    schema,
    tables,
)

Files = Mapping[Path, str | None]
"""What is to stand in each file; None: it is to be gone."""

GENERATORS: dict[str, Callable[[], Files]] = {
    "tables": tables.files,
    "schema": schema.files,
    "highlight": highlight.files,
    "rules": rule_pages.files,
    "fields": fields_table.files,
    "errors": language_errors.files,
    "safety": safety_page.files,
    "conformance": conformance.files,
    "git-tour": git_tour.files,
    "console": console.files,
}


def differing(files: Files) -> dict[Path, str | None]:
    """Those files that are not yet what they are to be."""
    return {
        path: text
        for path, text in files.items()
        if (path.read_text("utf-8") if path.exists() else None) != text
    }


def write(files: Files) -> None:
    for path, text in files.items():
        if text is None:
            path.unlink()
        else:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")


def main(arguments: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.generate", description=__doc__)
    parser.add_argument("names", metavar="NAME", nargs="*", help=", ".join(GENERATORS))
    parser.add_argument("--check", action="store_true")
    asked = parser.parse_args(arguments)
    unknown = set(asked.names) - GENERATORS.keys()
    if unknown:
        parser.error(f"nothing called {', '.join(sorted(unknown))}; there are {', '.join(GENERATORS)}")
    stale = 0
    for name, files in GENERATORS.items():
        if asked.names and name not in asked.names:
            continue
        changed = differing(files())
        stale += len(changed)
        for path in changed:
            print(f"{path.relative_to(TOP)}: {'differs' if asked.check else 'written'} ({name})")
        if not asked.check:
            write(changed)
    return 1 if asked.check and stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
