"""Text made fit to be shown: nothing in it may steer a terminal or a printer, or hide what is written."""

from __future__ import annotations

from glost.language.tables import code_point, steers_nothing, unprintable


def is_plain(text: str) -> bool:
    """Whether nothing can be hidden in a text: nearly every one, and half the time of a page."""
    return text.isascii() and text.isprintable()


def visible(text: str) -> str:
    """``text`` on one line, each hidden character written out as its code point, such as <U+202E>."""
    if text.isascii() and text.isprintable():  # as is_plain(), without a call
        return text
    return text if steers_nothing(text) else unprintable().sub(code_point, text)


def visible_lines(text: str) -> list[str]:
    """The lines of a text of several lines, each made visible."""
    return [visible(line) for line in text.split("\n")]
