"""Recipes in the forms of ``glost convert``."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from glost.api.bench import Mass, grams
from glost.api.recipes import Recipe
from glost.errors import ValueRefusedError
from glost.language.nearest import nearest
from glost.output.format import Output, find_format, format_names
from glost.workspace.load import job_of


def formats() -> list[str]:
    """The names of all formats, as ``glost convert --to`` takes them."""
    return sorted(format_names())


def write(recipe: Recipe | Iterable[Recipe], format: str, *, batch: Mass | None = None) -> str:
    """One or several recipes in a form of ``glost convert``, as one text; its revision is not looked up. ``batch``: the
    mass of the base, as for ``plan``. Raises ValueRefusedError for a format that is not there or is no text, a mass
    that cannot be taken, or a recipe that cannot be written so."""
    made = _made(recipe, format, batch)
    if isinstance(made, bytes):
        raise ValueRefusedError(f"{format} is no text", "take it as bytes, with write_bytes")
    return made


def write_bytes(recipe: Recipe | Iterable[Recipe], format: str, *, batch: Mass | None = None) -> bytes:
    """As write, for a file: every format there is, those that are no text among them. Raises ValueRefusedError."""
    made = _made(recipe, format, batch)
    return made if isinstance(made, bytes) else made.encode("utf-8", "backslashreplace")


def _made(recipe: Recipe | Iterable[Recipe], format: str, batch: Mass | None) -> Output:
    if format not in format_names():
        near = nearest(format, formats(), 1)
        meant = f"did you mean '{near[0]}'? " if near else ""
        raise ValueRefusedError(
            f"there is no format '{format}'", f"{meant}the formats are: {', '.join(formats())}"
        )
    base_g = None if batch is None else grams(batch)
    several = [recipe] if isinstance(recipe, Recipe) else recipe
    jobs = [replace(job_of(one.usable, base_g), batch_g=base_g) for one in several]
    return find_format(format).write(jobs)
