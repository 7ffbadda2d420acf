"""Where files lie, and under which name they are shown."""

from __future__ import annotations

import os
from pathlib import Path

ENDING = ".glost"
SETTINGS = "glost.yaml"
MATERIALS = "materials.yaml"
RECORD = ".batch"
"""The ending of a record in the log of batches."""
STOCK = ".stock.yaml"
"""The ending of a count or a delivery in the log."""
FIRING = ".firing"
"""The ending of the page of a firing."""
PAGES = (ENDING, FIRING)
"""The endings of what is checked and laid out."""
STANDARD_INPUT = "-"


def whole(path: Path) -> Path:
    """A path from the root on, the same for one file however the way to it is written with ``..``. Links are followed
    only where a ``..`` stands behind one, as the system does."""
    absolute = path.absolute()
    if ".." not in str(absolute) or ".." not in absolute.parts:  # the first asks no path to be taken apart
        return absolute
    folder = os.path.realpath(absolute.parent)
    return Path(os.path.realpath(absolute)) if absolute.name == ".." else Path(folder) / absolute.name


def whole_text(path: Path) -> str:
    """As whole(), as a text: what many files are known by is never taken apart."""
    text = str(path)
    if os.sep != "/" or ".." in text or text == ".":
        return str(whole(path))
    return text if text.startswith("/") else os.path.join(os.getcwd(), text)  # noqa: PTH109, PTH118


def display(path: Path) -> str:
    """A path as it is shown: below the working folder where it lies there, with / between folders."""
    below = str(path)
    if os.path.isabs(below):  # noqa: PTH117 (else it lies there, and the system need not be asked where that is)
        below = below.removeprefix(os.path.join(os.getcwd(), ""))  # noqa: PTH109, PTH118
    return below.replace(os.sep, "/") if below != STANDARD_INPUT else f"./{below}"


def seen_from_here(folder: Path) -> str:
    """A folder by its way from the working folder, the same in every clone: "." for that folder itself."""
    try:
        return os.path.relpath(folder).replace(os.sep, "/")
    except ValueError:  # on another drive there is none
        return display(folder)


def leads_out(folder: Path, name: str) -> bool:
    """Whether a file of a collection is a link that leads out of the repository it lies in, or without one out of its
    folder: what it leads to belongs to somebody else."""
    place = folder / name
    if not os.path.islink(place):  # noqa: PTH114
        return False
    tops = (above for above in (folder, *folder.parents) if os.path.lexists(above / ".git"))
    return not lies_within(next(tops, folder), str(place.absolute()))


def lies_within(folder: Path, named: str) -> bool:
    """Whether a file that a text names by its path from ``folder`` lies in there, wherever links lead."""
    # os.path answers where pathlib would raise: on a loop of links, on a name that no disk can hold.
    top = os.path.realpath(folder)
    return os.path.join(os.path.realpath(folder / named), "").startswith(os.path.join(top, ""))  # noqa: PTH118
