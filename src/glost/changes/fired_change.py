"""What a change of a recipe does to what it fires to: unity formula, loss on ignition, expansion."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from glost.chemistry.additive import Estimate
from glost.chemistry.firing import Calculator
from glost.chemistry.unity import place
from glost.output.formula.account import Account, Choice, account
from glost.recipe.recipe import Recipe, Test, tests


class Term(NamedTuple):
    """An oxide of the unity formula, in mol where the fluxes are 1, on both sides; 0 where it is not there."""

    oxide: str
    old: Decimal
    new: Decimal


class FiredChange(NamedTuple):
    """One test that stands on both sides. ``terms`` is None where a side has no unity formula; ``expansion`` is None
    where a side has no estimate or they are of two models, and ``loss`` is in % of the dry batch. ``partial``: a
    side holds something unknown, so that these are figures of the known rest."""

    label: str
    terms: tuple[Term, ...] | None
    loss: tuple[Decimal, Decimal]
    expansion: tuple[Estimate, Estimate] | None
    partial: bool

    @property
    def changed(self) -> bool:
        """Whether anything in it differs by more than what calculation at another scale leaves in the last digits."""
        return (
            any(round(term.new - term.old, 6) for term in self.terms or ())
            or bool(round(self.loss[1] - self.loss[0], 6))
            or (self.expansion is not None and abs(self.expansion[1].value - self.expansion[0].value) > 1e-6)
        )


def fired_changes(
    old: Recipe, new: Recipe, old_kiln: Calculator, new_kiln: Calculator
) -> tuple[FiredChange, ...]:
    """The tests that stand on both sides under one label and fire to something else, the recipe itself first."""
    before = {test.label: test for test in tests(old)}
    return tuple(
        change
        for test in tests(new)
        if (was := before.get(test.label)) is not None
        for change in _between(was, test, old_kiln, new_kiln)
    )


def _between(old: Test, new: Test, old_kiln: Calculator, new_kiln: Calculator) -> Iterator[FiredChange]:
    accounts = account("", old, old_kiln, Choice()), account("", new, new_kiln, Choice())
    change = FiredChange(
        new.label,
        _terms(*accounts),
        (accounts[0].fired.loss, accounts[1].fired.loss),
        _expansion(*accounts),
        any(one.fired.partial for one in accounts),
    )
    if change.changed:
        yield change


def _terms(old: Account, new: Account) -> tuple[Term, ...] | None:
    if old.fired.unity is None or new.fired.unity is None:
        return None
    was = {term.oxide: term.equivalents for term in old.fired.unity.terms}
    now = {term.oxide: term.equivalents for term in new.fired.unity.terms}
    nothing = Decimal(0)
    oxides = sorted({*was, *now}, key=place)
    return tuple(Term(oxide, was.get(oxide, nothing), now.get(oxide, nothing)) for oxide in oxides)


def _expansion(old: Account, new: Account) -> tuple[Estimate, Estimate] | None:
    if old.expansion is None or new.expansion is None or old.expansion.model != new.expansion.model:
        return None
    return old.expansion, new.expansion
