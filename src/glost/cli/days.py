"""A day as an option of a command."""

from __future__ import annotations

from datetime import date

import click

from glost.errors import ValueRefusedError
from glost.linter.reporters import plain
from glost.records.stock_entry import read_day


class DateType(click.ParamType[date]):
    """A day of the calendar."""

    name = "date"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return read_day(str(value))
        except ValueRefusedError:
            self.fail(f"'{plain.visible(str(value))}' is no date; write such as 2026-03-14", param, context)
