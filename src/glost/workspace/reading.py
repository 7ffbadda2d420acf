"""Where the files of a run are read: on the disk, or as git holds them in a revision or as staged.

Paths are those of the working folder in each case, so that whatever asks for a page of a collection, or for what the
collection says, need not know which of them it is.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final, Literal, Protocol

from glost.errors import FIRST
from glost.language.source import LARGEST_FILE, Source, decode
from glost.language.yaml_tree import ConfigError
from glost.workspace.files import read_bytes
from glost.workspace.paths import display, leads_out, lies_within

Kind = Literal["", "folder", "file"]
"""What lies at a path; "" for nothing."""


class Files(Protocol):
    """Files by their paths in the working folder."""

    def kind(self, path: Path) -> Kind:
        """What lies there; a link that leads nowhere is a file. Raises OSError where that cannot be looked at."""

    def has(self, path: Path) -> bool:
        """Whether anything lies there."""

    def is_file(self, path: Path) -> bool:
        """Whether a file lies there, or a link that leads to one."""

    def read(self, path: Path, most: int = LARGEST_FILE, check: str = "") -> bytes:
        """What a file of at most so many bytes holds. ``check`` as in decode. Raises DecodeError."""

    def walk(self, folder: Path) -> Iterator[tuple[Path, list[str], list[str]]]:
        """The folder and all below it, each with its folders and its files by name. A folder that is taken out of the
        list is not looked into. Raises ConfigError."""

    def shown(self, path: Path) -> str:
        """How a file is named to a person."""

    def leads_out(self, folder: Path, name: str) -> bool:
        """Whether a file of a collection is a link that leads out of the repository or collection it lies in."""

    def lies_within(self, folder: Path, named: str) -> bool:
        """Whether a file that a text names by its path from ``folder`` lies in there, wherever links lead."""

    def fetch(self, paths: Iterable[Path]) -> None:
        """Makes ready what will be read next, where that is quicker for many at once."""


class Disk:
    """The working folder as it lies."""

    def kind(self, path: Path) -> Kind:
        return "folder" if path.is_dir() else "file" if os.path.lexists(path) else ""

    def has(self, path: Path) -> bool:
        return os.path.lexists(path)

    def is_file(self, path: Path) -> bool:
        return os.path.isfile(path)  # noqa: PTH113

    def read(self, path: Path, most: int = LARGEST_FILE, check: str = "") -> bytes:
        return read_bytes(path, most, check)

    def walk(self, folder: Path) -> Iterator[tuple[Path, list[str], list[str]]]:
        for here, folders, files in os.walk(folder, onerror=_no_look):
            yield Path(here), folders, files

    def shown(self, path: Path) -> str:
        return display(path)

    def leads_out(self, folder: Path, name: str) -> bool:
        return leads_out(folder, name)

    def lies_within(self, folder: Path, named: str) -> bool:
        return lies_within(folder, named)

    def fetch(self, paths: Iterable[Path]) -> None:
        pass


DISK: Final = Disk()


def text_in(files: Files, path: Path, most: int = LARGEST_FILE, check: str = "") -> str:
    """The text of a file. ``check`` as in decode. Raises DecodeError."""
    return decode(files.read(path, most, check), most, check)


def _no_look(error: OSError) -> None:
    """A folder that is passed over in silence would be one that nobody checks."""
    raise ConfigError(
        Source(display(Path(error.filename)), ""),
        FIRST,
        f"this folder cannot be looked into: {error.strerror}",
        "check its permissions, or name other folders",
    )
