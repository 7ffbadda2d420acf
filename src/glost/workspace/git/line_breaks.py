"""Pages whose lines git itself ended in CR LF when it wrote them into the working folder, as it does on Windows unless
it is told otherwise; in the repository they end in LF."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from glost.workspace.files import FileChangedError, write_bytes
from glost.workspace.git.folders import top_of
from glost.workspace.git.run import GitError, asked, asked_of_files, is_yes, settings_of
from glost.workspace.paths import PAGES

_LISTED: Final = re.compile(rb"i/lf +w/crlf +attr/([^\t]*)\t(.*)", re.DOTALL)
"""git ls-files --eol: in the index the lines end in LF, in the working folder in CR LF."""
_AT_ONCE: Final = 500
"""Files named in one call: a command line has an end."""


class Converted(NamedTuple):
    """The pages of one repository that git wrote so."""

    top: Path
    pages: tuple[Path, ...]


def converted_by_git(pages: Iterable[Path]) -> Iterator[Converted]:
    """Those of these pages whose line breaks are git's doing, by repository."""
    by_top: dict[Path, list[Path]] = {}
    tops: dict[Path, Path | None] = {}
    for page in pages:
        folder = page.absolute().parent
        top = tops[folder] if folder in tops else tops.setdefault(folder, top_of(folder))
        if top is not None:
            by_top.setdefault(top, []).append(page)
    for top, several in by_top.items():
        found = {os.path.realpath(top / name) for name in _written_so(top, several)}
        yield Converted(top, tuple(page for page in several if os.path.realpath(page) in found))


def all_converted_by_git(top: Path) -> frozenset[str]:
    """All pages of a repository whose line breaks are git's doing, by their real paths."""
    try:
        names = _asked_for(top, [one for one in _listed(top, ()) if one[0].endswith(PAGES)])
    except GitError:
        return frozenset()
    return frozenset(os.path.realpath(top / name) for name in names)


def with_lf(top: Path, ending: str | tuple[str, ...]) -> int:
    """Ends the lines of all such files of a repository in LF, as git holds them; how many there were. Raises GitError,
    OSError."""
    done: list[str] = []
    for name, _ in _listed(top, ()):
        path = top / name
        if not name.endswith(ending) or path.is_symlink():
            continue
        before = path.read_bytes()
        try:
            write_bytes(path, before.replace(b"\r\n", b"\n"), before)
        except FileChangedError:
            continue  # somebody is at work on it
        done.append(name)
    _let_git_know(top, done)
    return len(done)


def _let_git_know(top: Path, names: Sequence[str]) -> None:
    """git goes by the size that it has noted, and would call such pages changed. Those that really are stay so. Raises
    GitError."""
    differ = asked_of_files(
        top, "diff", "--name-only", "-z", "--no-ext-diff", "--no-textconv", "--no-renames"
    )
    changed = {os.fsdecode(name) for name in differ.split(b"\0")}
    same = [name for name in names if name not in changed]
    for at in range(0, len(same), _AT_ONCE):
        asked_of_files(top, "update-index", "--", *same[at : at + _AT_ONCE])


def _written_so(top: Path, pages: Sequence[Path]) -> list[str]:
    real = os.path.realpath(top)
    named = [os.path.relpath(os.path.realpath(page), real) for page in pages]
    try:
        listed = [
            one for at in range(0, len(named), _AT_ONCE) for one in _listed(top, named[at : at + _AT_ONCE])
        ]
        return _asked_for(top, listed)
    except GitError:
        return []


def _listed(top: Path, names: Sequence[str]) -> list[tuple[str, str]]:
    """Those of the files of a repository, or of these, that end in LF there and in CR LF here, each with its
    attributes. Raises GitError."""
    listed = asked(top, "--literal-pathspecs", "ls-files", "--eol", "-z", "--", *names).split(b"\0")
    return [
        (os.fsdecode(match[2]), match[1].decode("ascii", "replace"))
        for match in map(_LISTED.fullmatch, listed)
        if match
    ]


def _asked_for(top: Path, listed: Sequence[tuple[str, str]]) -> list[str]:
    """Those whose line breaks somebody told git to write: without that, an editor did it. The order in which attributes
    and settings count: gitattributes(5), "text" and "eol"; git-config(1), core.autocrlf and core.eol. A page may lie
    here from before its attributes asked for LF. Raises GitError."""
    if not listed:
        return []
    settings = settings_of(top)
    autocrlf = settings.get("core.autocrlf", "")
    eol = settings.get("core.eol", "native").lower()
    text_in_crlf = autocrlf.lower() != "input" and (
        eol == "crlf" or (eol == "native" and os.linesep == "\r\n")
    )
    return [name for name, said in listed if _is_asked(said.split(), is_yes(autocrlf), text_in_crlf)]


def _is_asked(attributes: Sequence[str], autocrlf: bool, text_in_crlf: bool) -> bool:
    if "eol=crlf" in attributes:
        return True
    if "-text" in attributes:
        return False
    is_text = any(word in ("text", "text=auto") for word in attributes) and "eol=lf" not in attributes
    return autocrlf or (is_text and text_in_crlf)
