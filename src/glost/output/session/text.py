"""Many cups for a person at the bench, in plain text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from glost.language.width import padded, width
from glost.output.batch_sheet import LISTED, RESTRICTED, SILENT, UNKNOWN
from glost.output.escape import visible
from glost.output.model.text import COLUMNS, aligned, blocks, table, wrapped
from glost.output.session import words as words
from glost.output.session.session import BenchSession, Jar, Numbered
from glost.weighing.batch import Weighing
from glost.weighing.session import SharedBase

_LABEL = 12


def text(made: BenchSession) -> str:
    return "".join(f"{line}\n" for line in _lines(made))


def _lines(made: BenchSession) -> Iterator[str]:
    yield words.title(made)
    yield "=" * COLUMNS
    for error in words.errors(made):
        yield from wrapped(visible(error), 4, "!   ")
    yield from _head("Set out")
    for word, said in words.set_out(made):
        yield from wrapped(visible(said), _LABEL, f"  {padded(word, _LABEL - 2)}")
    yield from _head("Cups")
    yield from _cups(made)
    remarks = [*words.twins(made), *words.on_top(made), *words.outside(made)]
    for remark in remarks:
        yield from wrapped(visible(remark), 4, "!   ")
    yield from _care(made)
    yield from _head(f"Fetch (the sum of the sheets, and with {words.margin(made)} % more)")
    yield from table(
        ["", "grams", "fetch", "cups"],
        [
            [
                f"[ ] {visible(jar.pull.material)}",
                f"{jar.pull.total_g:f}",
                f"{jar.pull.with_margin_g:f}",
                f"{jar.pull.cups}",
            ]
            for jar in made.jars
        ],
        "<>>>",
    )
    if made.shared:
        yield from _head("Bases to mix once")
        yield from wrapped(words.SHARED_SAID)
        for base in made.shared:
            yield from ("", *_shared(made, base))
    yield from _head(words.JARS)
    yield from wrapped(words.JARS_SAID)
    for jar in made.jars:
        yield from ("", *_jar(made, jar))
    yield from _head("Cup by cup")
    yield from wrapped(words.CUPS_SAID)
    for cup in made.cups:
        yield from ("", *_cup(cup))
    yield from _statements(made)


def _head(said: str) -> list[str]:
    return ["", said, "-" * len(said)]


def _cups(made: BenchSession) -> list[str]:
    head, *rows = blocks(
        ["cup", "test", "base g", "in all g", "water"],
        [
            [
                f"{cup.number:>3}",
                _short(visible(cup.name), 40),
                f"{cup.planned.plan.base_target_g:f}",
                f"{cup.planned.plan.total_target_g:f}",
                words.water_of(cup),
            ]
            for cup in made.cups
        ],
        "<<>><",
    )
    lines = list(head)
    for row, cup in zip(rows, made.cups, strict=True):
        lines += [*row, *wrapped(visible(cup.sets), 7, " " * 7)]
    return lines


def _short(name: str, most: int) -> str:
    return name if width(name) <= most else f"{name[: most - 3]}..."


def _shared(made: BenchSession, base: SharedBase) -> Iterator[str]:
    yield from wrapped(words.shared_said(made, base))
    yield from _weighings(base.mix.lines, 0)
    yield from wrapped(f"divide: {words.divide(made, base)}", 12, "    ")


def _jar(made: BenchSession, jar: Jar) -> Iterator[str]:
    opening = jar.opening
    said = words.jar_said(jar)
    yield from wrapped(
        visible(f"{opening.material}, {opening.total_g:f} g in all{f' ({said})' if said else ''}"), 2, ""
    )
    numbers = aligned([f"{made.number_of(pour.label)}" for pour in opening.pours])
    grams = aligned([f"{pour.target_g:f}" for pour in opening.pours])
    then = aligned(
        ["" if pour.running_total_g is None else f"{pour.running_total_g:f}" for pour in opening.pours]
    )
    on = len(made.balances) > 1
    for at, pour in enumerate(opening.pours):
        on_which = f" on {visible(pour.balance.name)}" if on and pour.balance else ""
        tick = "[ ] " if pour.within else "[ ]!"
        where = words.into(made, pour.label, pour.vessel, pour.number, pour.of)
        said = f"then {then[at]} g" if pour.running_total_g is not None else where
        if pour.running_total_g is not None and where:
            said = f"{where}, {said}"
        shown = f"  {tick}cup {numbers[at]}  {grams[at]} g{on_which}   {said}   "
        said, room = visible(made.cup_of(pour.label).said), COLUMNS - width(shown)
        # What it sets stands whole or not at all; the list of cups above has it in any case.
        yield shown + (said if width(said) <= room else _short(visible(pour.label), max(12, room)))


def _cup(cup: Numbered) -> Iterator[str]:
    plan = cup.planned.plan
    yield from wrapped(
        visible(f"Cup {cup.number}: {cup.said}; {plan.total_target_g:f} g, water {words.water_of(cup)}"),
        2,
        "",
    )
    yield from _weighings([line for line in plan.lines if line.exact_g], 2)


def _weighings(lines: Sequence[Weighing], indent: int) -> list[str]:
    on = len({line.balance for line in lines}) > 1
    pours = list(words.pours_of(lines))
    into = any(where for _, _, where in pours)
    return table(
        ["", *(["into"] if into else []), *(["on"] if on else []), "grams", "total"],
        [
            [
                f"[ ]{' ' if line.within else '!'}{visible(line.material)}",
                *([where] if into else []),
                *([visible(line.balance.name) if line.balance else ""] if on else []),
                f"{one.target_g:f}",
                words.running(one),
            ]
            for line, one, where in pours
        ],
        f"<{'<' if into else ''}{'<' if on else ''}>>",
        indent,
    )


# ---- care ------------------------------------------------------------------------------------------------


def _care(made: BenchSession) -> Iterator[str]:
    yield from _head("Handling and cautions, before a jar is opened")
    hazards = made.hazards
    for name, what in hazards.restricted:
        yield from wrapped(f"{visible(name)}: restricted ({visible(what)}). {RESTRICTED}", 4, "  ! ")
    if hazards.unknown:
        yield from wrapped(f"{UNKNOWN}: {', '.join(map(visible, hazards.unknown))}.", 4, "  ! ")
    for caution in made.cautions:
        named = f"{', '.join(map(visible, caution.materials))}: " if caution.materials else ""
        yield from wrapped(named + caution.text, 4, "  - ")
    for house in (False, True):
        those = [said for said in made.handling if said.note.house == house]
        if those:
            yield from ("", "House handling notes" if house else "Handling notes of the recipes")
        for note, recipe in those:
            names = ", ".join(map(visible, note.names))
            by = f" ({visible(recipe)})" if recipe else ""
            yield from wrapped(f"{names}: {visible(note.text)}{by}", 4, "  - ")


def _statements(made: BenchSession) -> Iterator[str]:
    hazards = made.hazards
    if hazards.listed:
        yield from _head(LISTED)
        for listed in hazards.listed:
            yield from wrapped(
                f"{visible(listed.material)}: {' '.join(listed.codes)} [{visible(listed.cited)}]", 6, "  "
            )
        yield ""
        for code, said in hazards.texts:
            yield from wrapped(f"{code} {said}", 6, "  ")
    if hazards.silent:
        yield from ("", SILENT)
        yield from wrapped(", ".join(map(visible, hazards.silent)), 2, "  ")
