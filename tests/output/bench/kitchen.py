"""Recipes and balances that the bench is tried with."""

from __future__ import annotations

from decimal import Decimal

from glost.language.parse import parse
from glost.language.source import Source
from glost.output.format import Job
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import Test, tests
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings
from glost.weighing.balance import Balance
from glost.workspace.collection import Collections, find
from glost.workspace.load import load
from tests.conftest import STUDIO

D = Decimal
FINE = Balance("fine", D(300), D("0.01"))
FLOOR = Balance("floor", D(6000), D("0.1"), cup_g=D(80))
HOUSE = Settings(
    balances=(FINE, FLOOR), water=D(75), handling={"silica": "P100 respirator; wet-clean, never sweep."}
)
MIST = """\
glaze "Harbour Mist"
cone: 6
sieve: 100 mesh
base:
    nepheline syenite      38
    flint                  22  (from the blue bin)
    whiting                14
    kaolin                 16
    zinc oxide             10
additions:
    tin oxide               4
    cobalt carbonate        0.5
handling:
    cobalt carbonate: P100 respirator and gloves.
variation "storm":
    cobalt carbonate        1
"""


def job(text: str = MIST, settings: Settings = HOUSE) -> Job:
    resolved = resolve(parse(Source("mist.glost", text)), shipped_catalogue())
    assert not resolved.page.diagnostics
    return Job("mist.glost", resolved.recipe, settings, shipped_catalogue())


def only_test(made: Job, label: str = "") -> Test:
    return next(test for test in tests(made.recipe) if test.label == label)


def studio_work() -> list[tuple[Job, Test]]:
    """Every test of the demo collection."""
    collections = Collections()
    found = []
    for path in find([str(STUDIO)], collections):
        entry = load(path, collections)
        one = Job(entry.file, entry.resolved.recipe, entry.collection.settings, entry.collection.catalogue)
        found += [(one, test) for test in tests(entry.resolved.recipe)]
    return found
