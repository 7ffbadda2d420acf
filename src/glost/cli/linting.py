"""A run of the linter over files, and its reports. The command-line library is not needed for it."""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from operator import attrgetter
from pathlib import Path
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.cli import CLEAN, FINDINGS, UNUSABLE, colours
from glost.cli.baselines import hold_back, write_baselines
from glost.cli.common import number_of, show_worker_lost
from glost.cli.errors import show_error
from glost.cli.progress import counted
from glost.cli.streams import note, put_beside, put_text, say
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError
from glost.linter import baseline
from glost.linter.finding import (
    ERROR,
    HINT,
    LEVELS,
    SYNTAX,
    UNREADABLE,
    WARNING,
    Finding,
    findings_of,
    unreadable,
)
from glost.linter.report import CrossCheck, Report
from glost.linter.reporters import plain
from glost.workspace.collection import Collections
from glost.workspace.paths import display
from glost.workspace.runs.lint import lint_files
from glost.workspace.runs.lint_options import LintOptions
from glost.workspace.runs.processes import WorkerLostError

Reporter = Callable[[Sequence[Finding]], Iterable[str]]
"""What makes a report, piece by piece: that of a hundred thousand findings is never held whole."""
Outputs: TypeAlias = Sequence[tuple[str, str | None]]
"""Forms of report, and the file that each goes to; None is standard output."""
BaselineUse: TypeAlias = Literal["hold back", "write", "prune"]
"""What a run does with the baselines: leaves their findings out, writes them anew, or takes out what no longer occurs,
and leaves out the rest."""


class Reporting(NamedTuple):
    """How a run is reported. ``strict``: warnings fail it too. ``level``: what is less than that is counted only."""

    outputs: Outputs = (("text", None),)
    strict: bool = False
    level: str = HINT


AS_TEXT: Final = Reporting()


def _json() -> Reporter:
    from glost.linter.reporters.as_json import as_json

    return as_json


def _sarif() -> Reporter:
    from glost.linter.reporters.sarif import sarif

    return sarif


def _github() -> Reporter:
    from glost.linter.reporters.github import github

    return github


def _gitlab() -> Reporter:
    from glost.linter.reporters.gitlab import gitlab

    return gitlab


def _jsonl() -> Reporter:
    from glost.linter.reporters.as_json import as_jsonl

    return as_jsonl


def _junit() -> Reporter:
    from glost.linter.reporters.junit import junit

    return junit


def _counts() -> Reporter:
    from glost.linter.reporters.counts import counts

    return counts


OUTPUTS: dict[str, Callable[[], Reporter]] = {
    "text": lambda: plain.blocks,
    "line": lambda: plain.lines,
    "json": _json,
    "sarif": _sarif,
    "github": _github,
    "gitlab": _gitlab,
    "jsonl": _jsonl,
    "junit": _junit,
    "counts": _counts,
}


def lint(
    chosen: Sequence[Path],
    collections: Collections,
    wish: LintOptions,
    others: Sequence[Path] = (),
    reporting: Reporting = AS_TEXT,
    baselines: BaselineUse = "hold back",
    workers: int | None = None,
) -> int:
    """Looks at files and reports what is found there, but for what the baselines hold back; or, where that is asked,
    writes it into the baselines. ``others`` are compared with them, and not reported on. The exit status."""
    from glost.workspace.outputs import OutputError

    try:
        findings = _findings_of(chosen, collections, wish, others, workers)
        if baselines == "write":
            return write_baselines(findings, chosen, wish, collections)
        held = hold_back(findings, chosen, wish, collections, baselines == "prune")
    except OutputError as error:
        show_error(error)
        return UNUSABLE
    except ConfigError as error:
        show_error(error)
        return report_failure(findings_of(error), reporting.outputs)
    except WorkerLostError:
        show_worker_lost()
        return report_failure(
            [
                unreadable(
                    ".", DecodeError("the run was ended from outside before it was done", "run it again")
                )
            ],
            reporting.outputs,
        )
    status = report(held, len(chosen), reporting, note if wish.only_show else say)
    if ("text", None) in reporting.outputs and _wants_house_notes(held.new, collections):
        note(_HOUSE_NOTES)
    return status


_HOUSE_NOTES = (
    "a house note in glost.yaml answers missing-handling-note for every recipe at once; there is no glost.yaml here:"
    " glost new --collection begins one\n"
)
_OFTEN = 3
"""Findings of one rule from which on it is worth saying that there is one answer to all of them."""


def _wants_house_notes(findings: Sequence[Finding], collections: Collections) -> bool:
    alone: dict[str, bool] = {}  # by folder, since there are fewer of them than findings

    def is_alone(file: str) -> bool:
        folder = file.rpartition(os.sep)[0]
        if folder not in alone:
            alone[folder] = collections.root_of(Path(file)) is None
        return alone[folder]

    missing = (one for one in findings if one.rule == "missing-handling-note" and is_alone(one.file))
    return sum(1 for _ in islice(missing, _OFTEN)) == _OFTEN


