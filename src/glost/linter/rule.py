"""What a rule is, and which there are.

A rule is one file in rules/. Its module holds one ``RULE``; the file's name is the rule's name with
underscores. The page in docs/, ``glost explain`` and the tests are made from that one value.
"""

from __future__ import annotations

import functools
import importlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol, TypeAlias

from glost.language.diagnostics import Diagnostic

if TYPE_CHECKING:
    from decimal import Decimal

    from glost.linter.allowances import Allowance
    from glost.recipe import analysed
    from glost.recipe.analysed import AnalysedRecipe
    from glost.recipe.firing import ResolvedFiring
    from glost.recipe.library import Library
    from glost.recipe.materials.catalogue import Catalogue, Material
    from glost.recipe.recipe import Test
    from glost.recipe.settings import Settings

_FOLDER = Path(__file__).parent / "rules"


class Checked:
    """What a rule is given: one page's meaning, and what the collection says. What several rules ask is worked out
    once: that is a third of the time of all rules on a page of four tests."""

    def __init__(
        self,
        resolved: AnalysedRecipe,
        catalogue: Catalogue,
        settings: Settings,
        batch_g: Decimal,
        allowances: tuple[Allowance, ...] = (),
        library: Library | None = None,
        file: str = "",
    ) -> None:
        """``batch_g``: the mass of the base in grams: the command's, else the recipe's, else the collection's, else
        100. ``library``: the recipes that this page may use, where it lies in a collection. ``file``: the page's; "-"
        for one that lies in none, and "" where that is not said."""
        self.resolved = resolved
        self.catalogue = catalogue
        self.settings = settings
        self.batch_g = batch_g
        self.allowances = allowances
        self.library = library
        self.file = file

    @functools.cached_property
    def base_total(self) -> Decimal:
        """The sum of the base in parts; of a base in masses, in grams."""
        return self.resolved.recipe.base_total

    @functools.cached_property
    def tests(self) -> tuple[Test, ...]:
        """Every test of the recipe."""
        from glost.recipe.recipe import tests

        return tuple(tests(self.resolved.recipe))

    @functools.cached_property
    def weighed(self) -> tuple[analysed.Weighed, ...]:
        """What is weighed for every line, in the order of the page."""
        return tuple(self.resolved.weighed())

    @functools.cached_property
    def materials(self) -> tuple[tuple[analysed.Weighed, Material], ...]:
        """Every material that the catalogue holds, once, with the first line that has it weighed."""
        first: dict[str, tuple[analysed.Weighed, Material]] = {}
        for one in self.weighed:
            material = self.catalogue.find(one.material) if one.material else None
            if material is not None:
                first.setdefault(material.name, (one, material))
        return tuple(first.values())


class Shared(NamedTuple):
    """What must not be the same in two recipes of a collection. Where two have one ``key``, ``diagnostic`` is found in
    each, with the places of the others for the word {others} in its message. Recipes with one ``apart`` are not
    compared with each other."""

    key: str
    diagnostic: Diagnostic
    apart: str = ""


class Weighed(NamedTuple):
    """What the log says of a batch: the recipe, the test's label ("" for the recipe itself), and the day."""

    recipe: str
    test: str
    day: str


class Surroundings(Protocol):
    """What lies around the page of a firing."""

    def has_photo(self, place: str) -> bool:
        """Whether there is a file at that place, seen from the page."""
        ...

    def batch(self, name: str) -> Weighed | None:
        """The record of that name in the log, None where it holds none."""
        ...


class CheckedFiring(NamedTuple):
    """What a rule is given of a firing."""

    resolved: ResolvedFiring
    library: Library | None
    around: Surroundings | None


FiringCheck: TypeAlias = "Callable[[CheckedFiring], Iterator[Diagnostic]]"
Check: TypeAlias = Callable[[Checked], Iterator[Diagnostic]]
Share: TypeAlias = Callable[[Checked], Iterator[Shared]]
Idle: TypeAlias = "Callable[[Checked, Sequence[Allowance]], Iterator[Diagnostic]]"


def level_of(rule: Rule, levels: Mapping[str, str]) -> str:
    """The level of a rule where a collection gives these: its own, where that names none."""
    return levels.get(rule.name, rule.level)


class Expected(NamedTuple):
    """What a rule must say of its bad example: where, and in which words."""

    line: int
    column: int
    message: str


class Rule(NamedTuple):
    """One rule. ``why`` says what goes wrong at the bench or in the kiln; ``bad`` is a page on which it finds
    exactly ``expected``; ``good`` is that page fixed; ``fixed`` is the bad page after ``--fix``, where the rule
    can fix it alone, and ``rescaled`` after ``--fix --rescale``, where it takes that. ``doubtful``: what the rule finds
    puts the amounts of a page in doubt, so that nothing is rescaled there. ``settings`` is the glost.yaml that the
    examples stand under, ``materials`` the materials file that it names, ``beside`` another recipe of the collection.
    ``level`` is off for a rule that a collection has to turn on, as its ``settings`` then do. A rule looks at a page
    (``check``), holds pages against each other
    (``shared``), looks at the allowances that caught nothing (``idle``), or at the page of a firing (``firing``)."""

    name: str
    level: str
    summary: str
    why: str
    how_to_fix: str
    bad: str
    expected: tuple[Expected, ...]
    good: str
    check: Check | None = None
    shared: Share | None = None
    idle: Idle | None = None
    firing: FiringCheck | None = None
    fixed: str | None = None
    rescaled: str | None = None
    doubtful: bool = False
    settings: str = ""
    materials: str = ""
    beside: str | None = None


@functools.cache
def rule_names() -> frozenset[str]:
    """The names of all rules, known from the files alone."""
    return frozenset(path.stem.replace("_", "-") for path in _FOLDER.glob("*.py") if path.stem != "__init__")


@functools.cache
def all_rules() -> tuple[Rule, ...]:
    """Every rule, by name."""
    return tuple(find_rule(name) for name in sorted(rule_names()))


def find_rule(name: str) -> Rule:
    """The rule of that name. Raises KeyError for a name that is not in rule_names()."""
    if name not in rule_names():
        raise KeyError(name)
    module = importlib.import_module(f"glost.linter.rules.{name.replace('-', '_')}")
    rule: Rule = module.RULE
    if rule.name != name:
        raise AssertionError(f"the rule in {module.__name__} is called {rule.name}")
    return rule
