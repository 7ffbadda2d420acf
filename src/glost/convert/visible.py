"""Text made fit to be shown: nothing in it may steer a terminal or a printer, or hide what is written."""

from __future__ import annotations

import re

# Controls; signs that are invisible or turn the direction of writing (UAX #9, UTS #55); line separators; lone
# surrogates, which cannot be encoded. The parser refuses them; recipes read from data files may hold them.
_HIDDEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u2064\u2066-\u206f"
    "\ud800-\udfff\ufeff\ufff9-\ufffc\U000e0000-\U000e007f]"
)


def visible(text: str) -> str:
    """``text`` on one line, each hidden character written out as its code point, such as <U+202E>."""
    return _HIDDEN.sub(lambda found: f"<U+{ord(found[0]):04X}>", text)


def visible_lines(text: str) -> list[str]:
    """The lines of a text of several lines, each made visible."""
    return [visible(line) for line in text.split("\n")]
