"""What the bench needs of a recipe that was read."""

from __future__ import annotations

from glost.cli.errors import usage_error
from glost.output.batch.plan import balance_named
from glost.workspace.load import Usable


def check_balance(entry: Usable, name: str) -> None:
    """Raises UsageError where the recipe's collection has no balance of that name."""
    try:
        balance_named(entry.collection.settings, name)
    except ValueError as error:
        raise usage_error(error) from None