def _findings_of(
    chosen: Sequence[Path],
    collections: Collections,
    wish: LintOptions,
    others: Sequence[Path],
    workers: int | None,
) -> list[Finding]:
    """The findings of all files; recipes are compared with those of their own collection, and against ``others``.
    Raises ConfigError, WorkerLostError."""
    found = CrossCheck()
    for looked in counted(lint_files(chosen, wish, collections, workers), "checked", len(chosen)):
        if looked.changes is not None:
            from glost.cli.fixes import tell_changes

            tell_changes(display(looked.path), looked.changes, wish.only_show)
        found.add(looked.report, collections.root_of(looked.path))
    for looked in lint_files(others, wish._replace(fix=False, rescale=False), collections, workers):
        found.add(Report([], looked.report.facts), collections.root_of(looked.path))
    findings = found.findings()
    if others:
        asked = {display(path) for path in chosen}
        findings = [finding for finding in findings if finding.file in asked]
    if not any(finding.rule == SYNTAX for finding in findings):
        return findings
    from glost.cli.line_breaks import told_once

    return told_once(findings)


def report(
    held: baseline.Held,
    count: int,
    reporting: Reporting,
    tell: Callable[[str], None],
) -> int:
    """Reports the findings on so many recipes, in every form asked for; the exit status. ``tell`` is what text goes
    through that has no file of its own."""
    outputs, strict, level = reporting
    status = _status(held.new, strict)
    reported = LEVELS[: LEVELS.index(level) + 1]
    left_out = [finding for finding in held.new if finding.level not in reported]
    held = held._replace(new=[finding for finding in held.new if finding.level in reported])
    for form, file in outputs:
        if form == "text" and file is None and tell is say and colours.are_wanted(sys.stdout):
            for text in _joined(plain.blocks(held.new, colours.level)):
                say(text, in_colour=True)
            continue
        texts = _joined(OUTPUTS[form]()(held.new))
        if file is not None:
            status = status if _write_report(Path(file), texts) else UNUSABLE
            continue
        put = tell if form in ("text", "line", "counts") else put_text if tell is say else put_beside
        for text in texts:
            put(text)
    if any(form == "text" and file is None for form, file in outputs):
        if held.new:
            tell("\n")
        note(_summary(held, count) + "\n")
        if left_out:
            note(f"not shown: {_counted(left_out)}, below --level {level}\n")
    return status


def report_failure(why: Sequence[Finding], outputs: Outputs) -> int:
    """Reports that a run could not be made, in every form that a program reads and in every file, so that no old report
    there passes for an answer; what a person reads on the terminal has been said. The exit status."""
    for form, file in outputs:
        text = "".join(OUTPUTS[form]()(why))
        if file is not None:
            # An earlier report gives way to this one; nothing else does, whatever is asked for.
            _write_report(Path(file), iter([text]), form)
        elif form not in ("text", "line"):
            put_text(text)
    return UNUSABLE


_PIECES = 500
"""Pieces of a report that are handed on at once: one by one they cost more than what they say."""


def _joined(pieces: Iterable[str]) -> Iterator[str]:
    """A report in fewer pieces."""
    left = iter(pieces)
    while some := list(islice(left, _PIECES)):
        yield "".join(some)


def _write_report(file: Path, texts: Iterator[str], form: str = "") -> bool:
    """``form``: what lies there must be a report of that form, or nothing; without it, that was looked at before."""
    from glost.linter.reporters.marks import MARKS
    from glost.workspace.outputs import ANY, OneOutput, OutputError

    try:
        if file.exists() and not file.is_file():
            # A pipe or a device is written to; a file put in its place would take it away from everybody.
            with file.open("w", encoding="utf-8", newline="") as opened:
                opened.writelines(texts)
        else:
            OneOutput(file, MARKS[form] if form else ANY, force=not form).write(texts)
    except OutputError as refused:
        show_error(refused)
        return False
    except OSError as error:
        note(f"{plain.visible(str(file))} could not be written: {error.strerror}\n")
        return False
    return True


def _counted(findings: Sequence[Finding]) -> str:
    """Such as "2 errors, 1 hint"."""
    counts = Counter(map(attrgetter("level"), findings))
    return ", ".join(number_of(counts[level], level) for level in LEVELS if counts[level])


def _summary(held: baseline.Held, count: int) -> str:
    parts = [f"{number_of(count, 'recipe')} checked"]
    findings = held.new
    if findings:
        fixable = sum(bool(finding.edits) for finding in findings)
        offer = f"; {fixable} can be fixed with --fix" if fixable else ""
        parts[0] += f": {_counted(findings)}{offer}"
    else:
        parts[0] += ", nothing new found" if held.known else ", nothing found"
    if held.known:
        parts.append(f"{number_of(held.known, 'known finding')} held back by {baseline.FILE}")
    if held.gone:
        gone = sum(number for _, number in held.gone)
        parts.append(
            f"{number_of(gone, 'finding')} of {baseline.FILE} no longer occur{'s' if gone == 1 else ''}; "
            "glost lint --prune takes that out:"
        )
        parts += (
            f"  {plain.visible(file)}: {rule}: {plain.visible(text)}"
            for (file, rule, text), _ in held.gone[:20]
        )
    return "\n".join(parts)


def _status(findings: Sequence[Finding], strict: bool) -> int:
    if any(finding.rule == UNREADABLE for finding in findings):
        return UNUSABLE
    failing = (ERROR, WARNING) if strict else (ERROR,)
    return FINDINGS if any(finding.level in failing for finding in findings) else CLEAN
