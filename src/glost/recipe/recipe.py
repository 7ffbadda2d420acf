"""The recipe: what a page means, free of how it is written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal, localcontext
from fractions import Fraction
from itertools import chain
from typing import NamedTuple

from glost.language.tables import lexicon
from glost.recipe.blends import Point, points
from glost.recipe.fields import Quantity, Value
from glost.weighing.rounding import Mass, exact_total, plain, round_to, significant, to_decimal
from glost.weighing.units import grams

_EXACT = 60
"""Decimal places enough for any product of amounts that the language can write, so that none is rounded."""


class Ingredient(NamedTuple):
    """A material and how much of it. ``name`` is as the recipe writes it, ``material`` the canonical name,
    or None where the catalogue does not know it. ``quantity`` is as written: parts (unit ""), % or a mass.
    A recipe that stands as an ingredient is named as its own page has it: glaze "Clear Ebb"."""

    name: str
    material: str | None
    quantity: Quantity
    note: str = ""

    @property
    def called(self) -> str:
        """The canonical name where there is one, else the name as written."""
        return self.material or self.name


class Handling(NamedTuple):
    """How some materials, or all, are handled. ``names`` are as written; "all" stands for every one."""

    names: tuple[str, ...]
    text: str


def names_a_recipe(name: str) -> bool:
    """Whether an ingredient is a recipe: its name ends in a quotation mark, which no name of a material holds."""
    return name.endswith('"')


class Variation(NamedTuple):
    """Additions set anew, the base set anew, or both. ``fields``: what this test says of itself, by key."""

    name: str
    additions: tuple[Ingredient, ...] = ()
    base: tuple[Ingredient, ...] = ()
    fields: tuple[tuple[str, str], ...] = ()


class Step(NamedTuple):
    """A material of a series and its amount in each of the series' tests."""

    name: str
    material: str | None
    quantities: tuple[Quantity, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Series:
    """Several tests in one block: every step holds one quantity a test. ``steps`` set additions anew, ``base`` the
    base."""

    name: str
    steps: tuple[Step, ...] = ()
    base: tuple[Step, ...] = ()

    def __len__(self) -> int:
        return next((len(step.quantities) for step in (*self.base, *self.steps)), 0)


@dataclass(frozen=True, slots=True)
class Blend:
    """A line, a triangle or a square between two, three or four corners: every step holds one quantity a corner, and
    each point is the sum of the corners by its shares. ``by`` is how far two neighbours lie apart, in per cent."""

    name: str
    by: Decimal
    steps: tuple[Step, ...] = ()
    base: tuple[Step, ...] = ()

    @property
    def corners(self) -> int:
        return next((len(step.quantities) for step in (*self.base, *self.steps)), 0)

    @property
    def points(self) -> Iterator[Point]:
        return points(self.corners, self.by)


class Used(NamedTuple):
    """A recipe, or a test of one, that stands as an ingredient. ``parts`` are those of its whole dry mix, raw materials
    alone, and add up to 1. ``handling``: the notes of its page and of the pages that it uses. ``fields``: what that
    page says of the firing and of its slip, which is not inherited. ``through``: the recipes that it uses in turn, as
    an ingredient has them; ``files``: where all of them stand, its own first, then that of each of ``through``."""

    kind: str
    name: str
    file: str
    parts: tuple[Part, ...]
    handling: tuple[Handling, ...] = ()
    fields: tuple[tuple[str, str], ...] = ()
    through: tuple[str, ...] = ()
    files: tuple[str, ...] = ()

    @property
    def written(self) -> str:
        """Its name as an ingredient has it."""
        return f'{self.kind} "{self.name}"'

    @property
    def pages(self) -> tuple[tuple[str, str], ...]:
        """What is made of it depends on these, itself first: each as an ingredient has it, and its file."""
        return tuple(zip((self.written, *self.through), self.files, strict=False))


@dataclass(frozen=True, slots=True)
class Recipe:
    """One recipe. ``fields`` holds the typed values by key (see recipe.fields)."""

    kind: str
    name: str
    fields: Mapping[str, Value] = field(default_factory=dict)
    base: tuple[Ingredient, ...] = ()
    additions: tuple[Ingredient, ...] = ()
    handling: tuple[Handling, ...] = ()
    variations: tuple[Variation, ...] = ()
    series: tuple[Series, ...] = ()
    blends: tuple[Blend, ...] = ()
    notes: str = ""
    uses: Mapping[str, Used] = field(default_factory=dict)
    """The recipes among the ingredients, by their names there; all of them in a recipe that may be made use of."""

    @property
    def every_handling(self) -> tuple[Handling, ...]:
        """The recipe's own notes, then those of the recipes that it uses, each text once."""
        return (*self.handling, *self.inherited_handling)

    @property
    def inherited_handling(self) -> tuple[Handling, ...]:
        """The notes of the recipes that it uses, without those that its own page has as well."""
        if not self.uses:
            return ()
        found = dict.fromkeys(one for used in self.uses.values() for one in used.handling)
        return tuple(one for one in found if one not in self.handling)

    @property
    def base_total(self) -> Decimal:
        """The sum of the base in parts; of a base in masses, in grams."""
        return total(self.base)

    @property
    def in_masses(self) -> bool:
        """Whether the base is written in masses rather than parts."""
        if self.base:
            return self.base[0].quantity.unit in lexicon().masses
        several = [*(one.base for one in self.series), *(one.base for one in self.blends)]
        steps = (step for block in several for step in block)
        return any(one.unit in lexicon().masses for step in steps for one in step.quantities)


def with_each_line(
    recipe: Recipe, line: Callable[[Ingredient], Ingredient], step: Callable[[Step], Step]
) -> Recipe:
    """The recipe with what becomes of each of its lines, and of each line of its series and blends."""
    return replace(
        recipe,
        base=tuple(map(line, recipe.base)),
        additions=tuple(map(line, recipe.additions)),
        variations=tuple(
            one._replace(additions=tuple(map(line, one.additions)), base=tuple(map(line, one.base)))
            for one in recipe.variations
        ),
        series=tuple(
            replace(one, steps=tuple(map(step, one.steps)), base=tuple(map(step, one.base)))
            for one in recipe.series
        ),
        blends=tuple(
            replace(one, steps=tuple(map(step, one.steps)), base=tuple(map(step, one.base)))
            for one in recipe.blends
        ),
    )


class Part(NamedTuple):
    """A line of a test: ``parts`` in the same parts as the base. Where they do not end, ``fraction`` is what they are
    exactly, and ``parts`` holds 28 figures of it."""

    name: str
    material: str | None
    parts: Decimal
    note: str = ""
    fraction: Fraction | None = None

    @property
    def called(self) -> str:
        return self.material or self.name

    @property
    def key(self) -> str:
        """What two lines of one material share, also where each page has its own spelling of an unknown one."""
        return self.material or self.name.casefold()

    @property
    def exact(self) -> Fraction:
        return Fraction(self.parts) if self.fraction is None else self.fraction

    @property
    def amount(self) -> Mass:
        """The same, as it is held: making a fraction of it takes longer than most of what is done with it."""
        return self.parts if self.fraction is None else self.fraction

    @property
    def shown(self) -> Decimal:
        """The parts as they are printed: all their figures where a page wrote them so, else at most four decimals."""
        if self.fraction is None and (
            len(str(self.parts)) <= _WRITTEN  # which takes apart only what is longer
            or len(self.parts.as_tuple().digits) <= _WRITTEN
        ):
            return plain(self.parts)
        rounded = plain(round_to(self.exact, Decimal("0.0001")))
        return rounded if rounded >= Decimal("0.01") else significant(self.exact, 3)


_WRITTEN = 15
"""Figures of an amount that a page may write."""


def part_of(name: str, material: str | None, exact: Fraction, note: str = "") -> Part:
    """A line with that many parts, exactly."""
    near = to_decimal(exact)
    return Part(name, material, near, note, None if Fraction(near) == exact else exact)


@dataclass(frozen=True, slots=True)
class Test:
    """One thing to weigh, mix and fire: the recipe as it stands, a variation of it, a step of a series, or a point of a
    blend. ``label`` is "" for the recipe itself. ``sets``: what it sets of the additions, and ``base_sets`` of the
    base, each as it is written there; of a point, in its shares. ``block``: the kind of block that it stands in, ""
    for the recipe itself, and ``block_name`` what that is called. ``fields``: what it says of itself. ``point``: where
    it stands in its blend. ``used``: the recipes among its lines, of which there is some, as an ingredient has
    them."""

    __test__ = False  # a name that pytest would otherwise collect

    recipe: Recipe
    label: str
    base: tuple[Part, ...]
    additions: tuple[Part, ...]
    sets: tuple[Ingredient, ...] = ()
    base_sets: tuple[Ingredient, ...] = ()
    block: str = ""
    block_name: str = ""
    fields: tuple[tuple[str, str], ...] = ()
    point: Point | None = None
    used: tuple[str, ...] = ()

    @property
    def pages(self) -> tuple[tuple[str, str], ...]:
        """The recipes that this test depends on beside its own page: each as an ingredient has it, and its file."""
        found = (page for name in self.used for page in self.recipe.uses[name].pages)
        return tuple(dict.fromkeys(found))

    @property
    def name(self) -> str:
        return f"{self.recipe.name}, {self.label}" if self.label else self.recipe.name

    @property
    def base_exact(self) -> Fraction:
        return exact_total(part.amount for part in self.base)

    @property
    def base_total(self) -> Decimal:
        if any(part.fraction is not None for part in self.base):
            return to_decimal(self.base_exact)
        return sum((part.parts for part in self.base), Decimal(0))

    @property
    def added_exact(self) -> Fraction:
        return exact_total(part.amount for part in self.additions)


def parts(quantity: Quantity, base_total: Decimal) -> Decimal:
    """A quantity in the parts of a base with that total: a percentage is of the base, a mass is in grams."""
    if quantity.unit == "":
        return quantity.amount
    with localcontext() as context:
        context.prec = _EXACT
        if quantity.unit == "%":
            return quantity.amount * base_total / 100
        return grams(quantity.amount, quantity.unit)


def total(ingredients: tuple[Ingredient, ...]) -> Decimal:
    """The sum of base ingredients, in parts or grams."""
    with localcontext() as context:
        context.prec = _EXACT
        return sum((parts(i.quantity, Decimal(0)) for i in ingredients), Decimal(0))


def tests(recipe: Recipe) -> Iterator[Test]:
    """Every test that the recipe stands for: itself, its variations, its series, its blends, each in the order of the
    page. A variation, step or corner sets the lines it names anew, keeps the others, and takes out what it sets to 0.
    A recipe among the ingredients is taken apart into its raw materials last, so that no line of it is set."""
    weigh = _Weigher(recipe)
    if recipe.base or not (recipe.series or recipe.blends):
        yield weigh.test("", (), ())
    for variation in recipe.variations:
        name = variation.name
        yield weigh.test(name, variation.base, variation.additions, "variation", name, variation.fields)
    for series in recipe.series:
        for at, label in enumerate(column_labels(series)):
            base, added = _column(series.base, at), _column(series.steps, at)
            yield weigh.test(label, base, added, "series", series.name)
    for blend in recipe.blends:
        yield from weigh.points(blend)


def labels(recipe: Recipe) -> Iterator[str]:
    """The label of every test of tests(), without the work of mixing each."""
    return (label for label, _, _ in labels_and_blocks(recipe))


def labels_and_blocks(recipe: Recipe) -> Iterator[tuple[str, str, str]]:
    """The same, each with the kind and the name of the block that the test stands in."""
    if recipe.base or not (recipe.series or recipe.blends):
        yield "", "", ""
    yield from ((variation.name, "variation", variation.name) for variation in recipe.variations)
    for series in recipe.series:
        yield from ((label, "series", series.name) for label in column_labels(series))
    for blend in recipe.blends:
        yield from ((_label(blend, point), "blend", blend.name) for point in blend.points)


def column_labels(block: Series | Blend) -> list[str]:
    """The label of the test that each column of a block is: a step of a series, a corner of a blend."""
    if isinstance(block, Series):
        return [f"{block.name} {number}" for number in range(1, len(block) + 1)]
    corners = {point.corner: point for point in block.points if point.corner is not None}
    return [_label(block, corners[at]) if at in corners else "" for at in range(block.corners)]


def _label(blend: Blend, point: Point) -> str:
    return f"{blend.name} {point.label}"


def _column(steps: Sequence[Step], at: int) -> tuple[Ingredient, ...]:
    """One column of a series or blend, as the lines of a variation."""
    none = Quantity(Decimal(0), "")
    # Lines of a pair whose numbers of columns differ are told as that; what is there is still looked at.
    return tuple(
        Ingredient(s.name, s.material, s.quantities[at] if at < len(s.quantities) else none, s.note)
        for s in steps
    )


class _Weigher:
    """Makes the tests of one recipe."""

    def __init__(self, recipe: Recipe) -> None:
        self._recipe = recipe
        self._base_total = recipe.base_total
        self._base = self._parts(recipe.base, self._base_total)
        self._plain = self._parts(recipe.additions, self._base_total)

    @staticmethod
    def _parts(lines: Sequence[Ingredient], base_total: Decimal) -> tuple[Part, ...]:
        return tuple(Part(i.name, i.material, parts(i.quantity, base_total), i.note) for i in lines)

    def test(
        self,
        label: str,
        base_sets: tuple[Ingredient, ...],
        sets: tuple[Ingredient, ...],
        block: str = "",
        block_name: str = "",
        fields: tuple[tuple[str, str], ...] = (),
    ) -> Test:
        """The test that sets these lines of base and additions anew."""
        base, added = self._whole(base_sets, sets)
        if base_sets:
            base = tuple(part for part in base if part.parts)
        if label:
            added = tuple(part for part in added if part.parts)
        return Test(
            self._recipe,
            label,
            self._flat(base),
            self._flat(added),
            sets,
            base_sets,
            block,
            block_name,
            fields,
            used=self._used(base, added),
        )

    def _whole(
        self, base_sets: tuple[Ingredient, ...], sets: tuple[Ingredient, ...]
    ) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
        """Base and additions with these lines set anew, those of nothing too. A percentage counts from the base as it
        then is."""
        base, base_total, plain = self._base, self._base_total, self._plain
        if base_sets:
            base = _set_anew(base, self._parts(base_sets, Decimal(0)))
            base_total = _sum(part.parts for part in base)
            plain = self._parts(self._recipe.additions, base_total)
        return base, _set_anew(plain, self._parts(sets, base_total)) if sets else plain

    def points(self, blend: Blend) -> Iterator[Test]:
        """The points of a blend: each the sum of its corners, line by line, by its shares."""
        columns = range(blend.corners)
        sets = [(_column(blend.base, at), _column(blend.steps, at)) for at in columns]
        corners = [self._whole(*one) for one in sets]
        for point in blend.points:
            base, added = (_mixed([corner[at] for corner in corners], point.shares) for at in (0, 1))
            base_sets, own_sets = (_mixed_sets([one[at] for one in sets], point.shares) for at in (0, 1))
            yield Test(
                self._recipe,
                _label(blend, point),
                self._flat(base),
                self._flat(added),
                own_sets,
                base_sets,
                "blend",
                blend.name,
                point=point,
                used=self._used(base, added),
            )

    def _used(self, *sections: tuple[Part, ...]) -> tuple[str, ...]:
        uses = self._recipe.uses
        if not uses:
            return ()
        return tuple(
            dict.fromkeys(
                part.name for lines in sections for part in lines if part.name in uses and part.parts
            )
        )

    def _flat(self, lines: tuple[Part, ...]) -> tuple[Part, ...]:
        """The lines in raw materials: of a recipe among them, each of its materials by its share of the dry mix. What
        then stands there twice is one line, where it first stood."""
        uses = self._recipe.uses
        if not uses or not any(part.name in uses for part in lines):
            return lines
        apart: list[tuple[Part, Fraction]] = []
        for part in lines:
            used = uses.get(part.name)
            if used is None:
                apart.append((part, part.exact))
            elif part.parts:
                apart += ((inner, inner.exact * part.exact) for inner in used.parts)
        return _joined(apart)


def _mixed(corners: Sequence[tuple[Part, ...]], shares: Sequence[Fraction]) -> tuple[Part, ...]:
    """The sum of the corners' lines by their shares, without those of nothing."""
    weighed = [
        (part, part.exact * share) for corner, share in zip(corners, shares, strict=True) for part in corner
    ]
    return tuple(part for part in _joined(weighed) if part.exact)


def _joined(weighed: Sequence[tuple[Part, Fraction]]) -> tuple[Part, ...]:
    """One line for each material, in order of first appearance, with the first note that there is."""
    found: dict[str, tuple[Part, Fraction, str]] = {}
    for part, exact in weighed:
        first, so_far, note = found.get(part.key, (part, Fraction(0), ""))
        found[part.key] = (first, so_far + exact, note or part.note)
    return tuple(part_of(first.name, first.material, exact, note) for first, exact, note in found.values())


def _mixed_sets(
    corners: Sequence[tuple[Ingredient, ...]], shares: Sequence[Fraction]
) -> tuple[Ingredient, ...]:
    """What a point sets: each line of its blend by the shares. Amounts of several units are told in grams."""
    out = []
    for lines in zip(*corners, strict=True):
        units = {line.quantity.unit for line in lines if line.quantity.amount} or {lines[0].quantity.unit}
        unit = next(iter(units)) if len(units) == 1 else "g"
        value: Callable[[Quantity], Fraction] = (
            (lambda one: Fraction(one.amount))
            if len(units) == 1
            else (lambda one: Fraction(parts(one, Decimal(0))))
        )
        amount = sum((value(line.quantity) * s for line, s in zip(lines, shares, strict=True)), Fraction(0))
        out.append(lines[0]._replace(quantity=Quantity(to_decimal(amount), unit)))
    return tuple(out)


def _sum(amounts: Iterator[Decimal]) -> Decimal:
    with localcontext() as context:
        context.prec = _EXACT
        return sum(amounts, Decimal(0))


def used_alone(test: Test) -> Used | None:
    """The recipe that a point is by itself, so that there is nothing to mix where there is some of it; None for any
    other test."""
    lines = [line for line in (*test.base_sets, *test.sets) if line.quantity.amount]
    alone = len(lines) == 1 and not test.recipe.base and not test.additions
    return test.recipe.uses.get(lines[0].name) if alone else None


def sets_said(test: Test) -> str:
    """What a test sets, as it is written: "cobalt carbonate 0.5, rutile 2 %"; a material that is set to 0 is said to be
    left out, and what is set of the base stands behind that word. "" for the recipe itself, and for a variation that
    sets nothing. A point says nothing of what it leaves out: its corners may each leave out something else."""
    of_base = _said(test.base_sets, bool(test.point))
    added = _said(test.sets, bool(test.point))
    if not of_base:
        return added
    if test.recipe.base or not test.base_sets:
        of_base = f"base: {of_base}"
    return f"{of_base}; {added}" if added else of_base


def _said(lines: Sequence[Ingredient], point: bool) -> str:
    return ", ".join(
        f"{one.name} {one.quantity}" if one.quantity.amount else f"no {one.name}"
        for one in lines
        if one.quantity.amount or not point
    )


def _set_anew(lines: tuple[Part, ...], changes: Sequence[Part]) -> tuple[Part, ...]:
    """All lines of a material are set anew together, and all that set it are weighed. Those of nothing stay here."""
    by_name: dict[str, list[Part]] = {}
    for part in changes:
        by_name.setdefault(part.key, []).append(part)
    waiting = dict(by_name)
    out: list[Part] = []
    for part in lines:
        out += waiting.pop(part.key, []) if part.key in by_name else [part]
    return tuple(chain(out, *waiting.values()))


def own_batch_g(test: Test) -> Decimal | None:
    """The batch of one test in grams, as batch_g() has it: of a base in masses, the sum of the test's own base."""
    batch = test.recipe.fields.get("batch")
    if isinstance(batch, Quantity) or not (test.recipe.in_masses and test.base_sets):
        return batch_g(test.recipe)
    return test.base_total or None


def batch_g(recipe: Recipe) -> Decimal | None:
    """The recipe's own batch in grams: its field, or the sum of a base in masses; None where it says neither."""
    batch = recipe.fields.get("batch")
    if isinstance(batch, Quantity):
        return grams(batch.amount, batch.unit)
    return recipe.base_total or None if recipe.in_masses else None
