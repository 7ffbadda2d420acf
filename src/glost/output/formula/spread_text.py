"""The table of a test with the whole range of every figure, for a person."""

from __future__ import annotations

from collections.abc import Iterator

from glost.chemistry.bracket import LESS_OR_MORE
from glost.chemistry.ranges import Range
from glost.chemistry.unity import group_of
from glost.output import figures
from glost.output.escape import visible
from glost.output.formula.account import Account
from glost.output.formula.granted import UNITS, sources
from glost.output.formula.text import GROUP_NAMES, wrapped
from glost.output.formula.text import part as plain_part

_LABEL = 20
_WIDTH = 24


def part(account: Account) -> str:
    """The table of one test, and below it the ranges."""
    return plain_part(account) + "".join(f"{line}\n" for line in _lines(account))


def _lines(account: Account) -> Iterator[str]:
    ranges = account.ranges
    yield ""
    if ranges is None:
        yield "  Spread: none; every material is counted as the one thing that it is."
        return
    yield from wrapped(
        "Spread: each material as any of the analyses held of it, or any mixture of them; ends rounded outwards.",
        2,
    )
    if account.fired.unknown:
        yield from wrapped("What is unknown may be any oxide, or nothing that stays.", 2)
    yield ""
    heads = "".join(f"{head:>{_WIDTH}}" for head in ("unity", "fired wt %", "mol %"))
    yield f"  {'':<8} {'':<7}{heads}"
    group = ""
    for oxide, weight in ranges.weight_percent.items():
        name = GROUP_NAMES[group_of(oxide)]
        cells = (
            _between(ranges.unity.get(oxide), 3),
            _between(weight, 2),
            _between(ranges.mol_percent.get(oxide), 2),
        )
        row = "".join(f"{cell:>{_WIDTH}}" for cell in cells)
        yield f"  {name if name != group else '':<8} {oxide:<7}{row}"
        group = name
    yield ""
    for label, one, decimals, unit in (
        ("SiO2 : Al2O3", ranges.ratio, 2, ""),
        ("R2O", ranges.alkali if account.choice.on == "flux" else None, 2, ""),
        ("loss on ignition", ranges.loss, 2, " %"),
    ):
        if one is not None:
            yield f"  {label:<{_LABEL}}{_between(one, decimals)}{unit}"
    for what, span in account.spans.items():
        unit = UNITS[what] or " 1e-7/K"
        yield f"  {what:<{_LABEL}}{figures.between(*span.decimals(), 1)}{unit}"
    yield ""
    made_up = set(account.fired.invented)
    for name, found in sources(account):
        said = "; ".join(found)
        if name in made_up:
            less, more = (f"{factor:f}" for factor in LESS_OR_MORE)
            said = (
                f"made up; each oxide taken at {less} to {more} times as much, an assumption of this program"
            )
        yield from wrapped(f"{visible(name)}: {visible(said)}", 2, 4)


def _between(one: Range | None, decimals: int) -> str:
    return "-" if one is None else figures.between(one.low, one.high, decimals)
