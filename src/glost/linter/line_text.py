"""A line as it is compared with what it was: how it is laid out and how its numbers are spelled do not count.

It is written for lines that nobody could read as well as for good ones, and without the language's own reader: a run
over known pages imports none. So it goes by the signs alone. Two lines that mean different things never come out
alike, but for idle noughts in front of a number that ends a line of free text.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import Final

from glost.language.blake2 import blake2b

_AMOUNT: Final = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)\s*(?:%|[A-Za-z]{1,12})?"
# Compiled where they are first asked for, since only a baseline asks: 1 ms of a start.
_ITEM: Final = (
    rf"""(?P<name>(?:"[^"]*"|[^:"#])*?(?<=[\s"]))(?P<amounts>{_AMOUNT}(?:\s*,\s+{_AMOUNT})*)"""
    r"""\s*(?P<note>\([^()]*\))?\s*(?P<comment>\#.*)?"""
)
"""The name ends where nothing but amounts is left; a line with a colon is a field, a head or an instruction. In a note
a sign begins no comment."""
_ONE: Final = r"(?P<whole>[0-9]*)(?:\.(?P<part>[0-9]*))?\s*(?P<unit>%|[A-Za-z]*)"
_DECIMAL: Final = r"(?<![\w.])(?P<whole>[0-9]*)\.(?P<part>[0-9]+)(?![\w.])"
_STEP_ZEROS: Final = r"(?<=\bby )0+(?=[0-9]+(?:\.[0-9]+)?%)"
_QUOTED: Final = r'("[^"]*"?)'
BYTE_ORDER_MARK: Final = "\ufeff"
_LONGEST: Final = 2000
"""Signs; a longer line is no line of a recipe, and is compared as it stands."""


def tidy(line: str) -> str:
    """The line with one blank where there were several, and its numbers in one spelling. The text of a name in quotes
    is left alone, and in a comment only blanks are. A byte order mark is the file's, and not its first line's."""
    line = line.removeprefix(BYTE_ORDER_MARK).strip()
    if len(line) > _LONGEST:
        return line
    item = re.fullmatch(_ITEM, line)
    if item is not None:
        amounts = ", ".join(_amount(one) for one in re.split(r"\s*,\s+", item["amounts"]))
        name = "".join(_blanks(piece) for piece in re.split(_QUOTED, item["name"]))
        note = f"({' '.join(item['note'][1:-1].split())})" if item["note"] else ""
        said, comment = f"{name.strip()} {amounts} {note}", item["comment"] or ""
    else:
        said, comment = _before_comment(line)
        said = _spaced(said)
    return f"{said.strip()} {' '.join(comment.split())}".strip()


def _before_comment(line: str) -> tuple[str, str]:
    """The line in front of its comment, and the comment. A sign in quotes begins none."""
    at = 0
    for piece in re.split(_QUOTED, line):
        if not piece.startswith('"') and "#" in piece:
            at += piece.index("#")
            return line[:at].strip(), line[at:]
        at += len(piece)
    return line, ""


def _blanks(piece: str) -> str:
    """A piece of a line with single blanks; a name in quotes without those at its ends."""
    if not piece.startswith('"'):
        return re.sub(r"\s+", " ", piece)
    ends = '"' if piece.endswith('"') and len(piece) > 1 else ""
    return f'"{piece[1 : len(piece) - len(ends)].strip()}{ends}'


def _spaced(text: str) -> str:
    pieces = [_blanks(piece) for piece in re.split(_QUOTED, text)]
    colon = False
    for at, piece in enumerate(pieces):
        if piece.startswith('"'):
            continue
        if at:
            piece = f" {piece}" if piece[:1] not in ("", " ", ",", ":") else piece
        piece = re.sub(r" ?,(?![0-9]) ?|(?<![0-9]) ?, ?", ", ", piece)
        if not colon and ":" in piece:
            colon = True
            piece = re.sub(" ?: ?", ": ", piece, count=1)
        piece = piece.replace(" %", "%")  # the step of a blend has a blank there or none
        piece = re.sub(_STEP_ZEROS, "", piece)
        pieces[at] = re.sub(_DECIMAL, lambda found: _number(found["whole"] or "0", found["part"]), piece)
    return "".join(pieces)


def _amount(text: str) -> str:
    found = re.fullmatch(_ONE, text.strip())
    assert found is not None, text
    number = _number(found["whole"].lstrip("0") or "0", found["part"] or "")
    return f"{number} {found['unit']}".strip()


def _number(whole: str, part: str) -> str:
    part = part.rstrip("0")
    return f"{whole}.{part}" if part else whole


# ---- a page known again under another name -----------------------------------------------------------------

_HEAD: Final = r"(?i:[a-z][a-z /-]*(?: \"[^\"]*\")?:.*)"
"""Fields and heads, which many pages have in common."""
_MOST_LINES: Final = 60
_ALIKE: Final = 0.5
"""Of the lines that tell pages apart; git takes a file for a renamed one from the same share on (git-diff(1), -M)."""


def page_marks(text: str) -> tuple[str, ...]:
    """What a page is known by when it lies somewhere else: a short digest of each line that tells it from others, in
    order and each once."""
    lines = (tidy(line) for line in text.splitlines())
    telling = [line for line in lines if line and not line.startswith("#") and not re.fullmatch(_HEAD, line)]
    encoded = (line.encode("utf-8", "surrogatepass") for line in telling[:_MOST_LINES])
    return tuple(sorted({blake2b(line, digest_size=4).hexdigest() for line in encoded}))


def likeness(one: Sequence[str], other: Sequence[str]) -> float:
    """How much of two pages is the same, from 0 to 1, by their marks."""
    both = (Counter(one) & Counter(other)).total()
    return both / max(len(one), len(other), 1)


def same_page(one: Sequence[str], other: Sequence[str]) -> bool:
    """Whether the marks are so much alike that one page is taken for the other, moved."""
    return likeness(one, other) >= _ALIKE
