"""The account of one test: what it fires to, with the estimates that may be made of it. Every form of output shows
this and calculates nothing by itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Final

from glost.chemistry import expansion, softening
from glost.chemistry.additive import CompositionError, Estimate
from glost.chemistry.firing import Calculator, Fired, On
from glost.chemistry.unity import FLUXES, PLAIN, WITH_COLOURANTS, Convention, place
from glost.recipe.recipe import Test

MODELS: Final = expansion.MODELS
NOT_A_GLASS: Final = ("body", "engobe", "slip")
"""Kinds that do not melt to a glass, so that no estimate holds for them."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a formula is calculated with: what is taken as 1, whether colouring oxides of the form RO count among the
    fluxes, and the model of the expansion."""

    on: On = "flux"
    counting_colourants: bool = False
    model: str = expansion.OWN

    @property
    def convention(self) -> Convention:
        return WITH_COLOURANTS if self.counting_colourants else PLAIN


@dataclass(frozen=True)
class Account:
    """``file`` as it is shown. ``expansion`` and ``softening`` are None where no estimate is made; ``withheld``
    then says why, in the order in which the estimates stand."""

    file: str
    fired: Fired
    choice: Choice
    expansion: Estimate | None
    softening: Estimate | None
    withheld: tuple[str, ...]

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
    def fired_weight(self) -> Mapping[str, Decimal]:
        """The fired composition in % by mass."""
        melt = self.fired.melt
        return melt.weight_percent() if melt else {}

    @cached_property
    def fired_mol(self) -> Mapping[str, Decimal]:
        """The fired composition in % by mol."""
        melt = self.fired.melt
        return melt.mol_percent() if melt else {}


def account(file: str, test: Test, kiln: Calculator, choice: Choice) -> Account:
    """The account of one test. ``kiln`` holds the catalogue and the convention of ``choice``."""
    fired = kiln.fire(test)
    why = _no_glass(fired)
    if fired.melt is None or why:
        return Account(file, fired, choice, None, None, (f"no estimates: {why}",) if why else ())
    withheld: list[str] = []
    oxides = {oxide: float(grams) for oxide, grams in fired.melt.oxides.items()}

    def estimate(what: str, made: Callable[[], Estimate]) -> Estimate | None:
        try:
            return made()
        except CompositionError as error:
            withheld.append(f"no estimate of the {what}: {error}")
            return None

    expands = estimate("expansion", lambda: expansion.estimate(oxides, choice.model))
    flows = estimate("fusibility", lambda: softening.estimate(oxides))
    return Account(file, fired, choice, expands, flows, tuple(withheld))


def _no_glass(fired: Fired) -> str:
    """Why no estimate holds for a test, "" where one may be made."""
    if fired.melt is None:
        return ""
    if fired.partial:
        return "they would be those of another glaze, since part of the batch is unknown"
    kind = fired.test.recipe.kind
    if kind in NOT_A_GLASS:
        return f"they hold for a glass, and this is {_a(kind)}"
    if not any(oxide in FLUXES for oxide in fired.melt.moles):
        return "they hold for a glass, and there is no flux in this to make one"
    return ""


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"
