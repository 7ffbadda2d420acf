"""What git is shown of a page. git starts a process for each, so nothing is imported here that a page does not need."""

from __future__ import annotations

import os
import stat

from glost.cli.streams import put
from glost.language.source import LARGEST_FILE

_PIECE = 1 << 20


def show_file(path: str) -> bool:
    """Prints a file as git's diff should see it; whether it is a plain file. Raises OSError, StreamError."""
    if not stat.S_ISREG(os.stat(path).st_mode):  # noqa: PTH116 (paths as texts are what a quick start can afford)
        return False  # a pipe would be waited for, and a device may never end
    with open(path, "rb") as opened:  # noqa: PTH123
        data = opened.read(LARGEST_FILE + 1)
        if len(data) <= LARGEST_FILE:
            put(shown(path, data))
            return True
        while data:
            put(data)
            data = opened.read(_PIECE)
    return True


def shown(path: str, data: bytes) -> bytes:
    """A page as git's diff should see it; one that cannot be read whole as it is."""
    try:
        return _converted(path, data)
    except Exception:  # memory, depth, a mistake of ours: git must have something to show
        if os.environ.get("GLOST_DEBUG"):
            raise
        return data


def _converted(path: str, data: bytes) -> bytes:
    from glost.language.parse import parse
    from glost.language.source import DecodeError, Source, decode

    try:
        page = parse(Source(path, decode(data)))
    except DecodeError:
        return data
    if page.is_firing:
        from glost.changes.firing_text import firing_text
        from glost.recipe.firing import resolve_firing

        firing = resolve_firing(page)
        return firing_text(firing).encode("utf-8") if firing.complete else data
    from glost.changes.around import allowed, where_lines_are
    from glost.changes.canonical_text import canonical_text
    from glost.changes.meaning import told
    from glost.workspace.load import Withheld, usable_alone

    found = usable_alone(page)
    if isinstance(found, Withheld):
        return data
    around = allowed(found.resolved, where_lines_are(found.resolved))
    return canonical_text(told(found.recipe, found.collection.catalogue, around), found.page).encode("utf-8")
