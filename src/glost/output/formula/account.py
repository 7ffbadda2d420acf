"""The account of one test: what it fires to, with the estimates that may be made of it. Every form of output shows
this and calculates nothing by itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property, partial
from types import MappingProxyType
from typing import Final

from glost.chemistry import expansion, softening
from glost.chemistry.additive import (
    Composition,
    CompositionError,
    Estimate,
    Estimated,
    Glass,
    Withheld,
    fitted,
)
from glost.chemistry.body_fit import BodyFit, body_fit
from glost.chemistry.estimate_span import Moves, Span
from glost.chemistry.firing import Calculator, Fired, On
from glost.chemistry.ranges import Ranges, ranges
from glost.chemistry.unity import FLUXES, PLAIN, WITH_COLOURANTS, Convention, place
from glost.output.format import Revision
from glost.recipe.body import Body, body_of
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.materials.oxides import IRON_AS
from glost.recipe.recipe import Test

MODELS: Final = expansion.MODELS
NOT_A_GLASS: Final = ("body", "engobe", "slip", "wash")
"""Kinds that do not melt to a glass, so that no estimate holds for them."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a formula is calculated with: what is taken as 1, whether colouring oxides of the form RO count among the
    fluxes, the model of the expansion, and the oxide that iron is counted as."""

    on: On = "flux"
    counting_colourants: bool = False
    model: str = expansion.OWN
    iron: str = "Fe2O3"

    @property
    def convention(self) -> Convention:
        return WITH_COLOURANTS if self.counting_colourants else PLAIN

    def calculator(self, catalogue: Catalogue) -> Calculator:
        """A calculator that keeps to this choice."""
        return Calculator(catalogue, IRON_AS[self.iron], self.convention, self.on)


@dataclass(frozen=True)
class Account:
    """``file`` as it is shown. ``expansion`` and ``softening`` are None where no estimate is made; ``withheld``
    then says why, in the order in which the estimates stand. ``fit``: how it would sit on the recipe's body, None
    where no body is known. ``spans``: how far each estimate moves with what the materials may be, where it does."""

    file: str
    fired: Fired
    choice: Choice
    expansion: Estimate | None
    softening: Estimate | None
    withheld: tuple[str, ...]
    fit: BodyFit | None = None
    spans: Mapping[str, Span] = field(default_factory=dict)
    collection: str = ""
    revision: Revision | None = None
    """Where the recipe is from; both are for programs, and only looked up for them."""

    @property
    def test(self) -> Test:
        return self.fired.test

    @property
    def remarks(self) -> tuple[str, ...]:
        """What the calculation leaves out, and why there is no estimate."""
        melt = self.fired.melt
        return (*(melt.remarks if melt else ()), *self.withheld)

    @cached_property
    def oxides(self) -> tuple[str, ...]:
        """The oxides that stay, in the order of print."""
        melt, unity = self.fired.melt, self.fired.unity
        if unity is not None:
            return tuple(term.oxide for term in unity.terms)
        return tuple(sorted(melt.oxides, key=place)) if melt else ()

    @cached_property
    def ranges(self) -> Ranges | None:
        """How far the figures may lie off; None where every material is known to be what it is counted as."""
        melt = self.fired.melt
        return None if melt is None else ranges(melt, self.choice.convention, self.choice.on)

    @cached_property
    def fired_weight(self) -> Mapping[str, Decimal]:
        """The fired composition in % by mass."""
        melt = self.fired.melt
        return melt.weight_percent() if melt else {}

    @cached_property
    def fired_mol(self) -> Mapping[str, Decimal]:
        """The fired composition in % by mol."""
        melt = self.fired.melt
        return melt.mol_percent() if melt else {}


def account(
    file: str,
    test: Test,
    kiln: Calculator,
    choice: Choice,
    bodies: Mapping[str, Body] = MappingProxyType({}),
    collection: str = "",
    revision: Revision | None = None,
) -> Account:
    """The account of one test. ``kiln`` holds the catalogue and the convention of ``choice``; ``bodies`` are those
    whose expansion is known."""
    fired = kiln.fire(test)
    why = _no_glass(fired)
    withheld = [f"no estimates: {why}"] if why else []
    if fired.melt is None or why:
        return Account(
            file, fired, choice, None, None, tuple(withheld), collection=collection, revision=revision
        )
    melt = fired.melt
    spans: dict[str, Span] = {}
    glass: Glass = {oxide: float(grams) for oxide, grams in melt.oxides.items()}
    with suppress(CompositionError):
        glass = fitted(glass, "wt")  # once for all estimates
    moves = Moves(melt, glass if isinstance(glass, Composition) else None)

    def estimate(
        what: str, make: Callable[[Glass], Estimated], moved_by: Callable[[], Span | None]
    ) -> Estimate | None:
        try:
            found = make(glass)
        except CompositionError as error:
            found = Withheld(str(error), "", "")
        if isinstance(found, Withheld):
            withheld.append(f"no figure for the {what}: {found.reason}")
            return None
        moved = moved_by()
        if moved is not None:
            spans[what] = moved
        return moves.widened(found, make)

    model = choice.model
    expands = estimate(
        "expansion",
        lambda glass: expansion.estimate(glass, model),
        lambda: moves.expansion(model),
    )
    flows = estimate("fusibility", softening.estimate, moves.softening)
    sits = None
    body = body_of(str(test.recipe.fields.get("body", "")), bodies)
    if body is not None and expands and fired.unknown:
        withheld.append(f"nothing of crazing on '{body.name}': a part of the batch is unknown")
    elif body is not None and expands:
        sits = body_fit(glass, body, model, moved_by=partial(moves.expansion, model))
    named = str(test.recipe.fields.get("body", ""))
    if named and bodies and body is None:
        known = ", ".join(f"'{one.name}'" for one in bodies.values())
        withheld.append(f"nothing of crazing: glost.yaml holds no body '{named}'; its bodies are {known}")
    return Account(
        file,
        fired,
        choice,
        expands,
        flows,
        tuple(withheld),
        sits if isinstance(sits, BodyFit) else None,
        spans,
        collection,
        revision,
    )


def _no_glass(fired: Fired) -> str:
    """Why no estimate holds for a test, "" where one may be made."""
    if fired.melt is None:
        return ""
    if not fired.nearly_known:
        return "they would be those of another glaze, since part of the batch is unknown"
    kind = fired.test.recipe.kind
    if kind in NOT_A_GLASS:
        return f"they hold for a glass, and this is {_a(kind)}"
    if not any(oxide in FLUXES for oxide in fired.melt.moles):
        return "they hold for a glass, and there is no flux in this to make one"
    return ""


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"
