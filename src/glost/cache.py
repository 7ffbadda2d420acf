"""What was worked out before, kept in the user's cache folder as JSON.

Nothing here can make a result wrong: an entry holds the very text that it was made from and is taken only for
that text, and whatever is missing, broken or not to be written is as if it were not there. It is never a
pickle, and never lies in a folder that others can write to. GLOST_CACHE names another folder, or "off".
"""

from __future__ import annotations

import json
import os
import sys
from binascii import crc32
from contextlib import suppress
from pathlib import Path
from typing import Any

from glost import __version__

_LARGEST = 4 * 1024 * 1024


def folder() -> Path | None:
    """The cache folder of this version, or None where there is none to be had."""
    asked = os.environ.get("GLOST_CACHE")
    if asked == "off":
        return None
    if asked:
        base = Path(asked)
    elif sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA")
        if not local:
            return None
        base = Path(local) / "glost" / "cache"
    else:
        home = os.environ.get("HOME")
        base = Path(os.environ.get("XDG_CACHE_HOME") or (Path(home) / ".cache" if home else "")) / "glost"
    return base / __version__ if base.is_absolute() else None


def find(kind: str, text: str) -> Any:
    """What was kept for this text, or None."""
    place = _place(kind, text)
    if place is None:
        return None
    try:
        if place.stat().st_size > _LARGEST:
            return None
        entry = json.loads(place.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(entry, dict) or entry.get("text") != text:
        return None
    return entry.get("kept")


def keep(kind: str, text: str, kept: Any) -> None:
    """Keeps something JSON can hold for this text; says nothing where it cannot."""
    place = _place(kind, text)
    if place is None:
        return
    part = place.with_suffix(f".{os.getpid()}.part")
    try:
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        part.write_text(json.dumps({"text": text, "kept": kept}), "utf-8")
        part.replace(place)
    except (OSError, ValueError, RecursionError):
        with suppress(OSError):
            part.unlink()


def _place(kind: str, text: str) -> Path | None:
    base = folder()
    data = text.encode("utf-8", "surrogatepass")
    return None if base is None else base / f"{kind}-{crc32(data):08x}-{len(data)}.json"
