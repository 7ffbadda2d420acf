"""From recipes to the glazes of the chart with what is shown of each, and to the recipes that have no place on it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from types import MappingProxyType
from typing import Final, NamedTuple

from glost.chemistry.firing import Calculator
from glost.chemistry.unity import ALKALIS, Unity
from glost.errors import ValueRefusedError
from glost.recipe.cone import KNOWN, Cone, rank_of
from glost.recipe.recipe import Recipe, Test, tests

RANGES: Final = ("Cone 022 to 01", "Cone 1 to 7", "Cone 8 and hotter", "No cone")
"""The panels, from the coolest; a glaze stands in that of the hotter end of its cones."""
_ONE, _EIGHT = rank_of("1"), rank_of("8")

EARTHS: Final = ("MgO", "CaO", "SrO", "BaO")
ZINC_LEAD: Final = ("ZnO", "PbO")


def _sum(unity: Unity, oxides: Iterable[str]) -> Decimal:
    return sum((unity.of(oxide) for oxide in oxides), Decimal(0))


class Figure(NamedTuple):
    """What an axis may show: its name for a reader, and how it is had from a unity formula."""

    words: str
    of: Callable[[Unity], Decimal]


FIGURES: Final = MappingProxyType(
    {
        "silica": Figure("SiO\u2082", lambda unity: unity.of("SiO2")),
        "alumina": Figure("Al\u2082O\u2083", lambda unity: unity.of("Al2O3")),
        "boron": Figure("B\u2082O\u2083", lambda unity: unity.boron),
        "alkalis": Figure("alkalis", lambda unity: _sum(unity, ALKALIS)),
        "earths": Figure("MgO + CaO + SrO + BaO", lambda unity: _sum(unity, EARTHS)),
        "magnesia": Figure("MgO", lambda unity: unity.of("MgO")),
        "zinc": Figure("ZnO", lambda unity: unity.of("ZnO")),
    }
)
"""What may be drawn across and upwards, in mol to one of the fluxes, by the word of the option."""


class Axes(NamedTuple):
    """Two keys of FIGURES."""

    across: str = "silica"
    up: str = "alumina"


SILICA_ALUMINA: Final = Axes()


class Point(NamedTuple):
    """A glaze: ``x`` and ``y`` are the figures of the axes; the others are mol to one of the fluxes, of which
    ``alkalis``, ``earths`` and ``zinc_lead`` are the parts. ``low`` and ``high`` are the ranks of its cones in the
    order of heat, -1 without one; ``atmosphere`` is as written, "" without one. All figures have six decimals."""

    name: str
    file: str
    cone: str
    low: int
    high: int
    atmosphere: str
    x: float
    y: float
    silica: float
    alumina: float
    boron: float
    alkalis: float
    earths: float
    zinc_lead: float

    @property
    def range(self) -> int:
        """Its place in RANGES."""
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


Given = tuple[str, Recipe, Calculator]
"""A recipe: its file as shown, what it means, and the materials that it is calculated with."""


def wanted_cones(cone: Cone) -> tuple[int, int]:
    """The ranks of a range of cones. Raises ValueError for one that is not known."""
    if not cone.known:
        raise ValueRefusedError(f"cone {cone} is not one of {KNOWN[0]} to {KNOWN[-1]}")
    return cone.ranks


def points(
    recipes: Iterable[Given], wanted: Wanted, axes: Axes = SILICA_ALUMINA
) -> tuple[list[Point], list[LeftOut]]:
    """The points of recipes by name, each as it stands and without its variations; and those that were meant and have
    none. What is no glaze, or of another cone or atmosphere, is in neither."""
    found: list[Point] = []
    left_out: list[LeftOut] = []
    for file, recipe, kiln in recipes:
        if recipe.kind != "glaze" or not _is_wanted(wanted, recipe):
            continue
        one = point_of(next(tests(recipe)), file, kiln, axes)
        if isinstance(one, Point):
            found.append(one)
        else:
            left_out.append(one)
    found.sort(key=lambda point: (point.name.casefold(), point.name, point.file))
    left_out.sort()
    return found, left_out


def point_of(test: Test, file: str, kiln: Calculator, axes: Axes) -> Point | LeftOut:
    """One test on the chart, or why it has no place there: figures of a part are not those of the whole."""
    fired = kiln.fire(test)
    if not fired.nearly_known:
        names = ", ".join(dict.fromkeys(one.name for one in fired.unknown))
        return LeftOut(test.name, f"what {names} brings is not known")
    if fired.unity is None:
        return LeftOut(test.name, "none of its oxides is a flux")
    unity = fired.unity
    figures = (
        *(FIGURES[key].of(unity) for key in (*axes, "silica", "alumina", "boron", "alkalis", "earths")),
        _sum(unity, ZINC_LEAD),
    )
    cone = test.recipe.fields.get("cone")
    return Point(
        test.name,
        file,
        str(cone) if isinstance(cone, Cone) else "",
        *_ranks(test.recipe),
        _atmosphere(test.recipe),
        *(float(round(figure, 6)) for figure in figures),
    )


def variations(
    recipe: Recipe, file: str, kiln: Calculator, axes: Axes
) -> Iterator[tuple[Test, Point | LeftOut]]:
    """Every test of a recipe but itself, with its place."""
    for test in tests(recipe):
        if test.label:
            yield test, point_of(test, file, kiln, axes)


def _ranks(recipe: Recipe) -> tuple[int, int]:
    cone = recipe.fields.get("cone")
    return wanted_cones(cone) if isinstance(cone, Cone) and cone.known else (-1, -1)


def _atmosphere(recipe: Recipe) -> str:
    return str(recipe.fields.get("atmosphere", ""))


def _is_wanted(wanted: Wanted, recipe: Recipe) -> bool:
    if wanted.atmospheres and _atmosphere(recipe) not in wanted.atmospheres:
        return False
    low, high = _ranks(recipe)
    return wanted.cones is None or (high >= wanted.cones[0] and 0 <= low <= wanted.cones[1])
