"""The working of a unity formula as a table that can be followed with a pocket calculator."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from glost.chemistry.steps import OxideStep, Working, working
from glost.output.formula.account import Account
from glost.output.formula.text import GROUP_NAMES, block, heading, shown
from glost.output.model import Column, Node, Paragraph, Row, Section, Table

ROUNDED = "Each figure is worked out from the figures printed before it and rounded there; a 5 goes up."


def part(account: Account) -> str:
    """The working of one test."""
    return shown(_nodes(account))


def _nodes(account: Account) -> Iterator[Node]:
    melt = account.fired.melt
    if melt is None:
        yield block(heading(account))
        return
    steps = working(melt, account.choice.convention, account.choice.on)
    yield block([*heading(account), Paragraph(ROUNDED)])
    yield from _chapter("1. Molar masses, g/mol", [(mass.formula, mass.how) for mass in steps.masses])
    yield from _chapter("2. What is weighed, parts by mass", list(_weighed(steps)))
    yield from _chapter(
        "3. Equivalents of each oxide that each line brings",
        [(f"{row.material}, {_of(row)}", row.how) for row in steps.oxides],
    )
    yield from _chapter("4. Added up", [(row.oxide, row.how) for row in steps.sums])
    yield from _chapter(_fifth(steps), list(_formula(steps)))
    yield from _chapter(
        "6. Fired composition, % by mass: equivalents × molar mass, then the share of all",
        [(row.oxide, f"{row.how}; {row.how_percent}") for row in steps.weights],
    )
    notes = [Paragraph(remark, "aside", "note") for remark in steps.remarks]
    yield from _chapter("7. Loss on ignition, %", list(_loss(steps)), notes)


def _weighed(steps: Working) -> Iterator[tuple[str, str]]:
    for row in steps.materials:
        if row.kind == "formula":
            said = f"{row.how}  {row.formula}"
        elif row.kind == "unknown":
            said = f"{row.parts:f}  unknown, and left out of all that follows"
        else:
            said = f"{row.parts:f}  {row.kind}: {row.source}"
        yield row.material, said


def _of(row: OxideStep) -> str:
    counted = f" counted as {row.oxide}" if row.constituent and row.constituent != row.oxide else ""
    return f"{row.constituent or row.oxide}{counted}"


def _fifth(steps: Working) -> str:
    what = "alumina" if steps.on == "alumina" else "the fluxes together"
    partial = "partial " if steps.unknown else ""
    return f"5. The {partial}unity formula: divided by {what}"


def _formula(steps: Working) -> Iterator[tuple[str, str]]:
    if steps.one is None:
        yield "", "none of the oxides counts, so that there is nothing to divide by"
        return
    yield "taken as 1", steps.how_one
    for row in steps.sums:
        kept = "" if row.counted or row.group != "RO" or steps.on != "flux" else "  not counted towards the 1"
        yield f"{GROUP_NAMES[row.group]:<8} {row.oxide}", f"{row.how_divided}{kept}"


def _loss(steps: Working) -> Iterator[tuple[str, str]]:
    for row in steps.losses:
        percent = f"{row.how_percent}; " if row.how_percent else f"{_plain(row.percent)} as stated; "
        yield row.material, f"{percent}{row.how}"
    if steps.losses:
        yield "all", steps.how_loss
    else:
        yield "", "nothing is lost"


def _plain(figure: Decimal) -> str:
    return f"{figure:f}"


def _chapter(
    title: str, rows: Sequence[tuple[str, str]], notes: Sequence[Paragraph] = ()
) -> Iterator[Section]:
    """A step. Its lines are never broken: each is one calculation, from left to right."""
    if rows:
        table = Table([Column(""), Column("", unbroken=True)], [Row(row) for row in rows])
        yield block([Paragraph(title), Section("", [table], inset=True), *notes])
