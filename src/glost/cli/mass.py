"""A mass as an option of a command."""

from __future__ import annotations

from decimal import Decimal

import click

from glost.cli.errors import sentence
from glost.weighing.units import read_mass


class MassType(click.ParamType[Decimal]):
    """A mass with its unit, in grams."""

    name = "mass"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Decimal:
        if isinstance(value, Decimal):
            return value
        try:
            return read_mass(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)
