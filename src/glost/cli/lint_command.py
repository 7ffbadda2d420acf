"""glost lint."""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from glost.checking import Checker, Wish, look_at
from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.common import (
    WORKERS,
    MassType,
    files,
    keep_recipes,
    show_misread,
    show_worker_lost,
    standard_input,
)
from glost.cli.progress import counted
from glost.cli.streams import note, pass_on, put, say
from glost.collection import STANDARD_INPUT, display, unreadable
from glost.cores import WorkerLost
from glost.files import read_text, write_text
from glost.language.source import FIRST, Source, Unreadable, decode
from glost.lint import baseline
from glost.lint.engine import Report, collate, examine, mend
from glost.lint.finding import ERROR, HINT, SYNTAX, UNREADABLE, WARNING, Finding
from glost.lint.reporters import plain
from glost.lint.rule import find_rule, rule_names
from glost.yamlfile import Misread

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

Reporter = Callable[[Iterable[Finding]], str]


def _json() -> Reporter:
    from glost.lint.reporters.as_json import as_json

    return as_json


def _sarif() -> Reporter:
    from glost.lint.reporters.sarif import sarif

    return sarif


def _github() -> Reporter:
    from glost.lint.reporters.github import github

    return github


_OUTPUTS: dict[str, Callable[[], Reporter]] = {
    "text": lambda: plain.text,
    "line": lambda: plain.line,
    "json": _json,
    "sarif": _sarif,
    "github": _github,
}


class _OutputType(click.ParamType[tuple[str, str | None]]):
    """A form of report, and the file it goes to."""

    name = "output"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:
        return f"[{'|'.join(_OUTPUTS)}][=FILE]"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, str | None]:
        if isinstance(value, tuple):
            return value
        form, equals, file = str(value).partition("=")
        if form not in _OUTPUTS:
            self.fail(f"'{form}' is no form of report; the forms are {', '.join(_OUTPUTS)}.", param, ctx)
        if equals and not file:
            self.fail("the file's name is missing behind the equals sign.", param, ctx)
        return form, file or None

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        return [CompletionItem(form) for form in _OUTPUTS if form.startswith(incomplete)]


class _RuleType(click.ParamType[str]):
    """The name of a rule."""

    name = "rule"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> str:
        name = str(value)
        if name not in rule_names():
            from glost.language.nearest import nearest

            near = nearest(name, rule_names(), 1)
            meant = f" Did you mean '{near[0]}'?" if near else ""
            self.fail(f"there is no rule '{name}'.{meant} 'glost explain' lists them all.", param, ctx)
        return name

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        return [CompletionItem(name) for name in sorted(rule_names()) if name.startswith(incomplete)]


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option("--fix", is_flag=True, help="Mend what can be mended, and report what is left.")
@click.option(
    "--output",
    "outputs",
    type=_OutputType(),
    multiple=True,
    default=["text"],
    help="The form of the report, and the file it goes to; may be given several times.  [default: text]",
)
@click.option(
    "--batch", type=MassType(), metavar="MASS", help='Look at the amounts at this mass of base, as "50 g".'
)
@click.option("--strict", is_flag=True, help="Let warnings fail the run too.")
@click.option(
    "--select",
    type=_RuleType(),
    multiple=True,
    metavar="RULE",
    help="Only this rule; may be given several times.",
)
@click.option(
    "--ignore",
    type=_RuleType(),
    multiple=True,
    metavar="RULE",
    help="Not this rule; may be given several times.",
)
@click.option(
    "--write-baseline",
    "writing",
    is_flag=True,
    help=f"Hold all present findings back from now on, in {baseline.FILE}.",
)
@WORKERS
def command(
    paths: Sequence[str],
    fix: bool,
    outputs: Sequence[tuple[str, str | None]],
    batch: Decimal | None,
    strict: bool,
    select: Sequence[str],
    ignore: Sequence[str],
    writing: bool,
    workers: int | None,
) -> int:
    """Check recipes: files, folders, or - for standard input (default: this folder)."""
    if sum(file is None for _, file in outputs) > 1:
        raise click.UsageError(
            "two reports would go to standard output; give one of them a file, as  sarif=out.sarif"
        )
    named = [file for _, file in outputs if file is not None]
    if len(set(named)) < len(named):
        raise click.UsageError("two reports would go to one file; give each its own.")
    checker = Checker(Wish(batch, frozenset(select), frozenset(ignore), fix))
    standard = list(paths) == [STANDARD_INPUT]
    if standard and writing:
        raise click.UsageError("a baseline is written for files, not for standard input.")
    try:
        if standard:
            findings, count = _check_standard_input(checker), 1
            held = baseline.Held(findings, 0, [])
        else:
            chosen = files(paths, checker.collections)
            keep_recipes(map(Path, named), chosen)
            findings, count = _check(chosen, checker, workers), len(chosen)
            if writing:
                return _write_baselines(findings, chosen, checker)
            held = _hold_back(findings, chosen, checker)
    except Misread as error:
        show_misread(error)
        return UNUSABLE
    except WorkerLost:
        show_worker_lost()
        return UNUSABLE
    status = _status(held.new, strict)
    for form, file in outputs:
        if form == "text" and file is None and _colour_is_wanted():
            text = plain.text(held.new, _painted)
        else:
            text = _OUTPUTS[form]()(held.new)
        if file is None:
            if fix and standard:
                note(text)
            elif form in ("text", "line"):
                say(text)
            else:
                put(text.encode("utf-8", "backslashreplace"))
        elif not _write_report(Path(file), text):
            status = UNUSABLE
    if any(form == "text" and file is None for form, file in outputs):
        if held.new:
            note("\n") if fix and standard else say("\n")
        note(_summary(held, count) + "\n")
    return status


