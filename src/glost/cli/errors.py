"""How an error is told to a person: every command tells it through here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from glost.cli.colours import note_findings
from glost.cli.streams import note
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import findings_of
from glost.linter.reporters import plain

if TYPE_CHECKING:
    from click import UsageError


_MOST: Final = 100
"""Mistakes of settings that are told at once."""


def show_error(error: Exception, before: str = "") -> None:
    """Prints what is wrong and how to put it right: with file, line, column and a caret below the text where the error
    knows its file, else on one line behind ``before``, such as "a.json: not recorded"."""
    if isinstance(error, ConfigError):
        found = findings_of(error)
        note_findings(found[:_MOST])
        if len(found) > _MOST:
            note(f"and {len(found) - _MOST} more; fix these first\n")
    else:
        note(f"{before}: {sentence(error)}\n" if before else f"{sentence(error)}\n")


def sentence(error: Exception) -> str:
    """What is wrong and how to put it right, on one line that a terminal shows as it is."""
    return plain.visible(str(error))


def usage_error(error: Exception, before: str = "") -> UsageError:
    """The same as a wrong use of the command, behind ``before`` and with one full stop at its end."""
    from click import UsageError

    told = sentence(error).rstrip(".")
    return UsageError(f"{before}: {told}." if before else f"{told}.")
