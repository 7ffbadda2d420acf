"""A batch that was weighed on paper: its sheet is asked for line by line, or read from a table."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Final, TypeVar

import click

from glost.cli import UNUSABLE
from glost.cli.common import standard_input
from glost.cli.entries import Entries
from glost.cli.errors import sentence, show_error, usage_error
from glost.cli.tests_option import the_test
from glost.language.source import DecodeError, decode
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import Finding
from glost.linter.reporters.plain import visible
from glost.output.batch_sheet import BatchSheet, batch_sheet
from glost.output.format import Job
from glost.output.paper_record import (
    MEANT,
    MOST_TEXT,
    Answer,
    Asked,
    Said,
    answer_of,
    answers_in,
    asked_of,
    record_of,
)
from glost.records.record import Record, read_day, read_mass
from glost.workspace.files import read_bytes
from glost.workspace.git.asked_revisions import Revisions
from glost.workspace.load import Usable, job_of
from glost.workspace.paths import STANDARD_INPUT

Answered = TypeVar("Answered")
OFF_TARGET: Final = "off-target"
"""What is told of a mass that is out of tolerance, as a finding."""


def from_sheet(
    path: str, label: str | None, batch: Decimal | None, table: str | None, said: Mapping[str, str | None]
) -> tuple[Record, list[Finding]] | int:
    """The record of one sheet, with what is to be told of the table it comes from; or the exit status where there is
    none. Raises UsageError."""
    if table == STANDARD_INPUT and path == STANDARD_INPUT:
        raise click.UsageError("standard input (-) can be the recipe or the table, not both.")
    entries = Entries([path], "not recorded")
    try:
        entry = entries.one()
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if entry is None:
        return entries.status
    job, sheet = _sheet_of(entry, entries, label, batch)
    try:
        asked = asked_of(job, sheet)
        if table is None:
            return _ask(job, sheet, asked, said), []
        data = standard_input() if table == STANDARD_INPUT else read_bytes(Path(table))
        answers = answers_in(decode(data, check="check that it is the table that you mean"), asked)
        return record_of(job, sheet, answers, _said(said)), list(_doubts(table, asked, answers))
    except (DecodeError, ValueError) as error:
        show_error(error, f"{visible(table or path)}: not recorded")
        return UNUSABLE


def _sheet_of(
    entry: Usable, entries: Entries, label: str | None, batch: Decimal | None
) -> tuple[Job, BatchSheet]:
    test = the_test(entry, label)
    revisions = Revisions(entries.found, entries.collections.root_of)
    job = replace(
        job_of(entry, batch),
        batch_g=batch,
        revision=revisions.of(entry.path),
        used=revisions.used(entry.recipe),
    )
    return job, batch_sheet(job, test)


def _doubts(table: str, asked: list[Asked], answers: list[Answer]) -> Iterator[Finding]:
    """What stands against the masses in a table, where each stands."""
    for one, answer in zip(asked, answers, strict=True):
        doubt = one.doubt(answer)
        if doubt and answer.at is not None:
            line, column, end, text = answer.at
            yield Finding(
                table,
                line,
                column,
                line,
                end,
                OFF_TARGET,
                "warning",
                f"{one.name}: {doubt}",
                f"it is recorded as it stands; if it is meant, write  {answer.mass_g:f} {MEANT}  here; if it is a slip,"
                " correct it, take the file away that was recorded just now, and record the sheet again",
                text,
            )


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")


def _said(said: Mapping[str, str | None]) -> Said:
    """What the options say. Raises UsageError."""
    given = {name: (text or "").strip() for name, text in said.items()}
    for name, text in given.items():
        if len(text) > MOST_TEXT:
            raise click.UsageError(
                f"--{name.replace('_', '-')} holds {len(text):,} signs; {MOST_TEXT:,} are kept."
            )
    now = _now()
    try:
        day = read_day(given["day"]) if given["day"] else now[:10]
        water = _grams(given["water"]) if given["water"] else None
    except ValueError as error:
        raise usage_error(error) from None
    return Said(
        recorded_at=now,
        day=day,
        person=given["person"],
        project=given["project"],
        water_g=water,
        remarks=given["remarks"],
        checked_by=given["checked_by"],
    )


def _grams(text: str) -> Decimal:
    return read_mass(re.sub(r"\s*g$", "", text.strip()).replace(",", "."))


# ---- line by line ----------------------------------------------------------------------------------------


def _ask(job: Job, sheet: BatchSheet, asked: list[Asked], said: Mapping[str, str | None]) -> Record:
    """Asks at the terminal, on standard error. Raises Abort where the answers end early: nothing is recorded then."""
    checked = _said(said)
    _show(f"{visible(sheet.name)}: {visible(sheet.mass)}")
    _show("Enter: ticked, on target. Grams: as it was read. -: not weighed.")
    answers = [_answer(one) for one in asked]

    def text(name: str, words: str, default: str = "") -> str:
        given = said.get(name)
        if given is not None:
            return given.strip()
        return _prompt(f"{words} [{default}]" if default else words, default)

    return record_of(
        job,
        sheet,
        answers,
        replace(
            checked,
            day=_until(lambda: read_day(text("day", "weighed on", checked.day))),
            person=text("person", "weighed by"),
            project=text("project", "project"),
            water_g=_until(lambda: _water(text("water", "water poured in, grams"))),
            checked_by=text("checked_by", "checked by"),
            remarks=text("remarks", "remarks"),
        ),
    )


def _water(text: str) -> Decimal | None:
    return _grams(text) if text else None


def _answer(asked: Asked) -> Answer:
    target = f"{asked.target_g:f}"
    words = f"{visible(asked.name)}, {target} g"

    answer = _until(lambda: answer_of(_prompt(words), asked))
    # A figure that is given twice is meant.
    while doubt := asked.doubt(answer):
        before = answer
        written = f"{before.mass_g:f}"
        again = f"  {doubt}\n  Enter if it is meant, else the right figure [{written}]"
        answer = _until(partial(_answer_again, again, written, asked))
        if answer == before:
            break
    lot = _prompt("  lot")[:MOST_TEXT] if answer.mass_g is not None else ""
    return answer._replace(lot=lot)


def _answer_again(words: str, written: str, asked: Asked) -> Answer:
    return answer_of(_prompt(words, written), asked)


def _prompt(words: str, default: str = "") -> str:
    return str(click.prompt(words, default=default, show_default=False, err=True)).strip()


def _show(text: str) -> None:
    click.echo(text, err=True)


def _until(ask: Callable[[], Answered]) -> Answered:
    """What somebody answers, once it can be taken."""
    while True:
        try:
            return ask()
        except ValueError as error:
            _show(f"  {sentence(error)}")
