"""glost compare."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from glost.changes.as_json import as_json
from glost.changes.markdown import markdown
from glost.changes.report import Report, summary
from glost.changes.text import brief as brief_text
from glost.changes.text import text
from glost.cli import CLEAN, FINDINGS, UNUSABLE, colours
from glost.cli.changed import STAGED
from glost.cli.common import status_of
from glost.cli.compare_inputs import sides
from glost.cli.comparing import compared
from glost.cli.errors import show_error
from glost.cli.pager import columns, show
from glost.cli.streams import note, put_text
from glost.language.yaml_tree import ConfigError

_OUTPUTS = ("text", "markdown", "json", "html")
_PATHS = "glost.paths"


class _CompareCommand(click.Command):
    """A command whose words before -- are sides, and behind it paths."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[_PATHS] = None
        if "--" in args and not ctx.resilient_parsing:
            at = args.index("--")
            ctx.meta[_PATHS] = args[at + 1 :]
            args = args[:at]
        return super().parse_args(ctx, args)


EXAMPLES = (
    "glost compare HEAD",
    "glost compare HEAD~1 HEAD --output markdown",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command(cls=_CompareCommand)
@click.argument(
    "sides_given", metavar="[OLD NEW | A..B | A B | A] [[--] PATHS]...", nargs=-1, type=click.Path()
)
@click.option(
    STAGED,
    "from_index",
    is_flag=True,
    help="What is staged, against the last commit or the revision that is named.",
)
@click.option(
    "--output",
    type=click.Choice(_OUTPUTS),
    default="text",
    show_default=True,
    help="Text for a person, Markdown for a merge request, JSON for a program, HTML with bars of old and new.",
)
@click.option("--brief", is_flag=True, help="One line a recipe; of Markdown the table on top alone.")
@click.pass_context
def command(
    context: click.Context, sides_given: Sequence[str], from_index: bool, output: str, brief: bool
) -> int:
    """Say what changed between recipes in meaning: other amounts, not other spelling, order or scale.

    Without a side: this folder against the last commit. OLD and NEW are files, folders, or paths of a git revision, as
    main:matt/dune.glost, or of the index, as :matt/dune.glost. A revision by itself is held against this folder, two
    (A B, or A..B) against each other; A...B shows what B changed since it left A. Paths behind them choose recipes.
    Each side is read with its own glost.yaml and materials.

    Exit status: 0 the same in meaning, 1 they differ or a page cannot be read whole, 2 one cannot be read at all.
    """
    if brief and output in ("json", "html"):
        raise click.UsageError("--brief is for text and Markdown; JSON and HTML hold all.")
    try:
        report, findings = compared(
            *sides(sides_given, context.meta.get(_PATHS), from_index), pictured=output == "html"
        )
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    _show(report, output, brief)
    note(f"{summary(report)}\n")
    return max(status_of(findings), FINDINGS if report.differs else CLEAN)


def _show(report: Report, output: str, brief: bool) -> None:
    if output == "json":
        put_text(as_json(report))
    elif output == "html":
        from glost.changes.html import html

        put_text(html(report))
    elif output == "markdown":
        put_text(markdown(report, brief))
    elif brief:
        show(brief_text(report))
    else:
        in_colour = colours.are_wanted(sys.stdout)
        shown = text(report, columns())
        show(_painted(shown) if in_colour else shown, in_colour)


def _painted(text: str) -> str:
    """A comparison in colour: what must not be missed in red, on all the lines that it takes."""
    lines = []
    attention = False
    for line in text.splitlines(keepends=True):
        attention = line.startswith("!   ") or (attention and line.startswith("    "))
        lines.append(f"\x1b[31m{line[:-1]}\x1b[0m\n" if attention else line)
    return "".join(lines)
