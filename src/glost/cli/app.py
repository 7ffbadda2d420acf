"""The commands: one module each, imported when it is called."""

from __future__ import annotations

import importlib
import io
import os
import sys
from collections.abc import Sequence
from types import ModuleType

import click

from glost import __version__
from glost.cli import CLEAN, UNUSABLE, streams

COMMANDS = {
    "new": "Begin a recipe, or a collection.",
    "lint": "Check recipes, and fix how they are written.",
    "format": "Lay recipes out in the one layout.",
    "convert": "Turn recipes into batch sheets, Markdown, CSV or JSON.",
    "catalog": "Lay out every recipe and test of a collection in one table.",
    "find": "Find recipes and tests by material, cone, hazard, words or an oxide.",
    "import": "Bring old notes in: plain text, tables and JSON become recipes.",
    "formula": "Show what recipes fire to: unity formula, oxides, loss, estimates.",
    "materials": "Search the materials, and show what is known of one.",
    "record": "Put the records of weighed batches into the log.",
    "usage": "Say what was used, by whom and for what, as the log has it.",
    "count": "Put a count of what is on the shelf into the log.",
    "delivery": "Put a delivery into the log: what came, its lot, its price.",
    "stock": "Say what is on hand, how long it lasts, and what to order.",
    "cost": "Say what the dry materials of recipes cost.",
    "match": "Bring a recipe's fired oxides out of other materials.",
    "plot": "Draw a recipe through its revisions, or a collection, by silica and alumina.",
    "batch": "Plan how to weigh a batch: balances, displays, what is too small to weigh.",
    "firing": "Begin the page of a firing, or work out its schedule.",
    "results": "Say what came of the tiles, and what was changed before each.",
    "blend": "Write a blend of recipes, or one of its points as a recipe.",
    "rescue": "Say what to do when too much of a material went in.",
    "session": "Plan many tests at one go: what to fetch, each jar opened once.",
    "compare": "Say what changed between recipes, or revisions, in meaning.",
    "history": "Show a recipe's amounts through its revisions.",
    "blame": "Say who last changed each amount and field of a recipe in meaning.",
    "textconv": "Print a recipe as git's diff should see it.",
    "merge": "Merge two changes of a recipe; git calls it.",
    "git-setup": "Let git compare and merge recipes by what they mean.",
    "explain": "Say what a rule finds, why it matters, and how to fix it.",
    "server": "Serve an editor: findings, fixes, layout, completion, amounts.",
    "completion": "Let the shell complete commands, materials, tests, rules and revisions.",
    "help": "Show the help of a command, or the manual page.",
    "version": "Show which glost this is.",
}
"""The commands and what each does, so that help needs none of their modules."""


def _module_of(name: str) -> ModuleType:
    return importlib.import_module(f"glost.cli.{name.replace('-', '_')}_command")


def examples_of(name: str) -> tuple[str, ...]:
    """The lines that show a command at work, as its module has them."""
    return getattr(_module_of(name), "EXAMPLES", ())


def _epilog(examples: Sequence[str]) -> str:
    """What stands at the end of a command's help, as click lays out text that is to keep its lines."""
    return "\n".join(["\b", f"{_heading('Examples')}:", *(f"  {line}" for line in examples)])


def _heading(text: str) -> str:
    if not streams.on_a_terminal():
        return text
    from glost.cli import colours

    return colours.heading(text) if colours.are_wanted(sys.stdout) else text


class _Help(click.HelpFormatter):
    """Help whose headings stand out on a terminal."""

    def write_heading(self, heading: str) -> None:
        super().write_heading(_heading(heading))

    def write_usage(self, prog: str, args: str = "", prefix: str | None = None) -> None:
        super().write_usage(prog, args, f"{_heading('Usage')}: " if prefix is None else prefix)


class HelpContext(click.Context):
    """Where the help of a command is written."""

    formatter_class = _Help


class _Late(click.Group):
    """A group that imports a command only when it is called."""

    context_class = HelpContext

    def list_commands(self, context: click.Context) -> list[str]:  # noqa: ARG002 (as click has it)
        return list(COMMANDS)

    def get_command(self, context: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command: click.Command = _module_of(name).command
        command.context_class = HelpContext
        if command.epilog is None and examples_of(name):
            command.epilog = _epilog(examples_of(name))
        if context.resilient_parsing:  # a shell completes a line
            from glost.cli import completing

            completing.add(name, command)
        return command

    def resolve_command(
        self, context: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        known = not args or args[0] in COMMANDS or args[0].startswith("-")
        if not known and not context.resilient_parsing:  # a shell that completes a line wants no complaint
            from glost.language.nearest import nearest

            near = nearest(args[0].lower(), COMMANDS, 1)
            meant = f" Did you mean '{near[0]}'?" if near else ""
            raise click.UsageError(
                f"there is no command '{args[0]}'.{meant} The commands are: {', '.join(COMMANDS)}."
            )
        return super().resolve_command(context, args)

    def invoke(self, context: click.Context) -> object:
        try:
            return super().invoke(context)
        except BaseException:
            streams.take_back()  # before anything is said of it, by click too
            raise

    def format_commands(self, context: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))
        formatter.write_paragraph()
        formatter.write_text("glost help COMMAND shows all of one; docs/start.md begins at nothing.")


@click.group(cls=_Late, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, "-v", "--version", prog_name="glost", message="%(prog)s %(version)s")
def app() -> None:
    """glost keeps glaze recipes as plain text: checked, laid out, and turned into the sheet at the bench.

    Exit status: 0 nothing found, 1 something found, 2 wrong usage or unreadable input.
    """
    try:
        os.getcwd()  # noqa: PTH109 (a string will do)
    except OSError:
        raise click.UsageError("the folder that this command runs in is gone; go to another.") from None


class _Told(io.StringIO):
    """What click says. It repeats the user's own words, and would leave parts of them out where nobody looks on."""

    def isatty(self) -> bool:
        return True


def _with_help(error: click.ClickException) -> click.ClickException:
    """An option that has to be given is told with its help, since its name alone may say little."""
    if isinstance(error, click.MissingParameter) and isinstance(error.param, click.Option):
        option = error.param
        if option.help and not isinstance(option.type, click.Choice):  # of a choice click tells all
            return click.MissingParameter(option.help, error.ctx, option)
    return error


def run(arguments: Sequence[str]) -> int:
    """Runs a command line; the exit status. What click has to say of it is said."""
    try:
        status = app.main(args=list(arguments), prog_name="glost", standalone_mode=False)
    except click.exceptions.Exit as leaving:
        status = leaving.exit_code
    except SystemExit as leaving:
        if leaving.code != 1:
            raise
        streams.give_up()  # whoever read the help has left, which is no failure
        status = CLEAN
    except click.ClickException as error:
        told = _Told()
        error = _with_help(error)
        if isinstance(error, click.UsageError) and error.ctx is not None:
            error.ctx.formatter_class = (
                click.HelpFormatter
            )  # what is noted holds the user's words, and no colour
        error.show(told)
        streams.note(told.getvalue())
        return UNUSABLE
    except click.Abort:
        raise KeyboardInterrupt from None
    return status if isinstance(status, int) else CLEAN
