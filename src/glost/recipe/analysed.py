"""What a page means, with the places of it: what was read is tied to where it stands."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.recipe.names import folded
from glost.recipe.recipe import Ingredient, Recipe, Step, Test, Used


class Placed(NamedTuple):
    """An ingredient and the line it stands on."""

    item: tree.Item
    ingredient: Ingredient


class Weighed(NamedTuple):
    """A material that is weighed for a line: that of the line, or one of a recipe that stands there (``through``)."""

    item: tree.Item
    name: str
    material: str | None
    through: Used | None = None

    @property
    def called(self) -> str:
        return self.material or self.name

    @property
    def where(self) -> str:
        """Which recipe brings it in, to stand behind its name; "" for the line's own material."""
        return f" in {self.through.written}" if self.through else ""


class AnalysedRecipe(NamedTuple):
    """What a page means, as far as it could be read, with the places of it.

    ``complete``: all that stands on the page went into the recipe, so that what is absent is absent, and the recipe
    may be made use of. ``diagnostics`` are those of meaning; the page holds those of reading. ``heads`` are those of
    the sections, each that was taken.
    """

    page: tree.Page
    recipe: Recipe
    complete: bool
    diagnostics: tuple[Diagnostic, ...]
    base: tuple[Placed, ...]
    additions: tuple[Placed, ...]
    variations: tuple[tuple[tree.Head, tuple[Placed, ...]], ...]
    series: tuple[tuple[tree.Head, tuple[tuple[tree.Item, Step], ...]], ...]
    handling: tuple[tree.Instruction, ...]
    fields: dict[str, tree.Field | tree.Head]
    unknown_fields: tuple[tree.Text, ...]
    title: tree.Title | None
    base_head: tree.Head | None
    heads: tuple[tree.Head, ...] = ()
    base_variations: tuple[tuple[tree.Head, tuple[Placed, ...]], ...] = ()
    base_series: tuple[tuple[tree.Head, tuple[tuple[tree.Item, Step], ...]], ...] = ()
    blends: tuple[tuple[tree.Head, tuple[tuple[tree.Item, Step], ...]], ...] = ()
    base_blends: tuple[tuple[tree.Head, tuple[tuple[tree.Item, Step], ...]], ...] = ()
    own: tuple[tree.Own, ...] = ()

    def head_of(self, test: Test) -> tree.Head | None:
        """The head that a test stands below, the first of a pair; None for the recipe itself."""
        name = folded(test.block_name)
        heads = (
            head
            for head in self.heads
            if head.name is not None
            and head.word.text.rpartition(" ")[2] == test.block
            and folded(head.name.text) == name
        )
        return min(heads, key=lambda head: head.span, default=None)

    def in_base(self) -> Iterator[tuple[tree.Head, tree.Item, Ingredient | Step]]:
        """Every line that sets the base anew, with its head."""
        for head, lines in self.base_variations:
            yield from ((head, placed.item, placed.ingredient) for placed in lines)
        for head, steps in (*self.base_series, *self.base_blends):
            yield from ((head, item, step) for item, step in steps)

    def places(self) -> Iterator[tuple[tree.Item, str | None]]:
        """Every line that names a material, in the order of the page, with its canonical name."""
        return ((item, line.material) for item, line in self._lines())

    def weighed(self) -> Iterator[Weighed]:
        """What is weighed for every line, in the order of the page: its material, or in the place of a recipe all that
        this brings in, however deep it stands. What is asked of substances is asked of these."""
        for item, line in self._lines():
            used = self.recipe.uses.get(line.name)
            if used is None:
                yield Weighed(item, line.name, line.material)
            else:
                yield from (Weighed(item, part.name, part.material, used) for part in used.parts)

    def _lines(self) -> Iterator[tuple[tree.Item, Ingredient | Step]]:
        yield from (*self.base, *self.additions)
        for _, lines in (*self.variations, *self.base_variations):
            yield from lines
        for _, steps in (*self.series, *self.base_series, *self.blends, *self.base_blends):
            yield from steps
