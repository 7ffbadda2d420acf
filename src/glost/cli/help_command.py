"""glost help."""

from __future__ import annotations

import sys

import click

from glost.cli import colours
from glost.cli.streams import put_text, say


def _beginning(_: click.Context, __: click.Parameter, incomplete: str) -> list[str]:
    from glost.cli.app import COMMANDS

    return [name for name in COMMANDS if name.startswith(incomplete)]


EXAMPLES = (
    "glost help batch",
    "glost help --man > glost.1",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("name", metavar="[COMMAND]", required=False, shell_complete=_beginning)
@click.option("--man", is_flag=True, help="Write the manual page, for  man  to show.")
@click.pass_context
def command(context: click.Context, name: str | None, man: bool) -> None:
    """Show the help of glost, or of one command."""
    from glost.cli.app import COMMANDS, HelpContext, app

    top = context.find_root()
    if man:
        if name is not None:
            raise click.UsageError("--man is the manual page of all commands: leave the command out.")
        from glost.cli.manual import manual

        put_text(manual(top))
        return
    in_colour = colours.are_wanted(sys.stdout)
    if name is None:
        say(f"{app.get_help(top)}\n", in_colour)
        return
    if name not in COMMANDS:
        app.resolve_command(top, [name])  # says what was meant
    found = app.get_command(top, name)
    assert found is not None
    say(f"{found.get_help(HelpContext(found, info_name=name, parent=top))}\n", in_colour)
