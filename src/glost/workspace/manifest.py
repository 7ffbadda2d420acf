"""The list of what runs have written into a folder, kept in that folder.

It is how a later run knows an output whose recipe is gone, and what it may take away: a file that stands in the list
and still holds what was written. A list may come with somebody else's clone, so nothing in it is taken on trust: a file
that it names lies below the folder, bears the mark and the ending of its form, and is no link.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path, PurePath
from typing import Any, Final, NamedTuple

from glost.errors import GlostError
from glost.language.exact_json import loaded, written
from glost.language.source import DecodeError
from glost.output.format import Format, find_format, format_names
from glost.workspace.files import read_bytes
from glost.workspace.outputs import ANY, Outputs
from glost.workspace.paths import display

NAME: Final = ".glost-outputs"
_KIND: Final = "glost outputs"
_KEYS: Final = ("file", "form", "tests", "base", "recipe", "sha256")
_HALVES: Final = re.compile("[\ud800-\udfff]")
"""Halves of a character, which stand for the bytes of a file name that is no text."""
_MOST: Final = 64 << 20
"""Bytes of a list that are read: enough for some 200,000 outputs."""


def digest(data: bytes) -> str:
    """What tells an output from any other."""
    return sha256(data).hexdigest()


class ManifestError(GlostError, ValueError):
    """The list cannot be taken as it stands."""


class Entry(NamedTuple):
    """One output. ``file``: where it lies below the folder; ``tests``: what its name says of the tests in it, "" for
    all of them. ``base``: the way from the folder to where the recipes lie from, and ``recipe`` the way on from there;
    all with / between folders. ``sha256``: of what was written."""

    file: str
    form: str
    tests: str
    base: str
    recipe: str
    sha256: str

    @property
    def source(self) -> tuple[str, str, str, str]:
        """What it was made from, and as what."""
        return self.base, self.recipe, self.form, self.tests


class Stale(NamedTuple):
    """An output that belongs to no recipe any more, and why."""

    entry: Entry
    why: str


class Manifest:
    """The list in one folder."""

    def __init__(self, folder: Path) -> None:
        """Raises ManifestError, OutputError."""
        self._folder = folder
        # Whatever lies there was found to be a list, or is not there.
        self._outputs = Outputs(folder, ANY)
        self._outputs.lying([NAME])
        self._place = self._outputs.place_of(PurePath())
        self._entries = {entry.file: entry for entry in self._read()}
        self._now: dict[tuple[str, str, str, str], str] = {}
        self._bases: set[str] = set()
        self._ways: dict[Path, str] = {}

    def _read(self) -> Iterator[Entry]:
        path = self._place / NAME
        if not os.path.lexists(path):
            return
        try:
            held = loaded(read_bytes(path, _MOST).decode("utf-8"))
            if not isinstance(held, dict) or held.get("kind") != _KIND or held.get("version") != 1:
                raise ValueError
            yield from [_entry(one) for one in held["outputs"]]
        except (ValueError, KeyError, TypeError, DecodeError):
            raise ManifestError(
                f"'{display(self._folder / NAME)}' cannot be read as the list of what was written here",
                "take it away: the next run begins a new one, which knows nothing of earlier outputs",
            ) from None

    def met(self, base: Path) -> None:
        """Recipes below that folder are converted, so that their outputs are looked after."""
        self._bases.add(self._way_to(base))

    def add(
        self, file: str, form: str, tests: str, base: Path, recipe: str, written: str | None = None
    ) -> None:
        """An output that lies there now; ``file`` and ``recipe`` as in an Entry. ``written``: the digest of what it
        holds, where that is known. Raises OSError."""
        if written is None:
            written = digest((self._place / file).read_bytes())
        entry = Entry(file, form, tests, self._way_to(base), recipe, written)
        if not "".join(entry).isascii() and _HALVES.search("\n".join(entry)):
            return  # a name that is no text stands in no list, so that nothing is ever taken away by it
        self._entries[entry.file] = entry
        self._now[entry.source] = entry.file

    def of_another(self, file: str, base: Path, recipe: str) -> Path | None:
        """The recipe that an output lies here for, where that is another one, which is still there."""
        entry = self._entries.get(file)
        if entry is None or not os.path.lexists(self._place / entry.file):
            return None
        made_from = self._place / entry.base / entry.recipe
        same = os.path.realpath(made_from) == os.path.realpath(base / recipe)
        return None if same or not os.path.lexists(made_from) else Path(os.path.realpath(made_from))

    def _way_to(self, base: Path) -> str:
        """The way from the folder to where recipes lie from, looked for once: thousands lie from one folder."""
        if base not in self._ways:
            try:
                way = os.path.relpath(os.path.realpath(base), self._place).replace(os.sep, "/")
            except ValueError:  # on another drive there is none
                way = base.as_posix()
            self._ways[base] = way
        return self._ways[base]

    def stale(self) -> list[Stale]:
        """The outputs of the recipes below the folders met that belong to none of them any more. Of recipes that lie
        elsewhere nothing is said."""
        return [
            Stale(entry, why)
            for _, entry in sorted(self._entries.items())
            if entry.base in self._bases
            and (why := self._why_stale(entry))
            and os.path.lexists(self._place / entry.file)
        ]

    def _why_stale(self, entry: Entry) -> str:
        now = self._now.get(entry.source)
        if now is not None:  # this run has met its recipe, and need not look for it
            return "" if now == entry.file else f"{entry.recipe} is now written to {now}"
        if not os.path.lexists(self._place / entry.base / entry.recipe):
            return f"there is no {entry.recipe} any more"
        return ""

    def prune(self, stale: Iterable[Stale]) -> tuple[list[Stale], list[Stale]]:
        """Takes stale outputs away; those that it took, and those that it left, since they are not what was written.
        Raises OSError."""
        taken: list[Stale] = []
        left: list[Stale] = []
        for one in stale:
            form = find_format(one.entry.form)
            gone = one.entry.file.endswith(form.ending) and self._take_away(one.entry, form)
            (taken if gone else left).append(one)
            if gone:
                del self._entries[one.entry.file]
        return taken, left

    def _take_away(self, entry: Entry, form: Format) -> bool:
        outputs = Outputs(self._folder, form.mark)
        return outputs.take_away(PurePath(entry.file), lambda data: digest(data) == entry.sha256)

    def save(self) -> None:
        """Writes the list, without what is not there any more. Raises OSError, OutputError."""
        now = set(self._now.values())  # what this run has seen there need not be looked for
        held = [
            entry
            for file, entry in sorted(self._entries.items())
            if file in now or os.path.lexists(self._place / file)
        ]
        if not held and not os.path.lexists(self._place / NAME):
            return
        lines = ",\n".join(written(entry._asdict(), None) for entry in held)
        text = f'{{"version": 1, "kind": "{_KIND}", "outputs": [\n{lines}\n]}}\n'
        self._outputs.write(PurePath(NAME), text)


def _entry(one: Any) -> Entry:
    """An entry of a list. Raises ValueError, TypeError, KeyError for one that no run of glost has written."""
    if not isinstance(one, dict) or set(one) != set(_KEYS):
        raise ValueError
    entry = Entry(*(one[key] for key in _KEYS))
    if not all(isinstance(text, str) and "\0" not in text for text in entry):
        raise ValueError
    if entry.form not in format_names() or not all(map(_lies_below, (entry.file, entry.recipe))):
        raise ValueError
    return entry


def _lies_below(text: str) -> bool:
    """Whether a way with / between folders leads below the folder that it begins in, on this system."""
    parts = text.split("/")
    return (
        not {"", ".", ".."} & set(parts) and PurePath(text).parts == tuple(parts) and not PurePath(text).drive
    )