def _check(paths: Sequence[Path], checker: Checker, workers: int | None) -> list[Finding]:
    """The findings of all files; recipes are held against those of their own collection."""
    by_root: dict[Path | None, list[Report]] = {}
    for looked in counted(look_at(paths, checker, workers), "checked", len(paths)):
        if looked.mended:
            note(f"{plain.visible(display(looked.path))}: {looked.mended} mended\n")
        by_root.setdefault(checker.collections.of(looked.path).root, []).append(looked.report)
    findings = [finding for reports in by_root.values() for finding in collate(reports)]
    findings.sort(key=lambda finding: finding.order)
    return findings


def _check_standard_input(checker: Checker) -> list[Finding]:
    data = standard_input()
    try:
        bench = checker.bench(Path.cwd() / STANDARD_INPUT)
        source = Source(STANDARD_INPUT, decode(data))
    except Unreadable as error:
        if checker.wish.fix:
            pass_on(data)
        return [unreadable(STANDARD_INPUT, error)]
    except Misread:
        if checker.wish.fix:
            pass_on(data)
        raise
    if not checker.wish.fix:
        return examine(source, bench).findings
    mended = mend(source, bench)
    put(mended.text.encode("utf-8"))
    return mended.left.findings


def _below(file: str, root: Path) -> str:
    """A file as the baseline of its collection names it."""
    path = Path(file).absolute()
    return path.relative_to(root.absolute()).as_posix() if path.is_relative_to(root.absolute()) else file


def _by_collection(
    findings: Sequence[Finding], paths: Sequence[Path], checker: Checker
) -> dict[Path, tuple[list[tuple[Finding, str]], set[str]]]:
    """For every collection: its findings and the files looked at, each as its baseline names it."""
    sorted_out: dict[Path, tuple[list[tuple[Finding, str]], set[str]]] = {}
    for path in paths:
        root = checker.collections.of(path).root or Path.cwd()
        sorted_out.setdefault(root, ([], set()))[1].add(_below(display(path), root))
    known: dict[str, tuple[Path, str]] = {}  # a file may hold thousands of findings
    for finding in findings:
        if finding.file not in known:
            root = checker.collections.of(Path(finding.file)).root or Path.cwd()
            known[finding.file] = root, _below(finding.file, root)
        root, file = known[finding.file]
        sorted_out.setdefault(root, ([], set()))[0].append((finding, file))
    return sorted_out


def _hold_back(findings: Sequence[Finding], paths: Sequence[Path], checker: Checker) -> baseline.Held:
    new: list[Finding] = []
    known = 0
    gone: list[tuple[baseline.Known, int]] = []
    for root, (mine, looked_at) in _by_collection(findings, paths, checker).items():
        if not os.path.lexists(root / baseline.FILE):
            new += (finding for finding, _ in mine)
            continue
        entries = _read_baseline(root)
        held = baseline.hold_back(mine, entries, _looked_for(entries, root, looked_at, checker.wish))
        new += held.new
        known += held.known
        gone += held.gone
    new.sort(key=lambda finding: finding.order)
    return baseline.Held(new, known, gone)


