"""The map of a board as a drawing for a page: every cup with its number, its shares and a place to tick.

The drawing scales with the page. On paper it is as wide as the page, so that cups or tiles of a few centimetres can be
set on it; on a phone six cups stand side by side, and a wider board is moved with a finger. Looks are in board.css.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise
from math import sqrt
from typing import TYPE_CHECKING, Final

from glost.output.board_rows import listed
from glost.output.plot.labels import text_width
from glost.output.web import shown

if TYPE_CHECKING:
    from glost.output.model import Map, Spot

STEP: Final = 100.0
"""From one cup to the next, in units of the drawing."""
_ROOM: Final = 6.0
"""Between two cups."""
_EDGE: Final = 6.0
"""Between the edge of a cup and what is written on it."""
_BOX: Final = 22.0
_NUMBER: Final = 30.0
_WORDS: Final = 19.0
"""Sizes of what is written, at most."""
_ASIDE: Final = 13.0
_LINE: Final = 1.16
"""From one line to the next, in heights of the letters."""
_WORTH_A_LINE: Final = 1.15
"""How much larger a further line must let the shares be written."""
_ON_SCREEN: Final = 54
"""Pixels from one cup to the next on a narrow screen: six beside each other fill a phone, and each can be touched."""
_MANY: Final = 6
_MOST: Final = 12
"""On a board with more cups side by side there is no room for shares that could still be read on paper: they stand in
a list below."""


def drawn(node: Map) -> Iterator[str]:
    """The drawing, and the list of shares where it has no room for them."""
    high = STEP * sqrt(3) / 2 if node.staggered else STEP
    width, height = node.across * STEP, (node.down - 1) * high + (high - _ROOM) + _ROOM
    size = "small" if node.across <= _MANY // 2 else "wide" if node.across > _MANY else "usual"
    yield f'<figure class="board {size}"><div class="field" role="group" aria-label="{shown(node.title)}" tabindex="0">'
    yield (
        f'<svg viewBox="0 0 {width:.6g} {height:.6g}" width="{node.across * _ON_SCREEN}" '
        f'height="{height / width * node.across * _ON_SCREEN:.0f}" font-family="inherit" role="presentation">'
    )
    middles = [(float(spot.across) * STEP + STEP / 2, spot.down * high + high / 2) for spot in node.spots]
    yield '<path class="net" d="'
    yield "".join(
        _joined(middles[a], middles[b]) for a, b in node.net if _beside(node.spots[a], node.spots[b])
    )
    yield '"/>'
    for spot, (x, y) in zip(node.spots, middles, strict=True):
        yield _cup(spot, x, y, high - _ROOM, node.across <= _MOST)
    yield "</svg></div>"
    if node.across > _MOST:
        yield '<ul class="shares">'
        yield from (f"<li><b>{shown(number)}</b> {shown(words)}</li>" for number, words in listed(node))
        yield "</ul>"
    yield "</figure>"


def _beside(one: Spot, other: Spot) -> bool:
    """Not from the end of a row to the begin of the next, where a long line goes on."""
    return abs(one.across - other.across) <= 1 and other.down - one.down <= 1


def _joined(one: tuple[float, float], other: tuple[float, float]) -> str:
    return f"M{one[0]:.6g} {one[1]:.6g}L{other[0]:.6g} {other[1]:.6g}"


def _cup(spot: Spot, x: float, y: float, high: float, with_words: bool) -> str:
    """One cup about its middle."""
    if not spot.number:
        return f'<circle class="seat-none" cx="{x:.6g}" cy="{y:.6g}" r="7"/>'
    wide = STEP - _ROOM
    left, top = -wide / 2, -high / 2
    box_left, box_top = left + _EDGE + 1, top + _EDGE + 1
    room = wide - 3 * _EDGE - _BOX
    size = min(_NUMBER, _NUMBER * room / text_width(spot.number, _NUMBER))
    parts = [
        _opening(spot, x, y),
        f'<rect class="seat" x="{left:.6g}" y="{top:.6g}" width="{wide:.6g}" height="{high:.6g}" rx="14"/>',
        f'<rect class="seat-box" x="{box_left:.6g}" y="{box_top:.6g}" width="{_BOX:g}" height="{_BOX:g}" rx="3"/>',
        f'<path class="seat-tick" d="M{box_left + 4:.6g} {box_top + 11:.6g}l5 6l9 -12"/>',
        _text("seat-number", wide / 2 - _EDGE, top + _EDGE + _NUMBER * 0.74, spot.number, size, "end"),
    ]
    if with_words:
        parts += _words(spot, wide - 2 * _EDGE, top + 2 * _EDGE + _BOX + 1, high / 2 - _EDGE / 2)
    return "".join((*parts, "</g>"))


def _opening(spot: Spot, x: float, y: float) -> str:
    return (
        f'<g class="place" data-cup="{shown(spot.name)}" role="img" aria-label="{shown(spot.what)}" '
        f'transform="translate({x:.6g} {y:.6g})">'
    )


def _words(spot: Spot, wide: float, top: float, bottom: float) -> Iterator[str]:
    """The shares, as large as they find room, and at the bottom what else there is to know a cup by."""
    if spot.aside:
        yield _text("seat-aside", 0, bottom - 3, spot.aside, min(_ASIDE, _fitting([spot.aside], wide)))
        bottom -= _ASIDE * _LINE
    lines, size = broken(spot.words, wide, bottom - top)
    first = (top + bottom - len(lines) * size * _LINE) / 2 + size * 0.86
    for at, line in enumerate(lines):
        yield _text("seat-share", 0, first + at * size * _LINE, line, size)


def broken(pieces: Sequence[str], wide: float, high: float) -> tuple[list[str], float]:
    """The pieces on lines that let them be written large, and how large that is: one line more is taken where it gains
    a good deal. Of the same size the break comes late, as in writing."""
    best: tuple[list[str], float] = ([], 0.0)
    for count in range(len(pieces)):
        least = best[1] * _WORTH_A_LINE if best[0] else 0.0
        for breaks in reversed(list(combinations(range(1, len(pieces)), count))):
            ends = (0, *breaks, len(pieces))
            lines = ["".join(pieces[a:b]) for a, b in pairwise(ends)]
            size = min(_WORDS, _fitting(lines, wide), high / (_LINE * len(lines)))
            if size > max(best[1], least) + 0.01:
                best = lines, size
    return best


def _fitting(lines: Sequence[str], wide: float) -> float:
    """How large the longest of these lines may be."""
    return _WORDS * wide / max(max(text_width(line.strip(), _WORDS) for line in lines), 1.0)


def _text(look: str, x: float, y: float, text: str, size: float, anchor: str = "middle") -> str:
    return (
        f'<text class="{look}" x="{x:.6g}" y="{y:.6g}" font-size="{size:.3g}" text-anchor="{anchor}">'
        f"{shown(text.strip())}</text>"
    )
