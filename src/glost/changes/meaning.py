"""What a recipe says, place by place, so that two can be laid side by side whatever their spelling, order and scale.

Amounts stand on a base of 100, exact. A page whose series or blends say the whole base is at the scale of their
columns: what they total in the mean. A base that totals 0 has no scale; its amounts stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal, NamedTuple, TypeAlias, get_args

from glost.recipe.fields import Quantity, Value
from glost.recipe.materials.catalogue import Catalogue, key
from glost.recipe.recipe import Blend, Ingredient, Recipe, Series, Step, names_a_recipe, parts
from glost.weighing.units import MASS_UNITS, grams

Section = Literal[
    "kind",
    "name",
    "field",
    "base",
    "additions",
    "variation",
    "base variation",
    "series",
    "base series",
    "blend",
    "base blend",
    "handling",
    "notes",
    "through",
    "allowances",
    "house notes",
    "balances",
    "settings",
    "materials",
]
SECTIONS: Final[tuple[Section, ...]] = get_args(Section)
"""The sections of a recipe, and behind them what stands around it, in the order in which changes are told."""

AROUND: Final = SECTIONS[SECTIONS.index("allowances") :]
"""What holds for a recipe and is no part of it: which findings its page lets stand, and what its collection says."""
OF_THE_COLLECTION: Final = AROUND[1:]

WEIGHED: Final = (
    "base",
    "additions",
    "variation",
    "base variation",
    "series",
    "base series",
    "blend",
    "base blend",
)
"""The sections that hold amounts."""

THROUGH: Final = "through"
"""The section of what a recipe holds by those among its ingredients, which stand on pages of their own."""

_BASES: Final = ("base series", "base blend")
"""The sections that may say a whole base."""

_ALL: Final = "all"


class Place(NamedTuple):
    """Where something is said: ``within`` names the variation or series, ``what`` the material, or the key of a field.
    A material stands under its canonical name, one that is not known under its name in lower case. A variation or
    series has a place of its own with an empty ``what``."""

    section: Section
    within: str = ""
    what: str = ""

    @property
    def order(self) -> tuple[int, str, str]:
        """What places are sorted by."""
        return SECTIONS.index(self.section), self.within, self.what


class Weighed(NamedTuple):
    """How much of a material: parts for 100 of the base, one amount, or one a step of a series. A material that stands
    twice among additions or in a variation has two amounts; in a base or a series they are added up."""

    on_100: tuple[Fraction, ...]
    note: str = ""


Fact: TypeAlias = "Weighed | str | tuple[str, ...] | Quantity"
Meaning: TypeAlias = Mapping[Place, Fact]


class Written(NamedTuple):
    """How a place is written: ``amounts`` as on the page, ``parts`` in the base's own parts (or grams), ``names`` as
    they are spelled; a value of a field is its one amount."""

    names: tuple[str, ...]
    amounts: tuple[str, ...]
    parts: tuple[Fraction, ...] = ()


@dataclass(frozen=True, slots=True)
class Told:
    """One recipe, ready to be compared. ``meaning`` and ``written`` have their places in the order of the page;
    ``total`` is the base's, in parts or grams; ``handling`` holds the handling lines as they are grouped; ``around`` is
    what holds for the recipe besides (see compare.around). ``through``: what is in the recipes among its ingredients,
    parts for 100 of the dry mix of each; ``through_written`` has as parts how much of it that makes here, on the base
    of 100, where it stands in the base or among the additions."""

    meaning: Meaning
    written: Mapping[Place, Written]
    total: Fraction
    in_masses: bool
    handling: tuple[tuple[str, ...], ...]
    around: Meaning = field(default_factory=dict)
    through: Meaning = field(default_factory=dict)
    through_written: Mapping[Place, Written] = field(default_factory=dict)

    @property
    def base_places(self) -> tuple[Place, ...]:
        """The places whose amounts make up the base: its lines, or where there are none those of the series and blends
        that say it."""
        sections = ("base",) if any(place.section == "base" for place in self.written) else _BASES
        return tuple(
            place
            for place, fact in self.meaning.items()
            if place.section in sections and isinstance(fact, Weighed)
        )

    @property
    def kind(self) -> str:
        return str(self.meaning[Place("kind")])

    @property
    def name(self) -> str:
        return str(self.meaning[Place("name")])


def told(recipe: Recipe, catalogue: Catalogue, around: Meaning | None = None) -> Told:
    """``recipe`` as what it says. ``catalogue`` gives the names in its handling lines their meaning; ``around`` as in
    Told."""
    teller = _Teller(recipe)
    teller.say(Place("kind"), recipe.kind)
    teller.say(Place("name"), recipe.name)
    for word, value in recipe.fields.items():
        place = Place("field", what=word)
        teller.say(place, _fact(value))
        teller.written[place] = Written((), (value_text(value),))
    teller.weigh("base", "", recipe.base)
    teller.weigh("additions", "", recipe.additions)
    for variation in recipe.variations:
        if variation.additions or not variation.base:
            within = teller.new("variation", variation.name)
            teller.weigh("variation", within, variation.additions)
            if not variation.base:
                teller.say_own("variation", within, variation.fields)
        if variation.base:
            within = teller.new("base variation", variation.name)
            teller.weigh("base variation", within, variation.base)
            teller.say_own("base variation", within, variation.fields)
    for series in recipe.series:
        if series.steps or not series.base:
            teller.weigh("series", teller.new("series", series.name), series.steps)
        if series.base:
            teller.weigh("base series", teller.new("base series", series.name), series.base)
    for blend in recipe.blends:
        by = (("step", f"{blend.by.normalize():f} %"),)
        if blend.steps or not blend.base:
            within = teller.new("blend", blend.name)
            teller.weigh("blend", within, blend.steps)
            teller.say_own("blend", within, by)
        if blend.base:
            within = teller.new("base blend", blend.name)
            teller.weigh("base blend", within, blend.base)
            teller.say_own("base blend", within, by)
    _say_handling(teller, recipe, catalogue)
    if recipe.notes:
        teller.say(Place("notes"), recipe.notes)
    groups = tuple(tuple(sorted(_called(name, catalogue) for name in one.names)) for one in recipe.handling)
    through = dict(_through(recipe, teller))
    return Told(
        teller.meaning,
        teller.written,
        teller.total,
        recipe.in_masses,
        groups,
        around or {},
        {place: fact for place, (fact, _) in through.items()},
        {place: written for place, (_, written) in through.items()},
    )


def _through(recipe: Recipe, teller: _Teller) -> Iterator[tuple[Place, tuple[Fact, Written]]]:
    """What is in the recipes that stand among the ingredients."""
    for name in dict.fromkeys(place.what for place in teller.written if place.what in recipe.uses):
        used = recipe.uses[name]
        places = (Place("base", what=name), Place("additions", what=name))
        own = [fact for place in places if isinstance(fact := teller.meaning.get(place), Weighed)]
        here = sum((amount for fact in own for amount in fact.on_100), Fraction(0))
        for part in used.parts:
            place = Place("through", name, part.material or key(part.name))
            parts_here = (part.exact * here,) if own else ()
            yield place, (Weighed((part.exact * 100,)), Written((part.name,), (), parts_here))
        for note in used.handling:
            for material in note.names:
                place = Place("through", name, f"{material}, handling")
                yield place, (note.text, Written((), ()))


class _Teller:
    def __init__(self, recipe: Recipe) -> None:
        self.total = Fraction(recipe.base_total) if recipe.base else _total_of_columns(recipe)
        self.meaning: dict[Place, Fact] = {}
        self.written: dict[Place, Written] = {}

    def say(self, place: Place, fact: Fact) -> None:
        self.meaning[place] = fact

    def say_own(self, section: Section, within: str, fields: Iterable[tuple[str, str]]) -> None:
        """What a block says beside its amounts, under a word with a colon behind it, which no material has."""
        for word, text in fields:
            place = Place(section, within, f"{word}:")
            self.say(place, text)
            self.written[place] = Written((), (text,))

    def new(self, section: Section, name: str) -> str:
        """The name of a variation or series, made one of its own where a data file says it twice."""
        within, count = name, 1
        while Place(section, within) in self.meaning:
            count += 1
            within = f"{name} ({count})"
        self.say(Place(section, within), "")
        return within

    def weigh(self, section: Section, within: str, lines: Iterable[Ingredient | Step]) -> None:
        for line in lines:
            quantities = line.quantities if isinstance(line, Step) else (line.quantity,)
            called = line.name if names_a_recipe(line.name) else key(line.name)
            place = Place(section, within, line.material or called)
            in_parts = tuple(map(self._in_parts, quantities))
            here = Weighed(tuple(self._on_100(one) for one in in_parts), line.note)
            written = Written((line.name,), tuple(map(str, quantities)), in_parts)
            before = self.meaning.get(place)
            if isinstance(before, Weighed):
                here, written = _twice(section, before, here, self.written[place], written)
            self.say(place, here)
            self.written[place] = written

    def _in_parts(self, quantity: Quantity) -> Fraction:
        """In the parts of the base; on a page without one a percentage stays what it is."""
        if quantity.unit == "%":
            return Fraction(quantity.amount) * (self.total or 100) / 100
        return Fraction(parts(quantity, Decimal(0)))

    def _on_100(self, amount: Fraction) -> Fraction:
        return amount * 100 / self.total if self.total else amount


def _total_of_columns(recipe: Recipe) -> Fraction:
    """What the columns of the blocks that say the base total in the mean, in parts or grams; 0 where there are none."""
    blocks: tuple[Series | Blend, ...] = (*recipe.series, *recipe.blends)
    columns = [
        sum((Fraction(parts(amount, Decimal(0))) for amount in column), Fraction(0))
        for block in blocks
        if block.base
        for column in zip(*(step.quantities for step in block.base), strict=False)
    ]
    return sum(columns, Fraction(0)) / len(columns) if columns else Fraction(0)


def _twice(
    section: Section, one: Weighed, other: Weighed, as_one: Written, as_other: Written
) -> tuple[Weighed, Written]:
    """A material that stands twice: both lines are weighed. Those of a base are added up, and those of a series step by
    step, since a step has one amount."""
    amounts, in_parts = one.on_100 + other.on_100, as_one.parts + as_other.parts
    if section not in ("additions", "variation"):
        amounts, in_parts = _added(one.on_100, other.on_100), _added(as_one.parts, as_other.parts)
    note = "; ".join(filter(None, (one.note, other.note)))
    names = tuple(dict.fromkeys((*as_one.names, *as_other.names)))
    return Weighed(amounts, note), Written(names, as_one.amounts + as_other.amounts, in_parts)


def _added(one: tuple[Fraction, ...], other: tuple[Fraction, ...]) -> tuple[Fraction, ...]:
    return tuple(a + b for a, b in zip(one, other, strict=True))


def _say_handling(teller: _Teller, recipe: Recipe, catalogue: Catalogue) -> None:
    """One place a material, with all that is said of it: one line for two materials says the same as two lines."""
    said: dict[str, list[str]] = {}
    spelled: dict[str, dict[str, None]] = {}
    for handling in recipe.handling:
        for name in handling.names:
            called = _called(name, catalogue)
            said.setdefault(called, []).append(handling.text)
            spelled.setdefault(called, {})[name] = None
    for called, texts in said.items():
        place = Place("handling", what=called)
        teller.say(place, tuple(dict.fromkeys(texts)))
        teller.written[place] = Written(tuple(spelled[called]), ())


def _called(name: str, catalogue: Catalogue) -> str:
    found = None if name == _ALL else catalogue.find(name)
    return found.name if found else key(name)


def _fact(value: Value) -> Fact:
    """A value free of its spelling: a mass in grams, whatever its unit."""
    if isinstance(value, Quantity):
        if value.unit in MASS_UNITS:
            return Quantity(grams(value.amount, value.unit), "g")
        return value
    return value if isinstance(value, tuple) else str(value)


def value_text(value: Value) -> str:
    """A value of a field as a page writes it."""
    if isinstance(value, Quantity):
        return str(value)
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


def fact_text(fact: Fact) -> str:
    """What is not weighed, for a person."""
    if isinstance(fact, Quantity):
        return str(fact)
    if isinstance(fact, Weighed):
        return ", ".join(map(rounded, fact.on_100))
    return fact if isinstance(fact, str) else "\n".join(map(str, fact))


def rounded(amount: Fraction, decimals: int = 2, signed: bool = False) -> str:
    """An exact amount with so many decimals, half up; what would round to 0 and is not 0 is shown as less than the
    last decimal."""
    scale = 10**decimals
    count = (abs(amount) * scale * 2 + 1) // 2
    minus = "-" if amount < 0 else "+" if signed and amount else ""
    if not count and amount:
        return f"{minus}<{Decimal(1).scaleb(-decimals)}"
    return f"{minus}{Decimal(count).scaleb(-decimals):.{decimals}f}"
