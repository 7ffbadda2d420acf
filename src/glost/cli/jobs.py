"""What the bench needs of a recipe that was read."""

from __future__ import annotations

from decimal import Decimal

from glost.cli.errors import usage_error
from glost.output.batch.plan import balance_named
from glost.output.format import Job
from glost.workspace.load import Usable, errors_of


def job_of(entry: Usable, base_g: Decimal | None = None) -> Job:
    """The recipe with the settings and the catalogue that hold for it, and the errors on its page; its revision is not
    looked up. ``base_g``: the mass of the base that is asked for."""
    return Job(
        file=entry.file,
        recipe=entry.recipe,
        settings=entry.collection.settings,
        catalogue=entry.collection.catalogue,
        attention=errors_of(entry, base_g),
    )


def check_balance(entry: Usable, name: str) -> None:
    """Raises UsageError where the recipe's collection has no balance of that name."""
    try:
        balance_named(entry.collection.settings, name)
    except ValueError as error:
        raise usage_error(error) from None