def _write_baselines(findings: Sequence[Finding], paths: Sequence[Path], checker: Checker) -> int:
    broken = [finding for finding in findings if finding.rule == UNREADABLE]
    if broken:
        note(plain.text(broken))
        note("no baseline written: a file that cannot be read cannot be held back\n")
        return UNUSABLE
    for root, (mine, looked_at) in _by_collection(findings, paths, checker).items():
        file = root / baseline.FILE
        old = _read_baseline(root) if os.path.lexists(file) else Counter()
        known = (baseline.known_as(finding, name) for finding, name in mine)
        entries = baseline.renewed(known, old, _looked_for(old, root, looked_at, checker.wish))
        try:
            write_text(file, baseline.write(entries))
        except OSError as error:
            note(f"{plain.visible(display(file))} could not be written: {error.strerror}\n")
            return UNUSABLE
        note(
            f"{plain.visible(display(file))}: {_counted(entries.total(), 'finding')} held back from now on\n"
        )
    return CLEAN


def _read_baseline(root: Path) -> Counter[baseline.Known]:
    file = root / baseline.FILE
    try:
        return baseline.read(read_text(file, baseline.LARGEST))
    except (baseline.NotABaseline, Unreadable) as error:
        raise Misread(
            Source(display(file), ""),
            FIRST,
            f"this baseline cannot be read: {error}",
            "take it from the last commit; or delete it, and write it anew with glost lint --write-baseline",
        ) from None


def _looked_for(
    entries: Iterable[baseline.Known], root: Path, looked_at: set[str], wish: Wish
) -> Callable[[baseline.Known], bool]:
    """Tells whether this run would have found what an entry of the baseline names. A rule that holds files against
    each other looks for nothing while one of the files is left out."""
    there = looked_at | {
        file
        for file in {file for file, _, _ in entries} - looked_at
        if not os.path.lexists(root / file.replace("\0", ""))
    }
    whole = all(file in there for file, _, _ in entries)

    def looked_for(key: baseline.Known) -> bool:
        file, rule, _ = key
        if file not in there or rule in wish.ignore:
            return False
        if wish.select and rule not in wish.select and rule != SYNTAX:
            return False
        return whole or rule not in rule_names() or find_rule(rule).shared is None

    return looked_for


def _write_report(file: Path, text: str) -> bool:
    try:
        if file.exists() and not file.is_file():
            # A pipe or a device is written to; a file put in its place would take it away from everybody.
            with file.open("w", encoding="utf-8", newline="") as opened:
                opened.write(text)
        else:
            write_text(file, text)
    except OSError as error:
        note(f"{plain.visible(str(file))} could not be written: {error.strerror}\n")
        return False
    return True


def _colour_is_wanted() -> bool:
    """Whether levels are shown in colour: on a terminal that can, and whose owner has not refused it."""
    wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return wanted and sys.stdout is not None and sys.stdout.isatty()


def _painted(level: str) -> str:
    return click.style(level, fg={ERROR: "red", WARNING: "yellow"}.get(level, "cyan"), bold=True)


def _summary(held: baseline.Held, count: int) -> str:
    parts = [f"{_counted(count, 'recipe')} checked"]
    findings = held.new
    if findings:
        counts = [
            _counted(number, level)
            for level in (ERROR, WARNING, HINT)
            if (number := sum(finding.level == level for finding in findings))
        ]
        mendable = sum(bool(finding.edits) for finding in findings)
        offer = f"; {mendable} can be mended with --fix" if mendable else ""
        parts[0] += f": {', '.join(counts)}{offer}"
    else:
        parts[0] += ", nothing new found" if held.known else ", nothing found"
    if held.known:
        parts.append(f"{_counted(held.known, 'known finding')} held back by {baseline.FILE}")
    if held.gone:
        gone = sum(number for _, number in held.gone)
        parts.append(
            f"{_counted(gone, 'finding')} of {baseline.FILE} no longer occur{'s' if gone == 1 else ''}; "
            "write it anew with --write-baseline:"
        )
        parts += (
            f"  {plain.visible(file)}: {rule}: {plain.visible(text)}"
            for (file, rule, text), _ in held.gone[:20]
        )
    return "\n".join(parts)


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'s' if number != 1 else ''}"


def _status(findings: Sequence[Finding], strict: bool) -> int:
    if any(finding.rule == UNREADABLE for finding in findings):
        return UNUSABLE
    failing = (ERROR, WARNING) if strict else (ERROR,)
    return FINDINGS if any(finding.level in failing for finding in findings) else CLEAN
