"""Many cups as a page of GitHub-flavoured Markdown: what the plain text says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from glost.output.batch_sheet import LISTED, RESTRICTED, SILENT, UNKNOWN
from glost.output.model.markdown import escaped
from glost.output.session import words as words
from glost.output.session.session import BenchSession
from glost.weighing.batch import Weighing


def markdown(made: BenchSession) -> str:
    return "\n".join(_lines(made)) + "\n"


def _lines(made: BenchSession) -> Iterator[str]:
    yield f"# {escaped(words.title(made))}"
    for error in words.errors(made):
        yield from ("", f"> **Attention**: {escaped(error)}")
    yield from ("", "## Set out", "")
    for word, said in words.set_out(made):
        yield f"- **{word}**: {escaped(said)}" if word else f"- {escaped(said)}"
    yield from ("", "## Cups", "")
    yield from _table(
        ("cup", "test", "base g", "in all g", "water"),
        "><>><",
        (
            (
                f"{cup.number}",
                escaped(cup.said),
                f"{cup.planned.plan.base_target_g:f}",
                f"{cup.planned.plan.total_target_g:f}",
                words.water_of(cup),
            )
            for cup in made.cups
        ),
    )
    for remark in (*words.twins(made), *words.on_top(made), *words.outside(made)):
        yield from ("", f"> **Attention**: {escaped(remark)}")
    yield from _care(made)
    yield from ("", f"## Fetch, with {words.margin(made)} % more than the sum of the sheets", "")
    yield from _table(
        ("", "material", "grams", "fetch", "cups"),
        "<<>>>",
        (
            (
                "☐",
                escaped(jar.pull.material),
                f"{jar.pull.total_g:f}",
                f"{jar.pull.with_margin_g:f}",
                f"{jar.pull.cups}",
            )
            for jar in made.jars
        ),
    )
    if made.shared:
        yield from ("", "## Bases to mix once", "", words.SHARED_SAID)
        for base in made.shared:
            yield from ("", f"**{escaped(words.shared_said(made, base))}**", "")
            yield from _weighings(base.mix.lines)
            yield from ("", f"Divide: {words.divide(made, base)}")
    yield from ("", f"## {words.JARS}", "", words.JARS_SAID)
    for jar in made.jars:
        said = words.jar_said(jar)
        yield from ("", f"### {escaped(jar.opening.material)}, {jar.opening.total_g:f} g", "")
        if said:
            yield from (escaped(said), "")
        yield from _table(
            ("", "cup", "test", "grams", "on", "into", "then"),
            "<><><<>",
            (
                (
                    _tick(pour.within),
                    f"{made.number_of(pour.label)}",
                    escaped(made.cup_of(pour.label).said),
                    f"{pour.target_g:f}",
                    escaped(pour.balance.name) if pour.balance else "",
                    words.into(made, pour.label, pour.vessel, pour.number, pour.of),
                    "" if pour.running_total_g is None else f"{pour.running_total_g:f}",
                )
                for pour in jar.opening.pours
            ),
        )
    yield from ("", "## Cup by cup", "", words.CUPS_SAID)
    for cup in made.cups:
        total = f"{cup.planned.plan.total_target_g:f} g, water {words.water_of(cup)}"
        yield from ("", f"### Cup {cup.number}: {escaped(cup.said)}", "", total, "")
        yield from _weighings([line for line in cup.planned.plan.lines if line.exact_g])
    yield from _statements(made)


def _weighings(lines: Sequence[Weighing]) -> Iterator[str]:
    return _table(
        ("", "material", "grams", "on", "into", "total"),
        "<<><<>",
        (
            (
                _tick(line.within),
                escaped(line.material),
                f"{one.target_g:f}",
                escaped(line.balance.name) if line.balance else "",
                where,
                words.running(one),
            )
            for line, one, where in words.pours_of(lines)
        ),
    )


def _tick(within: bool) -> str:
    return "☐" if within else "☐ **!**"


def _table(heads: Sequence[str], signs: str, rows: Iterable[Sequence[str]]) -> Iterator[str]:
    yield _cells(heads)
    yield _cells(["---:" if sign == ">" else "---" for sign in signs])
    for row in rows:
        yield _cells(row)


def _cells(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _care(made: BenchSession) -> Iterator[str]:
    hazards = made.hazards
    yield from ("", "## Handling and cautions, before a jar is opened", "")
    for name, what in hazards.restricted:
        yield f"- **{escaped(name)}: restricted ({escaped(what)}).** {RESTRICTED}"
    if hazards.unknown:
        yield f"- **{UNKNOWN}: {', '.join(map(escaped, hazards.unknown))}.**"
    for caution in made.cautions:
        named = f"{', '.join(map(escaped, caution.materials))}: " if caution.materials else ""
        yield f"- {named}{escaped(caution.text)}"
    for house in (False, True):
        those = [said for said in made.handling if said.note.house == house]
        if those:
            yield from ("", f"### {'House handling notes' if house else 'Handling notes of the recipes'}", "")
        for note, recipe in those:
            by = f" ({escaped(recipe)})" if recipe else ""
            yield f"- {', '.join(map(escaped, note.names))}: {escaped(note.text)}{by}"


def _statements(made: BenchSession) -> Iterator[str]:
    hazards = made.hazards
    if hazards.listed:
        yield from ("", f"## {LISTED}", "")
        for listed in hazards.listed:
            yield f"- {escaped(listed.material)}: {' '.join(listed.codes)} ({escaped(listed.cited)})"
        yield ""
        for code, said in hazards.texts:
            yield f"- {code}: {escaped(said)}"
    if hazards.silent:
        yield from ("", f"{SILENT}: {', '.join(map(escaped, hazards.silent))}")
