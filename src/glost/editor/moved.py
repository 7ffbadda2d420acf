"""What a file that gets another name, or another place, changes in the texts that speak of it.

A recipe is named by its name, not by its file. But a file is called by its recipe (the rule file-name asks for it), so
that a file that was, and is not any more, takes its recipe along: the title, every line of materials, every tile, every
text that names it. A picture is named by where it lies, seen from the page of its firing.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path, PurePath
from typing import NamedTuple

from glost.editor import mentions
from glost.editor.page import Page
from glost.language import tree
from glost.language.source import Edit
from glost.linter.rules.file_name import bare
from glost.workspace.paths import ENDING


class Move(NamedTuple):
    """A file or a folder, from where and to where."""

    old: Path
    new: Path

    def of(self, path: Path) -> Path | None:
        """Where a file lies afterwards; None where it stays."""
        if path == self.old:
            return self.new
        return self.new / path.relative_to(self.old) if path.is_relative_to(self.old) else None


def new_name(page: Page, new: Path) -> str | None:
    """The name of a recipe whose file is called anew; None where the file was not called by it, or still is. Its words
    begin as those of the old name do."""
    old = page.recipe.name
    if page.tree.is_firing or not old or new.suffix != ENDING or page.path.suffix != ENDING:
        return None
    if bare(page.path.stem) != bare(old) or bare(new.stem) == bare(old) or not bare(new.stem):
        return None
    words = new.stem.replace("-", " ").replace("_", " ").split()
    is_titled = all(word[:1].isupper() or not word[:1].isalpha() for word in old.split())
    first, *rest = (word[:1].upper() + word[1:] if is_titled else word for word in words)
    if not is_titled and old[:1].isupper():
        first = first[:1].upper() + first[1:]
    return " ".join((first, *rest))


def renamed(page: Page, new: Path, pages: Sequence[Page]) -> tuple[str, list[tuple[Page, list[Edit]]]] | None:
    """The new name of a recipe whose file is called anew, with the edits that give it; None where there is none. Raises
    RenameError. ``pages``: recipes and firings of its collection."""
    name = new_name(page, new)
    if name is None:
        return None
    meaning = mentions.Meaning("recipe", page.name)
    return name, mentions.rename(meaning, name, page, pages)


def pictures(moves: Sequence[Move], firings: Iterable[Page]) -> Iterator[tuple[Page, list[Edit]]]:
    """The edits of the pages of firings whose pictures, or which themselves, lie elsewhere afterwards."""
    for page in firings:
        edits = []
        after = _after(moves, page.path)
        for block in page.tree.blocks:
            for line in block.lines:
                if isinstance(line, tree.Own) and line.key.text == "photo":
                    picture = Path(os.path.normpath(page.path.parent / line.value.text))
                    seen = _seen_from(after.parent, _after(moves, picture))
                    if seen != PurePath(line.value.text).as_posix():
                        edits.append(Edit(line.value.span, seen))
        if edits:
            yield page, edits


def _after(moves: Sequence[Move], path: Path) -> Path:
    return next((there for move in moves if (there := move.of(path)) is not None), path)


def _seen_from(folder: Path, path: Path) -> str:
    return PurePath(os.path.relpath(path, folder)).as_posix()
