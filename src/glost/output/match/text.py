"""A match for a person: what to weigh, and what is still different, oxide by oxide."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from glost.chemistry.additive import Estimate
from glost.chemistry.matching import WITHIN
from glost.chemistry.substitution import Basis, Line, Matched
from glost.language.width import padded, width
from glost.output.escape import visible

_COLUMNS: Final = 100
_LEAST_NAME: Final = 20
_NUMBER: Final = 11
_FARTHEST: Final = 3
"""Oxides that the simple swap is told to leave off."""

TAKEN_AS_ONE: Final[dict[Basis, str]] = {
    "flux": "fluxes as 1",
    "alumina": "alumina as 1",
    "total": "all oxides as 1",
}


def text(matched: Matched, file: str) -> str:
    """The whole report. ``file`` is the old recipe's, as it is shown."""
    return "".join(f"{line}\n" for line in _all(matched, file))


def _all(matched: Matched, file: str) -> Iterator[str]:
    without = f", without {' and '.join(matched.without)}" if matched.without else ""
    yield visible(f"{matched.target.test.name}, matched{without}")
    yield f"  {visible(file)}"
    yield ""
    yield from _weighed(matched)
    yield ""
    yield from _oxides(matched)
    yield ""
    yield from verdict(matched)
    yield from _alkalis(matched)
    yield from _swap(matched)
    for remark in matched.remarks:
        yield from _wrapped(f"note: {visible(remark)}")


def _weighed(matched: Matched) -> Iterator[str]:
    name = (
        max(_LEAST_NAME, *(width(visible(line.material)) for line in (*matched.base, *matched.additions))) + 2
    )
    yield padded("  base", name + 2) + "     parts    before"
    yield from _lines(matched.base, name)
    if matched.additions:
        yield "  additions"
        yield from _lines(matched.additions, name)


def _lines(lines: Sequence[Line], name: int) -> Iterator[str]:
    decimals = max(len(f"{line.parts:f}".partition(".")[2]) for line in lines)
    for line in lines:
        before = "-" if line.before is None else _trimmed(line.before)
        kept = "  kept" if line.kept else ""
        parts = f"{line.parts:.{decimals}f}"
        yield f"    {padded(visible(line.material), name)}{parts:>8}  {before:>8}{kept}"


def _trimmed(value: Decimal) -> str:
    shown = f"{value:.3f}"
    return shown.rstrip("0").rstrip(".")


def _oxides(matched: Matched) -> Iterator[str]:
    one = TAKEN_AS_ONE[matched.basis]
    yield f"{'':10}{f'mol, {one}':^33}{'':2}{'fired, % by mass':^33}".rstrip()
    heads = "".join(f"{word:>{_NUMBER}}" for word in ("before", "now", "difference"))
    yield f"  {'':8}{heads}  {heads}"
    for row in matched.oxides:
        figures = (
            f"{_shown(row.wanted, 3)}{_shown(row.reached, 3)}{_shown(row.off, 3, True)}",
            f"{_shown(row.wanted_percent, 2)}{_shown(row.reached_percent, 2)}{_shown(row.off_percent, 2, True)}",
        )
        yield f"  {row.oxide:8}{figures[0]}  {figures[1]}{'' if row.within else '  !'}"
    loss, now = matched.target.loss, matched.fired.loss
    yield f"  loss on ignition, % of the dry batch: {loss:.1f} before, {now:.1f} now"
    if matched.expansion is not None:
        yield f"  expansion, 1e-7/K: {expansions(matched.expansion)}"


def expansions(both: tuple[Estimate, Estimate]) -> str:
    """The estimates of the old recipe and the new, with the interval of each."""
    old, new = both
    return (
        f"{old.value:.1f} ({old.low:.0f} to {old.high:.0f}) before, "
        f"{new.value:.1f} ({new.low:.0f} to {new.high:.0f}) now"
    )


def _alkalis(matched: Matched) -> Iterator[str]:
    """What the alkalis that stood in for each other come to together."""
    if not matched.alkalis:
        return
    rows = [row for row in matched.oxides if row.oxide in matched.alkalis]
    before, now = (sum((getattr(row, side) for row in rows), Decimal(0)) for side in ("wanted", "reached"))
    yield from _wrapped(
        f"{', '.join(matched.alkalis)} were let stand in for each other: together {before:.3f} mol before, {now:.3f} "
        "now. They melt and craze differently, lithia most of all (common practice)."
    )


def _swap(matched: Matched) -> Iterator[str]:
    """The simple swap, on a few lines."""
    swap = matched.swap
    if swap is None:
        return
    weighed = ", ".join(
        f"{visible(line.material)} {_trimmed(line.parts)}"
        + ("" if line.kept else f" ({'-' if line.before is None else _trimmed(line.before)} before)")
        for line in swap.base
    )
    yield from _wrapped(
        f"Simple swap, {visible(swap.material)} for {visible(swap.gone)}, corrected by silica and kaolin: {weighed}."
    )
    off = sorted(swap.missed, key=lambda one: (-abs(one.off), one.oxide))[:_FARTHEST]
    told = ", ".join(f"{one.oxide} {one.off:+.3f}" for one in off) or f"every oxide within {WITHIN} mol"
    more = f" and {len(swap.missed) - len(off)} more" if len(swap.missed) > len(off) else ""
    told = f"It leaves {told}{more}" + (" mol" if off else "")
    if swap.expansion is not None:
        told += f"; expansion {expansions(swap.expansion)}"
    yield from _wrapped(f"{told}.")


def _shown(value: Decimal, decimals: int, signed: bool = False) -> str:
    rounded = value.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
    figure = f"{rounded:+f}" if signed and rounded else f"{abs(rounded):f}" if not rounded else f"{rounded:f}"
    return f"{figure:>{_NUMBER}}"


def verdict(matched: Matched) -> Iterator[str]:
    """Whether everything is reached; if not, what is not, by how much, and why."""
    missed = matched.missed
    if not missed:
        yield from _wrapped(
            f"Every oxide lies within {WITHIN} mol of the recipe. The same oxides do not make the same glaze: grain, "
            "melting and slurry differ, so fire a test first."
        )
        return
    yield from _wrapped(
        f"{len(missed)} of {len(matched.oxides)} oxides lie further than {WITHIN} mol off: "
        + ("amounts exist that hold all of them, but none were found." if matched.possible else _IMPOSSIBLE)
    )
    for one in missed:
        side = "too much" if one.off > 0 else "short"
        yield from _wrapped(f"- {one.oxide}: {abs(one.off):.3f} mol {side}; {visible(one.why)}")


_IMPOSSIBLE: Final = (
    "no amounts of the materials at hand bring them all nearer than that. It is another glaze; fire it as "
    "one."
)


def _wrapped(line: str) -> list[str]:
    return textwrap.wrap(
        line,
        _COLUMNS - 2,
        initial_indent="  ",
        subsequent_indent="    " if line[:1] in "-n" else "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
