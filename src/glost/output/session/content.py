"""What a session says, for every medium: one table for all cups, one a jar and one a cup."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from glost.output import care
from glost.output.board import MAP, Cup, maps_of
from glost.output.model import Column, Heading, Node, Paragraph, Row, Section, Table, Terms, Tick
from glost.output.session import words
from glost.output.session.session import BenchSession, Jar, Numbered
from glost.weighing.batch import Weighing


def content(made: BenchSession) -> Iterator[Node]:
    """The whole report."""
    yield Heading(words.title(made), 1)
    yield from errors(made)
    yield Section("", [Heading("Set out"), Terms(list(words.set_out(made)))])
    yield Section("", list(_cups(made)))
    yield care_with(made)
    yield from before_the_jars(made)
    by_jar: list[Node] = [
        Heading(words.JARS),
        Paragraph(words.JARS_SAID),
        *(_jar(made, jar) for jar in made.jars),
    ]
    by_cup: list[Node] = [
        Heading(words.CUPS),
        Paragraph(words.CUPS_SAID),
        *(_cup(made, cup) for cup in made.cups),
    ]
    yield Section("orders", [Section("", by_jar), Section("", by_cup)])
    yield statements(made)


def errors(made: BenchSession) -> Iterator[Node]:
    """What is wrong with the pages, to stand above all else."""
    yield from (Paragraph(error, "attention") for error in words.errors(made))


def beforehand(made: BenchSession) -> Iterator[Node]:
    """What is looked at before a cup is filled, where the cups themselves stand in a map."""
    if remarks := [Paragraph(remark, "attention") for remark in _remarks(made)]:
        yield Section("remarks", [Heading("Look at these cups first"), *remarks])
    yield care_with(made)


def care_with(made: BenchSession) -> Section:
    return Section(
        "care",
        [
            Heading("Handling and cautions, before a jar is opened"),
            care.cautions(made.hazards, made.cautions),
            *care.notes(made.handling, "Handling notes of the recipes"),
        ],
    )


def statements(made: BenchSession) -> Section:
    return Section("statements", list(care.statements(made.hazards)))


def before_the_jars(made: BenchSession) -> Iterator[Node]:
    """What is fetched and mixed before a cup is filled."""
    yield Section("fetch", list(_fetch(made)))
    if made.shared:
        yield Section("shared", list(_shared(made)))


def _remarks(made: BenchSession) -> Iterator[str]:
    yield from (*words.twins(made), *words.on_top(made), *words.outside(made))


def _cups(made: BenchSession) -> Iterator[Node]:
    yield Heading("Cups")
    yield Table(
        [
            Column("cup", True),
            Column("test"),
            Column("base g", True),
            Column("in all g", True),
            Column("water"),
        ],
        [
            Row(
                (
                    f"{cup.number}",
                    cup.said,
                    f"{cup.planned.plan.base_target_g:f}",
                    f"{cup.planned.plan.total_target_g:f}",
                    words.water_of(cup),
                )
            )
            for cup in made.cups
        ],
    )
    yield from (Paragraph(remark, "attention") for remark in _remarks(made))
    for mapped in maps_of(Cup(cup.test, cup.number) for cup in made.cups):
        yield Heading(f"{MAP}: {mapped.title}")
        yield Terms([("shape", mapped.shape), *mapped.corners])
        yield mapped.map


def _fetch(made: BenchSession) -> Iterator[Node]:
    yield Heading(f"Fetch, with {words.margin(made)} % more than the sum of the sheets")
    yield Table(
        [
            Column(""),
            Column("material"),
            Column("grams", True),
            Column("fetch", True, strong=True),
            Column("cups", True),
            Column("on hand"),
        ],
        [
            Row(
                (
                    Tick(f"{jar.pull.material} fetched", jar in made.short),
                    jar.pull.material,
                    f"{jar.pull.total_g:f}",
                    f"{jar.pull.with_margin_g:f}",
                    f"{jar.pull.cups}",
                    words.on_hand(made, jar),
                )
            )
            for jar in made.jars
        ],
    )
    yield from (Paragraph(text, "attention") for text in words.short(made))


def _shared(made: BenchSession) -> Iterator[Node]:
    yield from (Heading("Bases to mix once"), Paragraph(words.SHARED_SAID))
    for base in made.shared:
        yield Heading(words.shared_said(made, base), 3)
        yield _weighings(base.mix.lines, "the shared base", len(made.balances) > 1)
        yield Paragraph(words.divide(made, base), lead="Divide")


def _jar(made: BenchSession, jar: Jar) -> Section:
    opening = jar.opening
    several = len(made.balances) > 1
    about = words.jar_said(jar)
    table = Table(
        [
            Column(""),
            Column("cup", True),
            Column("test"),
            Column("grams", True, strong=True),
            Column("on"),
            Column("into"),
            Column("then", True),
        ],
        [
            Row(
                (
                    Tick(f"{opening.material} into cup {made.number_of(pour.label)}", not pour.within),
                    f"{made.number_of(pour.label)}",
                    made.cup_of(pour.label).said,
                    f"{pour.target_g:f}",
                    pour.balance.name if several and pour.balance else "",
                    words.into(made, pour.label, pour.vessel, pour.number, pour.of),
                    "" if pour.running_total_g is None else f"{pour.running_total_g:f}",
                )
            )
            for pour in opening.pours
        ],
    )
    heading = Heading(f"{opening.material}, {opening.total_g:f} g in all", 3)
    return Section("jar", [heading, *([Paragraph(about, "aside")] if about else ()), table])


def _cup(made: BenchSession, cup: Numbered) -> Section:
    plan = cup.planned.plan
    return Section(
        "one",
        [
            Heading(f"Cup {cup.number}: {cup.said}", 3),
            Paragraph(f"{plan.total_target_g:f} g, water {words.water_of(cup)}", "aside"),
            _weighings(
                [line for line in plan.lines if line.exact_g], f"cup {cup.number}", len(made.balances) > 1
            ),
        ],
    )


def _weighings(lines: Sequence[Weighing], vessel: str, several: bool) -> Table:
    """What goes into one vessel. ``several``: more than one balance is set out, so that each line names its own."""
    return Table(
        [
            Column(""),
            Column("material"),
            Column("grams", True, strong=True),
            Column("on"),
            Column("into"),
            Column("total", True),
        ],
        [
            Row(
                (
                    Tick(f"{line.material} into {vessel}", not line.within),
                    line.material,
                    f"{one.target_g:f}",
                    line.balance.name if several and line.balance else "",
                    where,
                    words.running(one),
                )
            )
            for line, one, where in words.pours_of(lines)
        ],
    )
