"""What the revisions of a repository hold, and what has changed since one."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from glost.workspace.git.run import HEAD, GitError, asked, asked_anywhere, asked_of_files

_SECONDS_FOR_ALL = 120
"""For a walk through a whole working folder, which may lie on a slow disk and hold more than recipes."""


class Changes(NamedTuple):
    """What differs between a commit and the working folder, by path from the top of the repository: what is there
    (changed, new, or under a new name), and what is ``gone``. Repositories within this one are not looked into."""

    there: frozenset[str]
    gone: frozenset[str]


def changes_since(top: Path, commit: str | None) -> Changes:
    """What is staged, what is not, and what git does not know yet and does not ignore, against a commit; without one
    everything that git knows counts. Raises GitError."""
    there: set[str] = set()
    gone: set[str] = set()
    if commit is None:
        there.update(_paths(asked(top, "ls-files", "-z", "--cached", seconds=_SECONDS_FOR_ALL)))
    else:
        told = _paths(
            asked_of_files(
                top,
                *("diff", "--raw", "-z", "--no-renames", "--no-ext-diff", "--no-textconv"),
                *("--ignore-submodules=all", commit, "--"),
                seconds=_SECONDS_FOR_ALL,
            )
        )
        for about, path in zip(told[::2], told[1::2], strict=True):
            (gone if about.endswith(" D") else there).add(path)
    new = _paths(asked(top, "ls-files", "-z", "--others", "--exclude-standard", seconds=_SECONDS_FOR_ALL))
    there.update(path for path in new if not path.endswith("/"))
    return Changes(frozenset(there), frozenset(gone))


def _paths(listed: bytes) -> list[str]:
    return [os.fsdecode(part) for part in listed.split(b"\0")[:-1]]


def is_shallow(top: Path) -> bool:
    """Whether a clone was made without all that came before."""
    try:
        return asked(top, "rev-parse", "--is-shallow-repository").strip() == b"true"
    except GitError:
        return False


def not_checked_out(top: Path) -> set[str]:
    """Files of the index that a sparse checkout leaves out of the folder; none where git does not say."""
    try:
        listed = asked(top, "ls-files", "-t", "-z", "--full-name")
    except GitError:
        return set()
    return {os.fsdecode(entry[2:]) for entry in listed.split(b"\0") if entry.startswith(b"S ")}


def names_of_commits(top: Path) -> list[str]:
    """The branches, those of other repositories, and the tags, as a person types them."""
    try:
        listed = asked(
            top, "for-each-ref", "--format=%(refname:short)", "refs/heads", "refs/remotes", "refs/tags"
        )
    except GitError:
        return []
    return listed.decode("utf-8", "replace").split("\n")[:-1]


def last_in_common(top: Path, commit: str, other: str = HEAD) -> str | None:
    """The last commit that a commit and another (the one checked out) both come from, None where there is none. Raises
    GitError."""
    try:
        found = asked(top, "merge-base", other, commit)
    except GitError as error:
        if error.status != 1:
            raise
        return None
    return found.decode("ascii", "replace").strip()


def merged_by_lines(
    ours: bytes,
    base: bytes,
    theirs: bytes,
    marker_size: int = 7,
    labels: Sequence[str] = ("ours", "base", "theirs"),
    style: str = "",
) -> tuple[bytes, bool]:
    """git's own merge of three texts, line by line, and whether it is without a conflict. ``style``: diff3 or zdiff3,
    for what both sides come from to stand between the marks. Raises GitError."""
    import tempfile

    named = [word for label in labels for word in ("-L", label)]
    try:
        with tempfile.TemporaryDirectory() as name:
            files = [Path(name) / side for side in ("ours", "base", "theirs")]
            for file, data in zip(files, (ours, base, theirs), strict=True):
                file.write_bytes(data)
            answer, status = asked_anywhere(
                Path(name),
                *("merge-file", "-p", f"--marker-size={marker_size}", *([f"--{style}"] if style else [])),
                *(*named, *map(str, files)),
                most=127,  # the number of conflicts
            )
    except OSError as error:  # a full disk, most often
        raise GitError(f"no room to merge in: {error.strerror or error}") from None
    return answer, status == 0


def store_of(top: Path) -> Path:
    """The folder that git keeps a repository in, its settings among it; one for all its working folders. Raises
    GitError."""
    return top / os.fsdecode(asked(top, "rev-parse", "--git-common-dir").removesuffix(b"\n"))


def setting(top: Path, name: str) -> str | None:
    """A setting of this one repository, None where it is not set."""
    try:
        return os.fsdecode(asked(top, "config", "--local", "-z", "--get", name)).removesuffix("\0")
    except GitError:
        return None


def set_setting(top: Path, name: str, value: str | None) -> None:
    """Sets a setting of this one repository, or takes it away. Raises GitError."""
    asked(top, "config", "--local", *(["--unset", name] if value is None else [name, value]))


def forget(top: Path, reference: str) -> None:
    """Takes away what a name leads to, where it is there. Raises GitError."""
    asked(top, "update-ref", "-d", reference)
