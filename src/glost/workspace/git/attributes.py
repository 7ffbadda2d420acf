"""Which of our attributes do not hold, since another line of a .gitattributes goes before."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Final, NamedTuple

from glost.workspace.git.run import asked

_SECONDS: Final = 120
_AS_WRITTEN: Final = {"unset": "-{}", "unspecified": "!{}", "set": "{}"}
"""How a line says what git tells of an attribute (gitattributes(5))."""


class Otherwise(NamedTuple):
    """An attribute as a line of somebody's own has it, for how many files that holds, and one of
    them."""

    attribute: str
    said: str
    files: int
    file: str


def held_otherwise(top: Path, wanted: Mapping[str, Mapping[str, str]]) -> list[Otherwise]:
    """``wanted``: for names of files and patterns with a star before an ending, the attributes that are meant to hold.
    Looked at are the files that are there, and one of each name in the top folder, were it there. Raises GitError."""
    listed = asked(top, "ls-files", "-z", "--cached", "--others", "--exclude-standard", seconds=_SECONDS)
    there = (os.fsdecode(path) for path in listed.split(b"\0")[:-1])
    paths = dict.fromkeys(path for path in there if _meant_of(path, wanted))
    paths |= dict.fromkeys(name.replace("*", "page") for name in wanted)
    attributes = sorted({attribute for one in wanted.values() for attribute in one})
    given = b"".join(os.fsencode(path) + b"\0" for path in paths)
    said = asked(top, "check-attr", "-z", "--stdin", *attributes, given=given, seconds=_SECONDS)
    words = [os.fsdecode(word) for word in said.split(b"\0")[:-1]]
    files: dict[tuple[str, str], list[str]] = {}
    for path, attribute, value in zip(words[::3], words[1::3], words[2::3], strict=True):
        if _meant_of(path, wanted).get(attribute, value) != value:
            shown = _AS_WRITTEN.get(value, f"{{}}={value}").format(attribute)
            files.setdefault((attribute, shown), []).append(path)
    return [Otherwise(attribute, shown, len(some), some[0]) for (attribute, shown), some in files.items()]


def _meant_of(path: str, wanted: Mapping[str, Mapping[str, str]]) -> Mapping[str, str]:
    name = path.rpartition("/")[2]
    for pattern, attributes in wanted.items():
        if name == pattern or (pattern.startswith("*") and name.endswith(pattern[1:])):
            return attributes
    return {}
