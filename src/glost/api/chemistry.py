"""What a test fires to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from glost.api import pages
from glost.api.recipes import Recipe, Test, test_of
from glost.errors import ValueRefusedError
from glost.output.formula import as_json, text
from glost.output.formula.account import MODELS, Account, Choice, account
from glost.recipe.materials.oxides import IRON_AS


@dataclass(frozen=True)
class Formula:
    """What one test fires to, as figures that a float carries without noise. ``unity``: equivalents by oxide,
    the fluxes taken as 1; None where nothing is. ``weight_percent`` and ``mol_percent``: of the fired glaze, by
    oxide. ``loss_percent``: what goes away in the kiln. ``partial``: a part of the batch has no known composition, so
    that all figures are those of the rest. ``remarks``: what was left out, and why there is no estimate."""

    test: Test
    unity: Mapping[str, float] | None
    weight_percent: Mapping[str, float]
    mol_percent: Mapping[str, float]
    silica_to_alumina: float | None
    loss_percent: float
    partial: bool
    remarks: tuple[str, ...]
    account: Account = field(repr=False, compare=False)
    """For glost alone."""

    @property
    def data(self) -> dict[str, Any]:
        """One of ``tests`` as ``glost formula --output json`` has it (schema/formula.schema.json), estimates and their
        uncertainty among it."""
        return as_json.data(self.account)

    @property
    def text(self) -> str:
        """As ``glost formula`` prints it."""
        return text.part(self.account)

    def _repr_html_(self) -> str:
        return pages.formula_page(
            self.test.name, self.unity, self.weight_percent, self.mol_percent, self.remarks
        )


def formula(
    recipe: Recipe | Test,
    *,
    test: str | None = None,
    on: str = "flux",
    counting_colourants: bool = False,
    expansion: str = MODELS[0],
    iron: str = "Fe2O3",
) -> Formula:
    """What a recipe, or one test of it, fires to. ``on``: what is taken as 1, "flux" or "alumina".
    ``counting_colourants``: colouring oxides such as CoO count among the fluxes. ``expansion``: the model of that
    estimate. ``iron``: the oxide that iron is counted as, "Fe2O3", "Fe3O4" or "FeO". Raises ValueRefusedError,
    NotFoundError."""
    if on not in ("flux", "alumina"):
        raise ValueRefusedError(f"nothing can be taken as 1 but flux or alumina, and not '{on}'")
    if expansion not in MODELS:
        raise ValueRefusedError(f"there is no model '{expansion}'", f"the models are: {', '.join(MODELS)}")
    if iron not in IRON_AS:
        raise ValueRefusedError(f"iron cannot be counted as '{iron}'", f"it can be: {', '.join(IRON_AS)}")
    one = test_of(recipe, test)
    choice = Choice("alumina" if on == "alumina" else "flux", counting_colourants, expansion, iron)
    usable = one.recipe.usable
    collection = usable.collection
    calculator = choice.calculator(collection.catalogue)
    found = account(usable.file, one.inner, calculator, choice, collection.settings.bodies, collection.called)
    data = as_json.data(found)
    return Formula(
        one,
        data["unity"],
        data["fired_weight_percent"],
        data["mol_percent"],
        data["silica_to_alumina"],
        data["loss_on_ignition"],
        data["partial"],
        tuple(data["remarks"]),
        found,
    )
