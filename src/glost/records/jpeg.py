"""Whether bytes are a JPEG and nothing else: no data of the camera, nothing before, between or behind its parts.

The parts and their marks are those of ITU-T T.81 (1992), "Digital compression and coding of continuous-tone still
images", Annex B; JFIF stands in APP0 (ITU-T T.871). What a camera says of itself, and where it was, stands in APP1.
"""

from __future__ import annotations

from typing import Final

from glost.errors import ValueRefusedError

_FRAMES: Final = frozenset((0xC0, 0xC1, 0xC2))
"""Baseline, extended, progressive; each with Huffman coding."""
_PLAIN: Final = _FRAMES | {0xC4, 0xDB, 0xDD, 0xDA, 0xE0, 0xE2, 0xEE}
"""What a picture needs: tables, restarts, scans; JFIF, a colour profile, and which colours they are."""
_END: Final = 0xD9
_AGAIN: Final = "take the photo anew with the page, or save it as a plain JPEG"


def check_jpeg(data: bytes) -> tuple[int, int]:
    """Width and height of a picture. Raises ValueError for what is none, or is more than one."""
    if not data.startswith(b"\xff\xd8"):
        raise ValueRefusedError("it is no JPEG", _AGAIN)
    at, size = 2, None
    while True:
        if at + 2 > len(data):
            raise ValueRefusedError("the picture is broken off", "hand it over anew from the page")
        if data[at] != 0xFF:
            raise ValueRefusedError("the picture is broken: a part does not begin where it should", _AGAIN)
        mark = data[at + 1]
        if mark == 0xFF:  # filled up
            at += 1
            continue
        if mark == _END:
            break
        _check_mark(mark)
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        if length < 2 or at + 2 + length > len(data):
            raise ValueRefusedError("the picture is broken off", "hand it over anew from the page")
        if mark in _FRAMES:
            if size is not None or length < 8:
                raise ValueRefusedError("the picture is broken: it is not one picture", _AGAIN)
            size = int.from_bytes(data[at + 7 : at + 9], "big"), int.from_bytes(data[at + 5 : at + 7], "big")
        at += 2 + length
        if mark == 0xDA:
            if size is None:
                raise ValueRefusedError("the picture is broken: it has no size", _AGAIN)
            at = _behind_scan(data, at)
    if size is None or not all(size):
        raise ValueRefusedError("the picture is broken: it has no size", _AGAIN)
    if at + 2 != len(data):
        raise ValueRefusedError("something stands behind the end of the picture", _AGAIN)
    return size


def _check_mark(mark: int) -> None:
    """Raises ValueError for a part that a picture does not need."""
    if mark not in _PLAIN:
        what = "what the camera says of itself" if 0xE0 <= mark <= 0xEF or mark == 0xFE else "a part"
        raise ValueRefusedError(f"the picture carries {what} that is not taken in", _AGAIN)


def _behind_scan(data: bytes, at: int) -> int:
    """Where the next part begins: in a scan, FF is followed by 0 or by the number of a restart."""
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            return len(data)
        if data[at + 1] == 0 or 0xD0 <= data[at + 1] <= 0xD7:
            at += 2
        else:
            return at
