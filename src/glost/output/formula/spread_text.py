"""The table of a test with the whole range of every figure, for a person."""

from __future__ import annotations

from collections.abc import Iterator

from glost.chemistry.bracket import LESS_OR_MORE
from glost.chemistry.ranges import Range, Ranges
from glost.chemistry.unity import group_of
from glost.output import figures
from glost.output.formula.account import Account
from glost.output.formula.granted import UNITS, sources
from glost.output.formula.text import GROUP_NAMES, block, nodes_of, shown, terms
from glost.output.model import Column, Entries, Entry, Node, Paragraph, Row, Table

_WIDTH = 22


def part(account: Account) -> str:
    """The table of one test, and below it the ranges."""
    return shown([*nodes_of(account), *_nodes(account)])


def _nodes(account: Account) -> Iterator[Node]:
    ranges = account.ranges
    if ranges is None:
        yield block([Paragraph("Spread: none; every material is counted as the one thing that it is.")])
        return
    yield block(_what(account))
    yield _table(ranges)
    yield terms(_figures(account, ranges))
    yield Entries(list(_sources(account)))


def _what(account: Account) -> Iterator[Paragraph]:
    yield Paragraph(
        "Spread: each material as any of the analyses held of it, or any mixture of them; ends rounded outwards."
    )
    if account.fired.unknown:
        yield Paragraph("What is unknown may be any oxide, or nothing that stays.")


def _table(ranges: Ranges) -> Table:
    rows = []
    before = ""
    for oxide, weight in ranges.weight_percent.items():
        group = GROUP_NAMES[group_of(oxide)]
        rows.append(
            Row(
                (
                    group if group != before else "",
                    oxide,
                    _between(ranges.unity.get(oxide), 3),
                    _between(weight, 2),
                    _between(ranges.mol_percent.get(oxide), 2),
                )
            )
        )
        before = group
    figures_of = [Column(head, figures=True, least=_WIDTH) for head in ("unity", "fired wt %", "mol %")]
    return Table([Column("", least=7), Column("", least=7), *figures_of], rows)


def _figures(account: Account, ranges: Ranges) -> Iterator[tuple[str, str]]:
    for label, one, decimals, unit in (
        ("SiO2 : Al2O3", ranges.ratio, 2, ""),
        ("R2O", ranges.alkali if account.choice.on == "flux" else None, 2, ""),
        ("loss on ignition", ranges.loss, 2, " %"),
    ):
        if one is not None:
            yield label, f"{_between(one, decimals)}{unit}"
    for what, span in account.spans.items():
        yield what, f"{span.low:.1f} to {span.high:.1f}{UNITS[what] or ' 1e-7/K'}"


def _sources(account: Account) -> Iterator[Entry]:
    made_up = set(account.fired.invented)
    for name, found in sources(account):
        told = "; ".join(found)
        if name in made_up:
            less, more = (f"{factor:f}" for factor in LESS_OR_MORE)
            told = (
                f"made up; each oxide taken at {less} to {more} times as much, an assumption of this program"
            )
        yield Entry(told, name)


def _between(one: Range | None, decimals: int) -> str:
    return "-" if one is None else figures.between(one.low, one.high, decimals)
