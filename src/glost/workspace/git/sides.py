"""What the two sides of a merge are called: by the names that git hands over, and where it hands none, by what it says
of the merge that is under way."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from glost.workspace.git.run import HEAD, GitError, asked

_OURS, _THEIRS, _BASE = "ours", "theirs", "base"
_HEADS: Final = "refs/heads/"
_REMOTES: Final = "refs/remotes/"
_ACTION: Final = re.compile(r"(?:merge|pull \S+) (\S+)")
"""What git says of itself in GIT_REFLOG_ACTION while it merges one other branch (git(1))."""


class Sides(NamedTuple):
    """What stands in the marks of a conflict."""

    ours: str
    base: str
    theirs: str


BASES: Final = Sides("one of what both come from", _BASE, "the other")
"""In a merge of what both sides come from."""
_USUAL_SIZE: Final = 7
_INNER: Final = "Temporary merge branch "
"""How git 2.44 and newer call what is merged before the sides are (merge-ort.c)."""


def is_of_bases(top: Path | None, given: Sequence[str], size: int, path: str) -> bool:
    """Whether the sides that are merged are what the sides of a merge come from, of which there are several where
    branches were merged into each other. git makes the marks of that longer by two than they are elsewhere, which is
    all that an older one says of it. ``path`` of the file, from the top of the repository."""
    if given and given[0].startswith(_INNER):
        return True
    if top is None or size < _USUAL_SIZE + 2:
        return False
    try:
        said = os.fsdecode(asked(top, "check-attr", "-z", "conflict-marker-size", "--", path)).split("\0")
    except GitError:
        return False
    usual = said[2] if len(said) > 2 else ""
    return size >= (int(usual) if usual.isdecimal() else _USUAL_SIZE) + 2


def names_of_sides(top: Path | None, given: Sequence[str], environment: Mapping[str, str]) -> Sides:
    """``given``: the names of ours, base and theirs, as git 2.44 and newer put them in the place of %X, %S and %Y
    (gitattributes(5)); an older one leaves these signs as they are. HEAD is named by its branch."""
    ours, base, theirs = (
        "" if one in ("%X", "%S", "%Y") else _on_one_line(one) for one in given or ("", "", "")
    )
    if ours in ("", HEAD):
        ours = _here(top) or ours
    return Sides(ours or _OURS, base or _BASE, theirs or _there(top, environment) or _THEIRS)


def _on_one_line(name: str) -> str:
    return " ".join(name.split())


def _here(top: Path | None) -> str:
    """The branch that is checked out; while commits are carried over, the one they are put on."""
    if top is None:
        return ""
    try:
        return asked(top, "symbolic-ref", "--short", HEAD).decode("utf-8", "replace").strip()
    except GitError:
        pass  # no branch is checked out
    try:
        found = asked(top, "for-each-ref", "--points-at", HEAD, "--format=%(refname:short)", _HEADS)
    except GitError:
        return ""
    names = found.decode("utf-8", "replace").split()
    return names[0] if len(names) == 1 else HEAD


def _there(top: Path | None, environment: Mapping[str, str]) -> str:
    merging = _ACTION.fullmatch(environment.get("GIT_REFLOG_ACTION", ""))
    if merging is not None:
        return merging[1]
    named = {
        value for name, value in environment.items() if name.startswith("GITHEAD_")
    }  # as a merge strategy is told
    if len(named) == 1:
        return _on_one_line(named.pop())
    return _carried_over(top) or _merged_in(top)


def _merged_in(top: Path | None) -> str:
    """The branch of a merge that is not finished, of which one file is merged again (``git checkout --merge``); ""
    where none is under way, or its commit has several names."""
    if top is None:
        return ""
    for where in (_HEADS, _REMOTES):
        try:
            found = asked(
                top, "for-each-ref", "--points-at", "MERGE_HEAD", "--format=%(refname:short)", where
            )
        except GitError:
            return ""
        names = found.decode("utf-8", "replace").split()
        if names:
            return names[0] if len(names) == 1 else ""
    return ""


def _carried_over(top: Path | None) -> str:
    """The branch whose commits are carried over by a rebase, "" where none is under way."""
    if top is None:
        return ""
    try:
        at = (
            asked(top, "rev-parse", "--git-path", "rebase-merge/head-name").decode("utf-8", "replace").strip()
        )
        return (top / at).read_text("utf-8").strip().removeprefix(_HEADS)
    except (GitError, OSError, UnicodeDecodeError):
        return ""
