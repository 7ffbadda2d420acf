"""Recipes as JSON Lines: one recipe a line, each complete in itself, for large collections and for
streams."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from glost.errors import message_and_hint
from glost.language.exact_json import JsonError, loaded, written
from glost.output.format import Format, Job
from glost.output.formats.json import VERSION, check, data_of, recipe
from glost.recipe.recipe import Recipe


def write(jobs: Sequence[Job]) -> str:
    """One line a recipe."""
    return "".join(written({"version": Decimal(VERSION), **data_of(job)}, None) + "\n" for job in jobs)


def read_jsonl(text: str) -> list[Recipe]:
    """The recipes of all lines; empty lines are passed over. Raises ValueError that begins with the line."""
    recipes: list[Recipe] = []
    for number, line in enumerate(text.removeprefix("\ufeff").split("\n"), 1):
        if not line.strip(" \r\t"):
            continue
        try:
            value = loaded(line)
            check(value, "line")
            recipes.append(recipe(value, ""))
        except JsonError as error:
            raise error.on_line(number) from None
        except ValueError as error:
            raise JsonError(*message_and_hint(error), number) from None
    return recipes


FORMAT = Format(
    name="jsonl",
    ending=".jsonl",
    summary="JSON Lines, one recipe a line, for other programs",
    write=write,
    mark=re.compile(r'\A\{"version": \d+, "kind": "\w+", "name": "'),
    together=True,
    read=read_jsonl,
    between="",
)
