"""From a test to what it fires to: the melt, the unity formula, the loss on ignition, and what is not known of it.

Nothing here raises for a composition that cannot be used: that material then counts as unknown, with the reason.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Any, Final, Literal, NamedTuple

from glost.chemistry.analysis import Analysis, analyse
from glost.chemistry.bracket import corners, invented
from glost.chemistry.charge import melted
from glost.chemistry.melt import Line, Melt, melt
from glost.chemistry.unity import PLAIN, Convention, Unity, unity
from glost.recipe.materials.catalogue import Catalogue, Material
from glost.recipe.materials.elements import exact_enough
from glost.recipe.materials.oxides import STANDARD, OxideTable
from glost.recipe.recipe import Part, Test

On = Literal["flux", "alumina"]

LITTLE: Final = Decimal(5)
"""Up to so many percent of the dry batch may be unknown, and the figures still told as those of the whole."""

NOT_IN_CATALOGUE: Final = "not in the catalogue; enter it and its analysis in the collection's materials.yaml"
NO_COMPOSITION: Final = (
    "no composition is held; enter its analysis or formula in the collection's materials.yaml"
)
NOTHING: Final = "all amounts are 0, so that there is nothing to fire"


class Unknown(NamedTuple):
    """A line of a test that nothing is known of: the material as the recipe writes it, its ``percent`` of the dry
    batch, and why. ``broken``: a composition is held, but it cannot be used."""

    name: str
    percent: Decimal
    reason: str
    broken: bool = False


@dataclass(frozen=True, slots=True)
class Fired:
    """What a test fires to. ``melt`` is None where there is nothing to weigh, ``unity`` where nothing in it is taken
    as 1; ``problems`` say why, and name compositions that cannot be used. ``loss`` is the loss on ignition and
    ``unknown_percent`` the share of ``unknown`` lines, both in % of the dry batch, additions included. Where that
    share is above 0 the melt, the unity formula and the loss are those of the known rest: see ``partial``.
    ``invented``: materials, as the recipe writes them, whose composition is made up. ``brackets``: those that may be
    something else than what they are counted as, with whether that is an ideal formula."""

    test: Test
    melt: Melt | None
    unity: Unity | None
    loss: Decimal
    unknown_percent: Decimal
    unknown: tuple[Unknown, ...]
    problems: tuple[str, ...]
    invented: tuple[str, ...] = ()
    brackets: tuple[tuple[str, bool], ...] = ()

    @property
    def partial(self) -> bool:
        """Whether something in it is unknown, so that no figure describes the whole."""
        return bool(self.unknown)

    @property
    def nearly_known(self) -> bool:
        """Whether so little is unknown that the figures are those of the whole, only less sharp."""
        return self.unknown_percent <= LITTLE


class Calculator:
    """Fires the tests of one catalogue, with one table of oxides and one convention; calculates each material once."""

    def __init__(
        self,
        catalogue: Catalogue,
        table: OxideTable = STANDARD,
        convention: Convention = PLAIN,
        on: On = "flux",
    ) -> None:
        self.convention = convention
        self.on: On = on
        self._catalogue = catalogue
        self._table = table
        self._known: dict[str, Analysis | Unknown] = {}
        self._corners: dict[str, tuple[Analysis, ...]] = {}
        self._invented: dict[str, bool] = {}
        self._materials: dict[str, tuple[Analysis | Unknown, tuple[Analysis, ...], bool]] = {}

    def analysis(self, name: str) -> Analysis | Unknown:
        """What 100 g of a material bring, or why nothing is known of it (with a percent of 0). Never raises."""
        found = self._known.get(name)
        if found is None:
            material = self._catalogue.find(name)
            record = material.composition if material else None
            if record and record["kind"] == "charge":
                self._known[name] = Unknown(
                    name, Decimal(0), "its charge holds itself, by way of another frit"
                )
                found = self._melted(name, record)
            else:
                found = _calculated(name, material, self._table)
            self._known[name] = found
        return found

    def _melted(self, name: str, record: Mapping[str, Any]) -> Analysis | Unknown:
        """A frit that is given by what is melted for it."""
        lines = []
        for part, amount in record["parts"].items():
            known = self.analysis(part)
            if isinstance(known, Unknown):
                return Unknown(name, Decimal(0), f"its charge holds {part}: {known.reason}")
            lines.append(Line(part, Decimal(amount), known))
        try:
            return melted(lines, self._table, record)
        except (ValueError, ArithmeticError) as error:
            return Unknown(name, Decimal(0), f"its charge cannot be used: {error}", True)

    def _charges(self, record: Mapping[str, Any]) -> tuple[Analysis, ...]:
        """What else a frit may be: every choice of what its charge may be."""
        amounts = [Decimal(amount) for amount in record["parts"].values()]
        held = [
            (known, *self.corners(part))
            for part in record["parts"]
            if isinstance(known := self.analysis(part), Analysis)
        ]
        if all(len(choices) == 1 for choices in held):
            return ()
        return tuple(
            melted(
                [Line("", amount, one) for amount, one in zip(amounts, chosen, strict=True)],
                self._table,
                record,
            )
            for chosen in itertools.product(*held)
        )

    def corners(self, name: str) -> tuple[Analysis, ...]:
        """What else a material may be than its analysis says: see ``bracket``. Never raises."""
        found = self._corners.get(name)
        if found is None:
            material = self._catalogue.find(name)
            known = not isinstance(self.analysis(name), Unknown)
            record = material.composition if material and known else None
            if record and record["kind"] == "charge":
                found = self._charges(record)
            else:
                found = corners(record, self._table)
            self._corners[name] = found
        return found

    def invented(self, name: str) -> bool:
        """Whether the composition of a material is made up."""
        found = self._invented.get(name)
        if found is None:
            found = self._invented[name] = self._is_invented(name)
        return found

    def _is_invented(self, name: str) -> bool:
        material = self._catalogue.find(name)
        record = material.composition if material else None
        if record and record["kind"] == "charge" and isinstance(self.analysis(name), Analysis):
            return any(map(self.invented, record["parts"]))
        return invented(record)

    def _held(self, name: str) -> tuple[Analysis | Unknown, tuple[Analysis, ...], bool]:
        """All that a line asks of its material: its analysis, its corners, and whether they are made up."""
        found = self._materials.get(name)
        if found is None:
            found = self._materials[name] = self.analysis(name), self.corners(name), self.invented(name)
        return found

    def fire(self, test: Test) -> Fired:
        """What a test fires to. Never raises for a test that the language can write."""
        weighed = [part for part in (*test.base, *test.additions) if part.parts]
        lines: list[Line] = []
        missing: list[tuple[Part, Unknown]] = []
        made_up: dict[str, None] = {}
        varying: dict[str, bool] = {}
        for at, part in enumerate(weighed, 1):
            called = part.called
            known, corners, invented = self._held(called)
            if isinstance(known, Unknown):
                missing.append((part, known))
                lines.append(Line(called, part.parts, None, at))
            else:
                lines.append(Line(called, part.parts, known, at, corners))
                if corners and not invented:
                    varying[part.name] = known.kind == "formula"
            if invented:
                made_up[part.name] = None
        if not lines:
            return Fired(test, None, None, Decimal(0), Decimal(0), (), (NOTHING,))
        fired = melt(lines, self._table)
        problems = [f"{part.name}: {known.reason}" for part, known in missing if known.broken]
        formula = None
        if fired.moles:
            try:
                formula = unity(fired, self.convention, self.on)
            except ValueError as error:
                problems.append(f"no unity formula: {error}")
        else:
            problems.append("no unity formula: no known oxide stays in the fire")
        unknown = tuple(_shares(missing, fired.total_parts))
        return Fired(
            test,
            fired,
            formula,
            fired.loss,
            fired.unknown,
            unknown,
            tuple(dict.fromkeys(problems)),
            tuple(made_up),
            tuple(varying.items()),
        )


def _calculated(name: str, material: Material | None, table: OxideTable) -> Analysis | Unknown:
    if material is None:
        return Unknown(name, Decimal(0), NOT_IN_CATALOGUE)
    if material.composition is None:
        return Unknown(name, Decimal(0), NO_COMPOSITION)
    if material.composition["kind"] == "unknown":
        return Unknown(name, Decimal(0), material.composition["source"])
    try:
        return analyse(material.composition, table)
    # A count of 0 in a formula divides by 0, one with a hundred figures leaves the range of Decimal.
    except (ValueError, ArithmeticError) as error:
        said = str(error) if isinstance(error, ValueError) else "its figures cannot be calculated with"
        return Unknown(name, Decimal(0), f"its {material.composition['kind']} cannot be used: {said}", True)


def _shares(missing: list[tuple[Part, Unknown]], total: Decimal) -> Iterator[Unknown]:
    with localcontext(exact_enough()):
        for part, known in missing:
            yield known._replace(name=part.name, percent=part.parts * 100 / total)
