"""Whether git can really call glost: tried on a page of its own, in a repository made for that."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from glost.workspace.git.run import GitError, asked_to_try

_PAGE = """\
glaze "Trial"
cone: 6

base:
    whiting  20
    silica  {silica}
    kaolin  {kaolin}
"""
_WRITTEN = b"as written:"
"""Stands in what glost shows of a page, and in no page."""


def refused(settings: Mapping[str, str], attributes: str) -> str | None:
    """Why git cannot call glost with these settings, None where it can. Raises GitError, OSError."""
    # A folder of many kinds of signs, as a page may lie in one.
    with tempfile.TemporaryDirectory(prefix="glost trial ") as name:
        folder = Path(name)
        page = folder / "a trial.glost"
        asked_to_try(folder, "init", "--quiet", "--template=", "--initial-branch=trial")
        for setting, value in settings.items():
            asked_to_try(folder, "config", "--local", setting, value)
        (folder / ".gitattributes").write_text(f"{attributes}\n", "utf-8")
        _commit(folder, page, _PAGE.format(silica=50, kaolin=30))
        shown = asked_to_try(folder, "cat-file", "--textconv", f"HEAD:{page.name}")
        if _WRITTEN not in shown:
            return "it shows a page as it is written"
        asked_to_try(folder, "checkout", "--quiet", "-b", "theirs")
        _commit(folder, page, _PAGE.format(silica=50, kaolin=31))
        asked_to_try(folder, "checkout", "--quiet", "trial")
        _commit(folder, page, _PAGE.format(silica=49, kaolin=30))
        try:
            asked_to_try(folder, "merge", "--quiet", "--no-edit", "theirs")
        except GitError as error:
            return f"it merges line by line: {error}"
        return (
            None if page.read_text("utf-8") == _PAGE.format(silica=49, kaolin=31) else "its merge is not ours"
        )


def _commit(folder: Path, page: Path, text: str) -> None:
    page.write_text(text, "utf-8", newline="\n")
    asked_to_try(folder, "add", "--all")
    asked_to_try(folder, "commit", "--quiet", "--message", "trial")
