"""A recipe as the revisions of its file have it, read with the materials of its collection as they are now."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from glost.language.source import DecodeError
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.git.revisions import Commit, content_at
from glost.workspace.load import Gated, usable_bytes
from glost.workspace.paths import display


class Version(NamedTuple):
    """What a file held: in a commit, or, where that is None, as it lies in its folder. ``called`` is what it is shown
    as, ``data`` its bytes, ``found`` the recipe, if use may be made of it."""

    commit: Commit | None
    called: str
    data: bytes
    found: Gated


def version_at(path: Path, top: Path, commit: Commit, collections: Collections) -> Version | None:
    """The file as that commit has it, None where it takes the file away. Raises GitError, ConfigError."""
    data = content_at(top, commit)
    if data is None:
        return None
    called = f"{commit.short}:{commit.path}"
    return Version(commit, called, data, usable_bytes(called, data, path, collections))


def version_now(path: Path, collections: Collections) -> Version | None:
    """The file as it lies in its folder, None where it is not there or is no text. Raises ConfigError."""
    try:
        data = read_text(path).encode("utf-8")
    except DecodeError:
        return None
    called = display(path)
    return Version(None, called, data, usable_bytes(called, data, path, collections))
