"""A match for a person: what to weigh, and what is still different, oxide by oxide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from glost.chemistry import substitution
from glost.chemistry.additive import Estimate
from glost.chemistry.matching import WITHIN
from glost.chemistry.substitution import Basis, Matched
from glost.output.model import (
    Band,
    Column,
    Entries,
    Entry,
    Heading,
    Line,
    Node,
    Paragraph,
    Row,
    Section,
    Table,
)
from glost.output.model.text import as_text
from glost.weighing.rounding import trimmed

_COLUMNS: Final = 98
_FARTHEST: Final = 3
"""Oxides that the simple swap is told to leave off."""

TAKEN_AS_ONE: Final[dict[Basis, str]] = {
    "flux": "fluxes as 1",
    "alumina": "alumina as 1",
    "total": "all oxides as 1",
}


def text(matched: Matched, file: str) -> str:
    """The whole report. ``file`` is the old recipe's, as it is shown."""
    return as_text(nodes_of(matched, file), _COLUMNS, margin=2)


def nodes_of(matched: Matched, file: str) -> Iterator[Node]:
    """All that is told of a match."""
    without = f", without {' and '.join(matched.without)}" if matched.without else ""
    yield Heading(f"{matched.target.test.name}, matched{without}", 3)
    yield Line(file)
    yield _weighed(matched)
    yield _block(_oxides(matched), *(Paragraph(text) for text in _around(matched)))
    yield _block(
        *verdict(matched),
        *(Paragraph(text) for text in (*_alkalis(matched), *_swap(matched))),
        *(Paragraph(remark, "fact", "note") for remark in matched.remarks),
    )


def _block(*nodes: Node) -> Section:
    """Nodes without an empty line between them."""
    return Section("", nodes, close=True)


def _weighed(matched: Matched) -> Table:
    rows: list[Row | Band] = list(_rows(matched.base))
    if matched.additions:
        rows += [Band("additions"), *_rows(matched.additions)]
    return Table(
        [
            Column("base", names=True, least=24),
            Column("parts", figures=True, strong=True, least=6),
            Column("before", figures=True, least=8),
            Column(""),
        ],
        rows,
        stepped=True,
    )


def _rows(lines: Sequence[substitution.Line]) -> Iterator[Row]:
    decimals = max(len(f"{line.parts:f}".partition(".")[2]) for line in lines)
    for line in lines:
        before = "-" if line.before is None else _parts(line.before)
        yield Row((line.material, f"{line.parts:.{decimals}f}", before, "kept" if line.kept else ""))


def _oxides(matched: Matched) -> Table:
    mol, mass = f"mol, {TAKEN_AS_ONE[matched.basis]}", "fired, % by mass"
    return Table(
        [
            Column("", names=True, least=8),
            *(Column(head, figures=True, least=9, group=mol) for head in ("before", "now", "difference")),
            Column("before", figures=True, least=11, group=mass),
            *(Column(head, figures=True, least=9, group=mass) for head in ("now", "difference")),
            Column(""),
        ],
        [
            Row(
                (
                    row.oxide,
                    _shown(row.wanted, 3),
                    _shown(row.reached, 3),
                    _shown(row.off, 3, True),
                    _shown(row.wanted_percent, 2),
                    _shown(row.reached_percent, 2),
                    _shown(row.off_percent, 2, True),
                    "" if row.within else "!",
                )
            )
            for row in matched.oxides
        ],
    )


def _around(matched: Matched) -> Iterator[str]:
    """What the table of oxides does not show."""
    loss, now = matched.target.loss, matched.fired.loss
    yield f"loss on ignition, % of the dry batch: {loss:.1f} before, {now:.1f} now"
    if matched.expansion is not None:
        yield f"expansion, 1e-7/K: {expansions(matched.expansion)}"


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
    yield (
        f"{', '.join(matched.alkalis)} were let stand in for each other: together {before:.3f} mol before, {now:.3f} "
        "now. They melt and craze differently, lithia most of all (common practice)."
    )


def _parts(value: Decimal) -> str:
    return trimmed(f"{value:.3f}")


def _swap(matched: Matched) -> Iterator[str]:
    """The simple swap, on a few lines."""
    swap = matched.swap
    if swap is None:
        return
    weighed = ", ".join(
        f"{line.material} {_parts(line.parts)}"
        + ("" if line.kept else f" ({'-' if line.before is None else _parts(line.before)} before)")
        for line in swap.base
    )
    yield (f"Simple swap, {swap.material} for {swap.gone}, corrected by silica and kaolin: {weighed}.")
    off = sorted(swap.missed, key=lambda one: (-abs(one.off), one.oxide))[:_FARTHEST]
    told = ", ".join(f"{one.oxide} {one.off:+.3f}" for one in off) or f"every oxide within {WITHIN} mol"
    more = f" and {len(swap.missed) - len(off)} more" if len(swap.missed) > len(off) else ""
    told = f"It leaves {told}{more}" + (" mol" if off else "")
    if swap.expansion is not None:
        told += f"; expansion {expansions(swap.expansion)}"
    yield f"{told}."


def _shown(value: Decimal, decimals: int, signed: bool = False) -> str:
    rounded = value.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
    if not rounded:
        return f"{abs(rounded):f}"
    return f"{rounded:+f}" if signed else f"{rounded:f}"


def verdict(matched: Matched) -> Iterator[Node]:
    """Whether everything is reached; if not, what is not, by how much, and why."""
    missed = matched.missed
    if not missed:
        yield Paragraph(
            f"Every oxide lies within {WITHIN} mol of the recipe. The same oxides do not make the same glaze: grain, "
            "melting and slurry differ, so fire a test first."
        )
        return
    yield Paragraph(
        f"{len(missed)} of {len(matched.oxides)} oxides lie further than {WITHIN} mol off: "
        + ("amounts exist that hold all of them, but none were found." if matched.possible else _IMPOSSIBLE)
    )
    yield Entries(
        [
            Entry(f"{abs(one.off):.3f} mol {'too much' if one.off > 0 else 'short'}; {one.why}", one.oxide)
            for one in missed
        ]
    )


_IMPOSSIBLE: Final = (
    "no amounts of the materials at hand bring them all nearer than that. It is another glaze; fire it as "
    "one."
)
