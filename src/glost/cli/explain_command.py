"""glost explain."""

from __future__ import annotations

import click

from glost.cli.streams import say
from glost.linter.rule import find_rule, rule_names


def _beginning(_: click.Context, __: click.Parameter, incomplete: str) -> list[str]:
    return [name for name in sorted(rule_names()) if name.startswith(incomplete)]


EXAMPLES = (
    "glost explain",
    "glost explain below-readability",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("rule", required=False, shell_complete=_beginning)
@click.option(
    "--output",
    type=click.Choice(["text", "markdown"]),
    default="text",
    show_default=True,
    help="Text for a terminal, or the page of the documentation.",
)
def command(rule: str | None, output: str) -> None:
    """Explain a rule: what it finds, why it matters, how to fix it. Without a name, list all rules."""
    from glost.linter import pages

    if rule is None:
        say(pages.listing())
        return
    if rule not in rule_names():
        from glost.language.nearest import nearest

        near = nearest(rule, rule_names(), 1)
        meant = f" Did you mean '{near[0]}'?" if near else ""
        raise click.UsageError(f"there is no rule '{rule}'.{meant} 'glost explain' lists them all.")
    found = find_rule(rule)
    say(pages.markdown(found) if output == "markdown" else pages.text(found))
