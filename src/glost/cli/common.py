"""What several commands share: the paths they take, and how they report what cannot be read."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import click

from glost.collection import Collections, NoSuchPath, batch_from, find, misread
from glost.language.source import LARGEST_FILE
from glost.lint.reporters import plain
from glost.yamlfile import Misread


class MassType(click.ParamType[Decimal]):
    """A mass with its unit, in grams."""

    name = "mass"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Decimal:
        if isinstance(value, Decimal):
            return value
        try:
            mass = batch_from(str(value))
        except ValueError as error:
            self.fail(str(error), param, context)
        if mass is None:
            self.fail("write a mass such as 500 g", param, context)
        return mass


def files(paths: Sequence[str], collections: Collections) -> list[Path]:
    """The recipe files meant by the paths of a command. Raises UsageError where a path is not there, Misread
    where a collection's settings cannot be taken."""
    try:
        return find(paths or ["."], collections)
    except NoSuchPath as error:
        raise click.UsageError(f"there is no file or folder '{plain.visible(str(error))}'.") from None


def show_misread(error: Misread) -> None:
    """Prints what is wrong with a settings or materials file."""
    click.echo(plain.text([misread(error)]), err=True, nl=False)


def standard_input() -> bytes:
    """All of standard input, as bytes; a little more than a recipe may hold is enough to refuse it."""
    return sys.stdin.buffer.read(LARGEST_FILE + 1)


def standard_output(data: bytes) -> None:
    """Writes bytes to standard output as they are."""
    sys.stdout.flush()
    sys.stdout.buffer.write(data)
