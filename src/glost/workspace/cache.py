"""What was worked out before, kept in the user's cache folder as JSON.

No accident here can make a result wrong: an entry is taken only by the very build of glost that made it, for the very
thing that it was made from, and where its checksum agrees. Whatever is missing, broken or not to be written is as if
it were not there. An entry is two lines of JSON: what it belongs to, and what was kept. It is never a pickle, so it
runs nothing. But it is believed: whoever can write to the folder can make up entries, and with them what a run finds.
So it never lies where another user can write, and is not to be carried between people or pipelines that do not trust
each other.

GLOST_CACHE names another folder, or "off". Everything lies in a folder "glost" of that, and only what has a name of the
cache's own form is ever taken away.
"""

from __future__ import annotations

import functools
import json
import os
import sys
from binascii import crc32
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from glost import __version__
from glost.language.blake2 import blake2b
from glost.language.shipped import shipped

_LARGEST = 64 * 1024 * 1024
_LONGEST_DAYS = 60
_ENDING = ".jsonl"
_COLLECTION = r"[0-9a-f]{32}"
"""What a folder that is swept away is called: a digest()."""
_ENTRY = r"[0-9a-f]{2}\.(?:jsonl|[0-9]+\.part)"
_LEFT = r"[a-z]+-[0-9a-f]{8}-[0-9]+\.[0-9]+\.part"
"""What a run that was killed leaves of an entry beside the folders."""


def digest(*parts: str | bytes) -> str:
    """What tells these parts, in this order, from any others."""
    state = blake2b(digest_size=16)
    for part in parts:
        data = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
        state.update(b"%d:" % len(data))
        state.update(data)
    return state.hexdigest()


@functools.cache
def build() -> str:
    """This build of glost: its version, and where its files lie, how large they are and when they were written, so
    that nothing is taken that another build has kept."""
    here = os.path.dirname(os.path.dirname(__file__))  # noqa: PTH120 (paths as texts are what a quick start can afford)
    folders = (here, shipped("grammar", "").as_posix(), shipped("schema", "").as_posix())
    files = sorted(line for folder in folders for line in _files_below(folder))
    return (
        f"{__version__}-{sys.version_info[0]}.{sys.version_info[1]}-{crc32(chr(10).join(files).encode()):08x}"
    )


def _files_below(folder: str) -> Iterator[str]:
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith((".", "__pycache__")):
                continue
            if entry.is_dir():
                yield from _files_below(entry.path)
            else:
                about = entry.stat()
                yield f"{entry.path!a} {about.st_size} {about.st_mtime_ns}"


def folder() -> str | None:
    """The cache folder, or None where there is none to be had."""
    asked = os.environ.get("GLOST_CACHE")
    if asked == "off":
        return None
    if asked:
        base = f"{asked}{os.sep}glost" if os.path.isabs(asked) and _ours(asked) else ""  # noqa: PTH117
    elif sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA")
        base = f"{local}\\glost\\cache" if local else ""
    else:
        home = os.environ.get("HOME")
        above = os.environ.get("XDG_CACHE_HOME") or (f"{home}/.cache" if home else "")
        base = f"{above}/glost" if above else ""
    return base if os.path.isabs(base) and _ours(base) else None  # noqa: PTH117


def _ours(place: str) -> bool:
    """Whether nobody but this user can write there; what is not there yet will be made so."""
    if sys.platform == "win32":
        return True  # the user's own folder by its place
    try:
        about = os.stat(place)  # noqa: PTH116
    except OSError:
        return True
    return about.st_uid == os.geteuid() and not about.st_mode & 0o022


def find(kind: str, text: str) -> Any:
    """What was kept for this text, or None."""
    return take(_named_by(kind, text), text)


def keep(kind: str, text: str, kept: Any) -> None:
    """Keeps something JSON can hold for this text; says nothing where it cannot."""
    put(_named_by(kind, text), text, kept)


def _named_by(kind: str, text: str) -> str:
    data = text.encode("utf-8", "surrogatepass")
    return f"{kind}-{crc32(data):08x}-{len(data)}"


def take(name: str, made_from: str) -> Any:
    """What is kept under a name (with / between folders), or None where it is not there, is broken, or was not
    made from this, by this build."""
    base = folder()
    if base is None:
        return None
    try:
        with open(f"{base}/{name}{_ENDING}", "rb") as file:  # noqa: PTH123
            data = file.read(_LARGEST)
        head, _, body = data.partition(b"\n")
        if json.loads(head) != _head(made_from, body):
            return None
        return json.loads(body)
    except (OSError, ValueError, RecursionError):
        return None


def put(name: str, made_from: str, kept: Any) -> None:
    """Keeps something JSON can hold under a name, in the place of what was there; says nothing where it cannot. Of
    two processes that keep under one name, one is kept, whole."""
    base = folder()
    if base is None:
        return
    place = f"{base}/{name}{_ENDING}"
    part = f"{place[: -len(_ENDING)]}.{os.getpid()}.part"
    try:
        body = json.dumps(kept, separators=(",", ":")).encode("ascii")
        head = json.dumps(_head(made_from, body)).encode("ascii")
        os.makedirs(base, mode=0o700, exist_ok=True)  # noqa: PTH103
        os.makedirs(os.path.dirname(place), mode=0o700, exist_ok=True)  # noqa: PTH103, PTH120
        if not _ours(base):
            return
        with open(part, "wb") as file:  # noqa: PTH123
            file.write(head + b"\n" + body)
        os.replace(part, place)  # noqa: PTH105
    except (OSError, ValueError, RecursionError):
        with suppress(OSError):
            os.unlink(part)  # noqa: PTH108


def sweep(name: str) -> None:
    """Takes away the folders below one that were not written to for a long time: those of collections that are gone,
    of builds that were replaced. What does not look like one of ours stays, with the folder that it lies in."""
    base = folder()
    if base is None or any(map(os.path.islink, (base, f"{base}/{name}"))):
        return
    import time

    oldest = time.time() - _LONGEST_DAYS * 24 * 60 * 60
    for entry in _old(f"{base}/{name}", _COLLECTION, oldest):
        if entry.is_dir(follow_symlinks=False):
            for inner in _old(entry.path, _ENTRY, oldest):
                _take_away(inner)
            with suppress(OSError):  # something else is in it
                os.rmdir(entry.path)  # noqa: PTH106
    for entry in _old(base, _LEFT, oldest):
        _take_away(entry)


def _old(place: str, form: str, oldest: float) -> list[os.DirEntry[str]]:
    """What lies in a folder under a name of that form, and was not written to for so long."""
    import re

    try:
        with os.scandir(place) as entries:
            return [
                entry
                for entry in entries
                if re.fullmatch(form, entry.name) and entry.stat(follow_symlinks=False).st_mtime < oldest
            ]
    except OSError:
        return []


def _take_away(entry: os.DirEntry[str]) -> None:
    if entry.is_file(follow_symlinks=False):
        with suppress(OSError):
            os.unlink(entry.path)  # noqa: PTH108


def _head(made_from: str, body: bytes) -> dict[str, Any]:
    return {"by": build(), "from": made_from, "sum": crc32(body), "bytes": len(body)}
