"""What a batch sheet says of water and gravity, and what the water is calculated from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from glost.errors import ValueRefusedError
from glost.output.batch.figures import poured
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Test
from glost.recipe.settings import Settings
from glost.recipe.water import ASSUMED_GRAVITY, Mixed, mixed_with, said_gravity, said_water
from glost.weighing.batch import Plan
from glost.weighing.rounding import round_to, to_decimal
from glost.weighing.slurry import water_for

_HUNDREDTH: Final = Decimal("0.01")


class Slurry(NamedTuple):
    """What the sheet says of water and gravity, as BatchSheet has it."""

    water: str = ""
    percent: Decimal | None = None
    said: str = ""
    by: str = ""
    remarks: tuple[str, ...] = ()
    gravity: str = ""


def slurry_of(test: Test, planned: Plan | None, settings: Settings, catalogue: Catalogue) -> Slurry:
    """What a sheet says, of the mass that is planned; None where nothing can be weighed."""
    gravity = said_gravity(test)
    if gravity is None:
        water = said_water(test, settings)
        if water is None:
            return Slurry()
        share = f"{to_decimal(water.value):f} %"
        return Slurry(_water(planned, water.value, share), water.value, share)
    asked = f"{gravity.value:f}"
    if planned is None:
        return Slurry(gravity=asked)
    try:
        mixed = mixed_with(test, settings, catalogue)
    except ValueRefusedError as error:
        # A sheet with its water left open is of use; water that goes against the page is not.
        return Slurry(remarks=(f"left open: {error.message}; {error.hint}",), gravity=asked)
    assert mixed is not None, "a gravity is said"
    of = f' of "{gravity.of}"' if gravity.of else ""
    said = f"{round_to(mixed.percent, Decimal('0.1')):f} %"
    water_said = _water(planned, mixed.percent, said)
    by = f"by the gravity {asked}{of}"
    return Slurry(water_said, mixed.percent, said, by, tuple(_remarks(mixed, of)), asked)


def _remarks(mixed: Mixed, of: str) -> Iterator[str]:
    yield f"calculated from the gravity {mixed.gravity:f}{of}"
    of_page = f'"{mixed.said.of}"' if mixed.said.of else "the page"
    if mixed.contradicts and mixed.other is not None:
        yield (
            f"{of_page} says water {mixed.beside:f} % as well, which would make {round_to(mixed.other, _HUNDREDTH):f}:"
            " correct one of them"
        )
    yield from doubts(mixed.powder.assumed, mixed.powder.dissolving)


def doubts(assumed: Sequence[str], dissolving: Sequence[str]) -> Iterator[str]:
    """Why the relation of water and gravity holds only so far for a mix: what has no density on record, and what
    dissolves."""
    if assumed:
        yield f"no density on record for {', '.join(assumed)}: {ASSUMED_GRAVITY} is assumed (common practice)"
    if dissolving:
        does = "dissolves" if len(dissolving) == 1 else "dissolve"
        yield f"{', '.join(dissolving)} {does} in part: take the water as a first guess and go by the gravity"


def _water(planned: Plan | None, percent: Decimal, said: str) -> str:
    if planned is None:
        return ""
    return (
        f"{poured(water_for(planned.total_mass_g, percent))} g ({said} of {planned.total_target_g:f} g dry)"
    )
