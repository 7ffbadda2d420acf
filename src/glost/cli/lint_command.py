"""glost lint."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from glost.cli.changed import ChangedCommand, changed_option, refuse_with_staged, staged_option
from glost.cli.common import keep_recipes, standard_input
from glost.cli.errors import show_error
from glost.cli.linting import OUTPUTS, BaselineUse, Reporting, lint, report, report_failure
from glost.cli.mass import MassType
from glost.cli.outputs import force_option, refusing
from glost.cli.selection import chosen_files, in_collection_option, rest_option, the_rest, with_the_rest
from glost.cli.stdin_filename import check_stdin_filename, stdin_filename_option
from glost.cli.streams import note, pass_on, put, say
from glost.cli.workers import workers_option
from glost.language.source import DecodeError, Source, decode
from glost.language.yaml_tree import ConfigError
from glost.linter import baseline
from glost.linter.finding import ERROR, HINT, LEVELS, Finding, findings_of, unreadable
from glost.linter.reporters.marks import MARKS
from glost.workspace.collection import Collections
from glost.workspace.outputs import OneOutput
from glost.workspace.paths import STANDARD_INPUT, display
from glost.workspace.runs.lint_options import LintOptions

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem


class _OutputType(click.ParamType[tuple[str, str | None]]):
    """A form of report, and the file it goes to."""

    name = "output"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002 (as click has it)
        return f"[{'|'.join(OUTPUTS)}][=FILE]"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, str | None]:
        if isinstance(value, tuple):
            return value
        form, equals, file = str(value).partition("=")
        if form not in OUTPUTS:
            self.fail(f"'{form}' is no form of report; the forms are {', '.join(OUTPUTS)}.", param, ctx)
        if equals and not file:
            self.fail("the file's name is missing behind the equals sign.", param, ctx)
        return form, file or None

    def shell_complete(
        self,
        ctx: click.Context,  # noqa: ARG002
        param: click.Parameter,  # noqa: ARG002
        incomplete: str,
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        return [CompletionItem(form) for form in OUTPUTS if form.startswith(incomplete)]


class _RuleType(click.ParamType[str]):
    """The name of a rule."""

    name = "rule"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> str:
        from glost.linter.rule import rule_names

        name = str(value)
        if name not in rule_names():
            from glost.language.nearest import nearest

            near = nearest(name, rule_names(), 1)
            meant = f" Did you mean '{near[0]}'?" if near else ""
            self.fail(f"there is no rule '{name}'.{meant} 'glost explain' lists them all.", param, ctx)
        return name

    def shell_complete(
        self,
        ctx: click.Context,  # noqa: ARG002
        param: click.Parameter,  # noqa: ARG002
        incomplete: str,
    ) -> list[CompletionItem]:
        from click.shell_completion import CompletionItem

        from glost.linter.rule import rule_names

        return [CompletionItem(name) for name in sorted(rule_names()) if name.startswith(incomplete)]


EXAMPLES = (
    "glost lint corpus/studio",
    "glost lint corpus/studio/needs-work --fix --diff",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command(cls=ChangedCommand)
@click.argument("paths", nargs=-1, type=click.Path())
@changed_option
@staged_option
@in_collection_option
@rest_option
@click.option(
    "--fix", is_flag=True, help="Fix how pages are written, tell each fix, and report what is left."
)
@click.option(
    "--rescale", is_flag=True, help="With --fix: bring a base that is off to 100, and tell each amount."
)
@click.option("--diff", is_flag=True, help="With --fix: write nothing, and show what would change.")
@click.option(
    "--output",
    "outputs",
    type=_OutputType(),
    multiple=True,
    default=["text"],
    help="The form of the report, and the file it goes to; may be given several times.  [default: text]",
)
@click.option(
    "--batch", type=MassType(), metavar="MASS", help='Look at the amounts at this mass of base, as "100 g".'
)
@click.option(
    "--level",
    type=click.Choice(LEVELS),
    default=HINT,
    show_default=True,
    help="Report nothing less than that; the rest is counted.",
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
@stdin_filename_option
@click.option(
    "--prune",
    "pruning",
    is_flag=True,
    help=f"Take out of {baseline.FILE} what no longer occurs; nothing new is held back.",
)
@force_option
@workers_option
def command(
    paths: Sequence[str],
    since: str | None,
    from_index: bool,
    in_collection: bool,
    rest: bool,
    fix: bool,
    rescale: bool,
    diff: bool,
    outputs: Sequence[tuple[str, str | None]],
    batch: Decimal | None,
    level: str,
    strict: bool,
    select: Sequence[str],
    ignore: Sequence[str],
    writing: bool,
    stdin_filename: Path | None,
    pruning: bool,
    force: bool,
    workers: int | None,
) -> int:
    """Check recipes: files, folders, or - for standard input (default: this folder)."""
    _check_wish(
        outputs,
        fix=fix,
        rescale=rescale,
        diff=diff,
        writing=writing,
        pruning=pruning,
        strict_on_errors=strict and level == ERROR,
    )
    if rest and (since is not None or from_index or in_collection or fix or not paths):
        raise click.UsageError(
            "--rest goes with PATHS, settings among them, and with none of --changed, --staged, --in-collection and "
            "--fix."
        )
    if from_index:
        refuse_with_staged(fix=fix, write_baseline=writing, prune=pruning)
    named = [file for _, file in outputs if file is not None]
    wish = LintOptions(batch, frozenset(select), frozenset(ignore), fix, rescale, diff)
    reporting = Reporting(outputs, strict, level)
    collections = Collections()
    standard = list(paths) == [STANDARD_INPUT] and not from_index
    if standard and (writing or pruning):
        raise click.UsageError("a baseline is written for files, not for standard input.")
    check_stdin_filename(stdin_filename, standard)
    try:
        if standard:
            _check_reports(outputs, force)
            held = baseline.Held(_check_standard_input(wish, collections, stdin_filename), 0, [])
            return report(held, 1, reporting, note if fix else say)
        if from_index:
            from glost.cli.staged import Index

            index = Index()
            collections = index.collections
            changed, unchanged = index.pages(paths)
            chosen, others = with_the_rest(changed, unchanged, collections, in_collection)
        elif rest:
            chosen, others = the_rest(paths, collections)
        else:
            chosen, others = chosen_files(paths, collections, since, in_collection)
        keep_recipes(map(Path, named), (*chosen, *others), collections)
        _check_reports(outputs, force)
    except ConfigError as error:
        keep_recipes(map(Path, named), map(Path, paths), None)
        show_error(error)
        # The page that was passed on stands on standard output alone.
        told = [(form, file) for form, file in outputs if file is not None or not (standard and fix)]
        return report_failure(findings_of(error), told)
    except click.UsageError as error:
        why = DecodeError(error.message.removesuffix("."), "correct the command; glost lint --help says how")
        free = [
            (form, file) for form, file in outputs if file is None or _is_free(Path(file), paths, collections)
        ]
        report_failure([unreadable(".", why)], free)
        raise
    baselines: BaselineUse = "write" if writing else "prune" if pruning else "hold back"
    return lint(chosen, collections, wish, others, reporting, baselines, workers)


def _check_wish(
    outputs: Sequence[tuple[str, str | None]],
    *,
    fix: bool,
    rescale: bool,
    diff: bool,
    writing: bool,
    pruning: bool,
    strict_on_errors: bool,
) -> None:
    """Raises UsageError for what does not go together."""
    if sum(file is None for _, file in outputs) > 1:
        raise click.UsageError(
            "two reports would go to standard output; give one of them a file, as  sarif=out.sarif"
        )
    named = [file for _, file in outputs if file is not None]
    if len(set(named)) < len(named):
        raise click.UsageError("two reports would go to one file; give each its own.")
    for option, given in (("--rescale", rescale), ("--diff", diff)):
        if given and not fix:
            raise click.UsageError(f"{option} goes with --fix.")
    if diff and writing:
        raise click.UsageError(
            "--diff writes nothing, and --write-baseline writes a baseline; leave one out."
        )
    if strict_on_errors:
        raise click.UsageError(
            "with --strict warnings fail the run, and --level error hides them; leave one out."
        )
    if pruning and (writing or diff):
        other = "--write-baseline" if writing else "--diff"
        raise click.UsageError(f"--prune and {other} do not go together; leave one out.")


def _is_free(file: Path, paths: Sequence[str], collections: Collections) -> bool:
    """Whether nothing of the collection lies in the place of a report."""
    try:
        keep_recipes([file], map(Path, paths), collections)
    except (click.UsageError, ConfigError):
        return False
    return True


def _check_reports(outputs: Sequence[tuple[str, str | None]], force: bool) -> None:
    """Raises UsageError where a report would be written through a link, or over what is no report."""
    for form, file in outputs:
        if file is not None:
            with refusing():
                OneOutput(Path(file), MARKS[form], force).check()


def _check_standard_input(
    wish: LintOptions, collections: Collections, stands_for: Path | None
) -> list[Finding]:
    """``stands_for``: the file that the text is that of, whose collection then holds and whose name is shown."""
    from glost.workspace.runs.lint_file import FileLinter, check

    data = standard_input()
    shown = STANDARD_INPUT if stands_for is None else display(stands_for)
    try:
        bench = FileLinter(wish, collections).context(stands_for or Path.cwd() / STANDARD_INPUT)
        source = Source(shown, decode(data))
    except DecodeError as error:
        if wish.fix and not wish.only_show:
            pass_on(data)
        return [unreadable(shown, error)]
    except ConfigError:
        if wish.fix and not wish.only_show:
            pass_on(data)
        raise
    left, changes = check(source, bench, wish)
    if changes is not None:
        from glost.cli.fixes import tell_changes

        tell_changes(shown, changes, wish.only_show)
        if not wish.only_show:
            put(changes.after.encode("utf-8"))
    return left.findings
