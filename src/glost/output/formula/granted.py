"""What a formula took for granted, in words: what is counted as what, and how far that moves the figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final, NamedTuple

from glost.chemistry.ranges import Range
from glost.output import figures
from glost.output.formula.account import Account
from glost.recipe.fields import atmospheres_in

_TOLD: Final = 3
"""Oxides whose range is told on the page; ``--spread`` shows all."""
_MOVES: Final = Decimal("0.01")
"""Equivalents by which an oxide must move to be told."""
_SOME_IRON: Final = Decimal("0.5")
"""Percent by mass of the fired glaze from which on it is said what iron is counted as."""
UNITS: Final = {"expansion": "", "fusibility": " °C"}


class Granted(NamedTuple):
    """``ideal``: materials counted as the formula of a pure mineral. ``typical``: those counted as one typical
    analysis. ``invented``: those whose composition is made up. ``unknown``: those left out, little of each.
    ``additions``: whether any are counted."""

    ideal: tuple[str, ...]
    typical: tuple[str, ...]
    invented: tuple[str, ...]
    unknown: tuple[str, ...]
    additions: bool


def granted(account: Account) -> Granted:
    """What the account of a test took for granted."""
    fired = account.fired
    return Granted(
        tuple(name for name, ideal in fired.brackets if ideal),
        tuple(name for name, ideal in fired.brackets if not ideal),
        fired.invented,
        tuple(dict.fromkeys(one.name for one in fired.unknown)) if fired.nearly_known else (),
        any(part.parts for part in fired.test.additions),
    )


def sentences(account: Account) -> tuple[str, ...]:
    """What was taken for granted, and how far it moves the figures; () where nothing was."""
    taken = granted(account)
    said: list[str] = []
    counted: list[str] = []
    if taken.ideal:
        as_what = "an ideal mineral" if len(taken.ideal) == 1 else "ideal minerals"
        counted.append(f"{_listed(taken.ideal)} as {as_what}")
    if taken.typical:
        counted.append(f"{_listed(taken.typical)} as typical")
    if counted:
        said.append(", ".join(counted))
    if taken.additions:
        said.append("additions counted")
    iron = account.choice.iron
    if account.fired_weight.get(iron, Decimal(0)) >= _SOME_IRON or iron != "Fe2O3":
        said.append(f"iron as {iron}{_nearer(account, iron)}")
    if not said and not taken.unknown and not taken.invented:
        return ()
    moved = _moved(account)
    return (*said, *([moved] if moved else []))


def _nearer(account: Account, iron: str) -> str:
    """What iron is nearer to in the fire that the page names, and how to ask for it."""
    said = str(account.test.recipe.fields.get("atmosphere", ""))
    reduces = iron == "Fe2O3" and "reduction" in atmospheres_in(said)
    return " (in reduction it is nearer to FeO: --iron FeO)" if reduces else ""


def made_up(account: Account) -> str:
    """The word of caution beside every result that rests on a composition of no real material; "" for none."""
    names = account.fired.invented
    if not names:
        return ""
    return (
        f"MADE UP: {_listed(names)}. No real composition is held of {'it' if len(names) == 1 else 'them'}, and the "
        "figures rest on an invented one; enter the supplier's analysis in materials.yaml."
    )


def _moved(account: Account) -> str:
    ranges = account.ranges
    if ranges is None or not account.fired.nearly_known:
        return ""
    wide = sorted(
        (-_width(one), at, oxide, one)
        for at, (oxide, one) in enumerate(ranges.unity.items())
        if _width(one) >= _MOVES
    )[:_TOLD]
    told = [
        f"{oxide} {figures.between(one.low, one.high, 2)}"
        for _, at, oxide, one in sorted(wide, key=lambda r: r[1])
    ]
    told += [
        f"{what} {figures.between(*span.decimals(), 0)}{UNITS[what]}"
        for what, span in account.spans.items()
        if f"{span.low:.0f}" != f"{span.high:.0f}"
    ]
    if not told:
        return "what else is possible moves no oxide of the formula by 0.01"
    return f"possible are {', '.join(told)}"


def _width(one: Range) -> Decimal:
    return one.high - one.low if one.high is not None else Decimal(1000)


def _listed(names: Iterable[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def sources(account: Account) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each material that may be something else, with the sources of what it may be."""
    melt = account.fired.melt
    seen: set[str] = set()
    for line in melt.lines if melt else ():
        if line.material in seen or not line.corners:
            continue
        seen.add(line.material)
        yield line.material, tuple(dict.fromkeys(one.source for one in line.corners))
