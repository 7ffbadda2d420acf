"""The plan of a blend that is poured, for programs: JSON as schema/pour.schema.json has it."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Final

from glost.language.exact_json import written
from glost.output.batch.figures import to_places
from glost.output.session.data import point_data
from glost.output.wet_blend import MARGIN, STEP_ML, Bucket, Cup, WetBlend
from glost.recipe.recipe import sets_said

VERSION: Final = 1
_PLACES: Final = 6
"""Decimals of a figure that does not end."""


def as_json(made: WetBlend) -> str:
    return written(data(made)) + "\n"


def data(made: WetBlend) -> dict[str, Any]:
    """The whole as the schema has it."""
    return {
        "version": VERSION,
        "name": made.name,
        "file": made.file,
        "cup_ml": made.ml,
        "step_ml": STEP_ML,
        "margin_percent": _figure(MARGIN * 100),
        "slips": [_slip(bucket) for bucket in made.buckets],
        "cups": [_cup(cup) for cup in made.cups],
    }


def _slip(bucket: Bucket) -> dict[str, Any]:
    return {
        "corner": bucket.letter,
        **point_data(bucket.test.point),
        "label": bucket.test.label,
        "sets": sets_said(bucket.test),
        "gravity": _figure(Fraction(bucket.slip.gravity)),
        "gravity_from": bucket.by,
        "dry_gravity": _figure(Fraction(bucket.slip.dry_gravity)),
        "dry_g_per_ml": _figure(bucket.slip.dry_g_per_ml),
        "poured_ml": _figure(bucket.poured_ml),
        "mixed_ml": _figure(bucket.mixed_ml),
        "dry_g": _figure(bucket.dry_g),
        "base_g": _figure(bucket.base_g),
        "water_g": _figure(bucket.water_g),
        "density_assumed": list(bucket.assumed),
        "dissolving": list(bucket.dissolving),
    }


def _cup(cup: Cup) -> dict[str, Any]:
    return {
        **point_data(cup.point),
        "exact_ml": [_figure(one) for one in cup.exact_ml],
        "poured_ml": list(cup.poured_ml),
        "gives": [_figure(share * 100) for share in cup.given],
        "equal_volumes_give": [_figure(share * 100) for share in cup.by_equal_volumes],
    }


def _figure(value: Fraction) -> Any:
    return to_places(value, _PLACES)
