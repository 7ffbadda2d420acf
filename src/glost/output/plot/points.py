"""From recipes to the points of the chart, and to the recipes that have none."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from glost.chemistry.firing import Calculator
from glost.recipe.cone import KNOWN, Cone
from glost.recipe.recipe import Recipe, tests

BANDS = ("cone 022 to 01", "cone 1 to 7", "cone 8 to 14", "no cone")
"""Tones of the chart, from the coolest; a recipe stands with the hotter end of its range."""
_ONE, _EIGHT = KNOWN.index("1"), KNOWN.index("8")


class Point(NamedTuple):
    """A glaze on the chart: mol of silica and alumina to one of the fluxes. ``low`` and ``high`` are the ranks of its
    cones in the order of heat, -1 without one; ``atmosphere`` is as written, "" without one."""

    name: str
    file: str
    cone: str
    low: int
    high: int
    atmosphere: str
    silica: float
    alumina: float

    @property
    def band(self) -> int:
        """Its place in BANDS."""
        if self.high < 0:
            return 3
        return 0 if self.high < _ONE else 1 if self.high < _EIGHT else 2


class LeftOut(NamedTuple):
    """A recipe without a place on the chart, and why."""

    name: str
    why: str


class Wanted(NamedTuple):
    """What is drawn: glazes of these cones (ranks from and to, or None for all) and atmospheres (or all)."""

    cones: tuple[int, int] | None = None
    atmospheres: tuple[str, ...] = ()


def wanted_cones(cone: Cone) -> tuple[int, int]:
    """The ranks of a range of cones. Raises ValueError for one that is not known."""
    if not cone.known:
        raise ValueError(f"cone {cone} is not one of {KNOWN[0]} to {KNOWN[-1]}")
    return KNOWN.index(cone.low), KNOWN.index(cone.high)


def points(
    recipes: Iterable[tuple[str, Recipe, Calculator]], wanted: Wanted
) -> tuple[list[Point], list[LeftOut]]:
    """The points of recipes (file as shown, recipe, kiln), by name, each as it stands and without its variations; and
    those that were meant and have none. What is no glaze, or of another cone or atmosphere, is in neither."""
    found: list[Point] = []
    left_out: list[LeftOut] = []
    for file, recipe, kiln in recipes:
        cone = recipe.fields.get("cone")
        low, high = wanted_cones(cone) if isinstance(cone, Cone) and cone.known else (-1, -1)
        atmosphere = str(recipe.fields.get("atmosphere", ""))
        if recipe.kind != "glaze" or not _is_wanted(wanted, low, high, atmosphere):
            continue
        fired = kiln.fire(next(tests(recipe)))
        if not fired.nearly_known:
            names = ", ".join(dict.fromkeys(one.name for one in fired.unknown))
            left_out.append(LeftOut(recipe.name, f"what {names} brings is not known"))
        elif fired.unity is None:
            left_out.append(LeftOut(recipe.name, "none of its oxides is a flux"))
        else:
            silica, alumina = (float(round(fired.unity.of(oxide), 6)) for oxide in ("SiO2", "Al2O3"))
            shown = str(cone) if isinstance(cone, Cone) else ""
            found.append(Point(recipe.name, file, shown, low, high, atmosphere, silica, alumina))
    found.sort(key=lambda point: (point.name.casefold(), point.name, point.file))
    left_out.sort()
    return found, left_out


def _is_wanted(wanted: Wanted, low: int, high: int, atmosphere: str) -> bool:
    if wanted.atmospheres and atmosphere not in wanted.atmospheres:
        return False
    return wanted.cones is None or (high >= wanted.cones[0] and 0 <= low <= wanted.cones[1])


def ratio(point: Point) -> Decimal | None:
    """SiO2 : Al2O3, or None without alumina."""
    return Decimal(str(point.silica)) / Decimal(str(point.alumina)) if point.alumina else None
