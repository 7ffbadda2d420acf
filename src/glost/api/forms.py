"""Recipes in the forms of ``glost convert``."""

from __future__ import annotations

from collections.abc import Iterable

from glost.api.bench import Mass, grams
from glost.api.recipes import Recipe
from glost.errors import ValueRefusedError
from glost.language.nearest import nearest
from glost.output.format import Job, find_format, format_names
from glost.workspace.load import errors_of


def formats() -> list[str]:
    """The names of all formats, as ``glost convert --to`` takes them."""
    return sorted(format_names())


def write(recipe: Recipe | Iterable[Recipe], format: str, *, batch: Mass | None = None) -> str:
    """One or several recipes in a form of ``glost convert``, as one text; its revision is not looked up. ``batch``: the
    mass of the base, as for ``plan``. Raises ValueRefusedError for a format that is not there, a mass that cannot be
    taken, or a recipe that cannot be written so."""
    if format not in format_names():
        near = nearest(format, formats(), 1)
        meant = f"did you mean '{near[0]}'? " if near else ""
        raise ValueRefusedError(
            f"there is no format '{format}'", f"{meant}The formats are: {', '.join(formats())}"
        )
    base_g = None if batch is None else grams(batch)
    jobs = [
        Job(
            one.usable.file,
            one.usable.recipe,
            one.usable.collection.settings,
            one.usable.collection.catalogue,
            base_g,
            attention=errors_of(one.usable, base_g),
        )
        for one in ([recipe] if isinstance(recipe, Recipe) else recipe)
    ]
    return find_format(format).write(jobs)
