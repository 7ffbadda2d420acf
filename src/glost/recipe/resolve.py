"""Tree to recipe: materials found, values typed, units settled, and every line tied to where it stands."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final, NamedTuple

from glost.errors import ValueRefusedError
from glost.language import tree
from glost.language.diagnostics import Choice, Diagnostic
from glost.language.nearest import nearest
from glost.language.parse import accepts, parse
from glost.language.source import Edit, Source, Span
from glost.language.tables import lexicon
from glost.recipe.blends import SHAPES, count_of_points, divisions, steps_near
from glost.recipe.fields import FIELD_SPELLINGS, FIELDS, Quantity, Value
from glost.recipe.heads import heads_meant, written
from glost.recipe.library import Finder, UseError, folded
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.prose import prose
from glost.recipe.recipe import (
    Blend,
    Handling,
    Ingredient,
    Recipe,
    Series,
    Step,
    Test,
    Used,
    Variation,
    labels,
    labels_and_blocks,
    with_each_line,
)
from glost.recipe.taken import untaken

_ROLES: Final = ("variation", "series", "blend", "base_variation", "base_series", "base_blend")
"""Of the blocks that have a name."""
_ITEMS = ("base", "additions", *_ROLES)
_NO_BASE_NEEDED: Final = ("base_series", "base_blend")
"""Of the blocks that may say the whole base themselves."""


@functools.cache
def _amounts() -> re.Pattern[str]:
    """One amount or several; of its number only that it is one in figures."""
    amount = f"[0-9.]+ *{lexicon().unit}?"
    return re.compile(rf"{amount}(?:, +{amount})*")


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


MOST_AMOUNTS = 500
"""Amounts on a page, those of a series each counted. A triaxial blend in steps of 5 % has 231 tests; a page with more
than this is no recipe, and what every answer on it costs stays bounded."""

MOST_WEIGHINGS = 10_000
"""Lines on all batch sheets of a page: its tests, times the materials of each."""


def resolve(page: tree.Page, catalogue: Catalogue, finder: Finder | None = None) -> AnalysedRecipe:
    """What ``page`` means. ``finder`` knows the recipes that it may use; without one, it may use none. Never raises for
    anything a page may hold. Of a page that holds too much for a recipe it is told, and no more is looked at; nor of
    one that is no recipe."""
    resolved = resolve_own(page, catalogue)
    if not any(item.name.kind for item, _ in resolved.places()):
        return resolved
    return _with_uses(resolved, finder)


def resolve_own(page: tree.Page, catalogue: Catalogue) -> AnalysedRecipe:
    """What a page means by itself: the recipes that it uses are named, and not looked up."""
    too_much = _no_recipe(page) if page.is_firing else _too_much(page)
    if too_much is None and (page.is_recipe or not page.diagnostics):
        return _Resolver(page, catalogue).resolve()
    nothing = _Resolver(tree.Page(page.source, (), (), page.diagnostics), catalogue)
    resolved = nothing.resolve()
    return resolved._replace(page=page, complete=False, diagnostics=(too_much,) if too_much else ())


def _no_recipe(page: tree.Page) -> Diagnostic:
    return Diagnostic(
        page.blocks[0].head.span if page.blocks else Span(0, 0),
        "this page is a firing, and no recipe",
        "glost firing and glost results read firings; name a recipe here",
    )


def _too_much(page: tree.Page) -> Diagnostic | None:
    amounts = count = added = 0
    for block in page.blocks:
        here = [len(line.amounts) for line in block.lines if isinstance(line, tree.Item)]
        amounts += sum(here)
        if amounts > MOST_AMOUNTS:
            return Diagnostic(
                block.head.span,
                f"this page holds more than {MOST_AMOUNTS} amounts; a recipe is a page",
                "keep one recipe in a file, and part a long series",
            )
        if block.role in ("variation", "base_variation"):
            count += 1
        elif block.role in ("series", "base_series"):
            count += max(here, default=0)
        elif block.role in ("blend", "base_blend"):
            step = getattr(block.head, "step", None)
            count += count_of_points(max(here, default=0), step.value) if step else 0
        if block.role in ("base", "additions", "base_series", "base_blend"):
            added += len(here)
    return _too_many(page, count, added)


def _too_many(page: tree.Page, count: int, materials: int) -> Diagnostic | None:
    if (1 + count) * materials <= MOST_WEIGHINGS:
        return None
    return Diagnostic(
        page.blocks[0].head.span,
        f"{count} tests of {materials} materials stand on this page: more than {MOST_WEIGHINGS:,} lines to weigh",
        "part the variations, series and blends into several files",
    )


def _with_uses(resolved: AnalysedRecipe, finder: Finder | None) -> AnalysedRecipe:
    """The page with the recipes that it uses, or with what is wrong with their names."""
    page = resolved.page
    uses: dict[str, Used] = {}
    wrong = list(_of_itself(resolved))
    told = {one.span for one in (*resolved.diagnostics, *wrong)}
    for item, _ in resolved.places():
        name = item.name
        if not name.kind or name.span in told:
            continue
        key = _ingredient_name(name)
        if key in uses:
            continue
        try:
            if finder is None:
                raise UseError(
                    f"'{name.text}' cannot be looked up: this page belongs to no collection",
                    "keep it in a file beside the recipes that it uses",
                )
            uses[key] = finder.find(name.kind, _plain(name.text), page)
        except UseError as error:
            edits = (Edit(name.span, error.becomes),) if error.becomes else ()
            choices = tuple(Choice(one, Edit(name.span, one)) for one in error.offered)
            wrong.append(Diagnostic(name.span, error.message, error.hint, edits, choices=choices))
    resolved = _as_their_pages_name_them(resolved, {name: used.written for name, used in uses.items()})
    recipe = replace(resolved.recipe, uses={used.written: used for used in uses.values()})
    if not wrong and resolved.complete:
        materials = sum(len(used.parts) for used in uses.values()) + len(recipe.base) + len(recipe.additions)
        many = _too_many(page, sum(1 for _ in labels(resolved.recipe)), materials)
        wrong += [many] if many else []
    diagnostics = tuple(sorted((*resolved.diagnostics, *wrong), key=lambda one: one.span))
    return resolved._replace(recipe=recipe, complete=resolved.complete and not wrong, diagnostics=diagnostics)


def _of_itself(resolved: AnalysedRecipe) -> Iterator[Diagnostic]:
    """What is wrong where a recipe stands in its own base variations."""
    own = folded(resolved.recipe.name)
    for head, item, _ in resolved.in_base() if resolved.base else ():
        if item.name.kind == resolved.recipe.kind and folded(item.name.text) == own:
            yield Diagnostic(
                item.name.span,
                f"this {item.name.kind} cannot be its own ingredient in a {head.word.text}",
                "write it on a page of its own: glost blend writes one",
            )


def _as_their_pages_name_them(resolved: AnalysedRecipe, names: Mapping[str, str]) -> AnalysedRecipe:
    """The page with each recipe under the one name that its own page has, so that two spellings are one line."""
    if all(written == name for written, name in names.items()):
        return resolved

    def line(one: Ingredient) -> Ingredient:
        return one._replace(name=names.get(one.name, one.name))

    def step(one: Step) -> Step:
        return one._replace(name=names.get(one.name, one.name))

    def placed(lines: Iterable[Placed]) -> tuple[Placed, ...]:
        return tuple(Placed(one.item, line(one.ingredient)) for one in lines)

    recipe = with_each_line(resolved.recipe, line, step)
    several = {
        key: tuple((head, tuple((item, step(one)) for item, one in steps)) for head, steps in blocks)
        for key, blocks in (
            ("series", resolved.series),
            ("base_series", resolved.base_series),
            ("blends", resolved.blends),
            ("base_blends", resolved.base_blends),
        )
    }
    return resolved._replace(
        recipe=recipe,
        base=placed(resolved.base),
        additions=placed(resolved.additions),
        variations=tuple((head, placed(lines)) for head, lines in resolved.variations),
        base_variations=tuple((head, placed(lines)) for head, lines in resolved.base_variations),
        series=several["series"],
        base_series=several["base_series"],
        blends=several["blends"],
        base_blends=several["base_blends"],
    )


class _Resolver:
    def __init__(self, page: tree.Page, catalogue: Catalogue) -> None:
        self._page = page
        self._catalogue = catalogue
        self._diagnostics: list[Diagnostic] = []
        self._title: tree.Title | None = None
        self._heads: dict[str, tree.Head] = {}
        self._fields: dict[str, tree.Field | tree.Head] = {}
        self._values: dict[str, Value] = {}
        self._unknown: list[tree.Text] = []
        self._items: dict[str, list[tree.Item]] = {"base": [], "additions": []}
        self._blocks: dict[str, list[tuple[tree.Head, list[tree.Item]]]] = {role: [] for role in _ROLES}
        self._own: dict[str, dict[str, tree.Own]] = {}
        """What variations say of themselves, by their folded names."""
        self._handling: list[tree.Instruction] = []
        self._notes: list[str] = []
        self._first_names = _first_names(page)
        self._told: set[Span] = set()
        """Lines with a diagnostic; a line is told of once."""

    def _diagnostic(self, span: Span, message: str, hint: str, *edits: Edit) -> None:
        self._diagnostics.append(Diagnostic(span, message, hint, edits))

    def resolve(self) -> AnalysedRecipe:
        for at, block in enumerate(self._page.blocks):
            head = block.head
            if isinstance(head, tree.Title):
                self._take_title(head, at == 0)
            elif isinstance(head, tree.Field):
                self._take_field(head, head.key, head.value.text, head.value.span)
            elif isinstance(head, tree.Head):
                self._take_section(at, block, head)
        self._check_what_is_missing()
        self._check_units()
        base = tuple(self._placed(item) for item in self._items["base"])
        additions = tuple(self._placed(item) for item in self._items["additions"])
        lines = {
            role: tuple((head, tuple(map(self._placed, items))) for head, items in self._blocks[role])
            for role in ("variation", "base_variation")
        }
        steps = {
            role: tuple((head, self._steps(head, items)) for head, items in self._blocks[role])
            for role in _ROLES
            if role not in lines
        }
        for role in ("blend", "base_blend"):
            for head, items in self._blocks[role]:
                self._check_blend(head, items)
        self._check_pairs()
        recipe = Recipe(
            kind=self._title.kind.text if self._title else "glaze",
            name=self._title.name.text if self._title else "",
            fields=self._values,
            base=tuple(placed.ingredient for placed in base),
            additions=tuple(placed.ingredient for placed in additions),
            handling=tuple(
                Handling(tuple(_plain(name.text) for name in line.names), line.text.text)
                for line in self._handling
            ),
            variations=tuple(
                Variation(
                    name,
                    tuple(one.ingredient for one in added),
                    tuple(one.ingredient for one in based),
                    tuple((key, own.value.text) for key, own in self._own.get(folded(name), {}).items()),
                )
                for name, _, added, based in _paired(lines["variation"], lines["base_variation"])
            ),
            series=tuple(
                Series(name, tuple(step for _, step in added), tuple(step for _, step in based))
                for name, _, added, based in _paired(steps["series"], steps["base_series"])
            ),
            blends=tuple(
                Blend(
                    name,
                    head.step.value,
                    tuple(step for _, step in added),
                    tuple(step for _, step in based),
                )
                for name, head, added, based in _paired(steps["blend"], steps["base_blend"])
                if head.step is not None
            ),
            notes="\n".join(filter(None, self._notes)),
        )
        self._check_labels(recipe)
        complete = not self._page.diagnostics and not self._unknown and not self._diagnostics
        torn = self._page.torn  # what stands twice there is no diagnostic of its own
        self._diagnostics = [
            diagnostic
            for diagnostic in self._diagnostics
            if not any(t.start <= diagnostic.span.start < t.end for t in torn)
        ]
        self._diagnostics.sort(key=lambda diagnostic: diagnostic.span)
        resolved = AnalysedRecipe(
            self._page,
            recipe,
            complete,
            tuple(self._diagnostics),
            base,
            additions,
            lines["variation"],
            steps["series"],
            tuple(self._handling),
            self._fields,
            tuple(self._unknown),
            self._title,
            self._heads.get("base"),
            (*self._heads.values(), *(head for blocks in self._blocks.values() for head, _ in blocks)),
            lines["base_variation"],
            steps["base_series"],
            steps["blend"],
            steps["base_blend"],
            tuple(own for named in self._own.values() for own in named.values()),
        )
        left = tuple(untaken(resolved)) if complete else ()
        return resolved._replace(complete=False, diagnostics=left) if left else resolved

    def _check_what_is_missing(self) -> None:
        """The title and the base. Where a line cannot be read, that may be why they are missed."""
        blocks = self._page.blocks
        if self._page.diagnostics or self._told_of_a_head:
            return
        if not blocks:
            comments = (line.span for line in self._page.lead if isinstance(line, tree.Remark))
            self._diagnostic(
                next(comments, Span(0, 0)),
                "this file holds only comments, and no recipe",
                'write the kind and the name, such as  glaze "Harbour Mist"  '
                "and base: and its materials below",
            )
        elif self._title is None:
            first = blocks[0].head.span
            self._diagnostic(
                Span(first.start, first.start + 1),
                "the page does not begin with the kind and the name of the recipe",
                'write a first line such as  glaze "Harbour Mist"',
            )
        elif "base" not in self._heads and any(self._blocks[role] for role in _NO_BASE_NEEDED):
            self._check_blocks_without_a_base()
        elif "base" not in self._heads and not any(
            isinstance(block.head, tree.Head) and block.head.word in self._unknown for block in blocks
        ):
            blends = "; a blend of whole recipes is a  base blend" if self._blocks["blend"] else ""
            self._diagnostic(
                self._title.span,
                "the recipe has no base",
                f"write  base:  and its materials on indented lines below{blends}",
            )

    def _check_blocks_without_a_base(self) -> None:
        """On a page whose base blocks say the whole base, every test is one of theirs."""
        whole = {
            role.removeprefix("base_"): {folded(_called(head)) for head, _ in self._blocks[role]}
            for role in _NO_BASE_NEEDED
        }
        for role in _ROLES:
            for head, _ in self._blocks[role] if role not in _NO_BASE_NEEDED else ():
                kind = head.word.text
                if folded(_called(head)) in whole.get(role, ()):
                    continue
                pair = f"; a {kind} of the same name as a base {kind} is one with it" if role in whole else ""
                self._diagnostic(
                    head.span,
                    f"this page has no base that a {kind} could stand on",
                    f"write  base:  and its materials above it{pair}",
                )

    def _take_title(self, head: tree.Title, first: bool) -> None:
        if self._title is not None:
            self._diagnostic(
                head.span,
                "a second recipe begins here",
                "keep one recipe in a file; move this one to its own",
            )
        elif not first:
            self._diagnostic(
                head.span,
                "the kind and the name of the recipe stand below other lines",
                "move this line to the top",
            )
            self._title = head
        else:
            self._title = head

    def _take_field(self, place: tree.Field | tree.Head, key: tree.Text, text: str, span: Span) -> None:
        known = FIELDS.get(key.text)
        if known is None:
            self._take_unknown(place, key)
            return
        if key.text in self._fields:
            line = self._page.source.position(self._fields[key.text].span.start).line
            self._diagnostic(
                key.span, f"'{key.text}' stands here a second time (first on line {line})", "keep one of them"
            )
            return
        self._fields[key.text] = place
        if "\n" in text and not known.prose:
            self._diagnostic(
                span, f"'{key.text}' takes one line", f"write such as  {key.text}: {known.example}"
            )
            return
        try:
            value = known.read(text)
        except ValueRefusedError as error:
            from glost.recipe.spelling import certain_spelling

            becomes = certain_spelling(text, known.read, key.text)
            if becomes is None:
                self._diagnostic(span, error.message, error.hint)
            else:
                self._diagnostic(span, error.message, f"write {becomes}", Edit(span, becomes))
            return
        if value == ():
            self._diagnostic(
                span, f"nothing is said behind '{key.text}:'", f"write such as  {key.text}: {known.example}"
            )
            return
        self._values[key.text] = value

    def _take_unknown(self, place: tree.Field | tree.Head, key: tree.Text) -> None:
        word = key.text
        lower = word.lower()
        kinds = lexicon().kinds
        first = place is self._page.blocks[0].head
        behind = place.value if isinstance(place, tree.Field) else None
        if first and behind is not None and (lower in kinds or lower in ("title", "name", "recipe")):
            kind = lower if lower in kinds else "glaze"
            name = behind.text.strip("\"'\u201c\u201d\u2018\u2019 ")
            line = Span(key.span.start, behind.span.end)
            shown = f'{kind} "{name}"'
            sure = lower in kinds and name and '"' not in name
            self._told_of_a_head = True
            self._diagnostic(
                line,
                "the first line says the kind of recipe and its name, without a colon",
                f"write  {shown}",
                *([Edit(line, shown)] if sure else []),
            )
        elif lower in FIELDS and lower != word:
            self._diagnostic(
                key.span, f"'{word}' is written in lower case", f"write  {lower}:", Edit(key.span, lower)
            )
        elif lower in FIELD_SPELLINGS:
            self._take_spelling(key, FIELD_SPELLINGS[lower])
        elif (
            behind is not None
            and self._open_section in _ITEMS
            and _amounts().fullmatch(behind.text)
            and self._catalogue.find(word)  # any other word may be meant for a field
        ):
            self._stray("a material line", place, Edit(Span(key.span.end, behind.span.start), "  "))
        elif behind is not None and self._open_section == "handling" and self._catalogue.find(word):
            self._stray("a handling line", place)
        else:
            self._unknown.append(key)

    def _take_spelling(self, key: tree.Text, right: str) -> None:
        """A field under a name that others give it."""
        there = next(
            (
                place.span.start
                for block in self._page.blocks
                if (
                    isinstance(place := block.head, (tree.Field, tree.Head))
                    and _key_of(place).lower() == right
                )
                or (
                    isinstance(place, (tree.Field, tree.Head))
                    and FIELD_SPELLINGS.get(_key_of(place).lower()) == right
                    and place.span.start < key.span.start
                )
            ),
            None,
        )
        if there is None:
            self._diagnostic(
                key.span, f"'{key.text}' is called {right} here", f"write  {right}:", Edit(key.span, right)
            )
            return
        line = self._page.source.position(there).line
        self._diagnostic(
            key.span,
            f"'{key.text}' is called {right} here, and {right} stands on line {line} already",
            f"keep one of them, below  {right}:",
        )

    def _stray(self, what: str, place: tree.Field | tree.Head, *edits: Edit) -> None:
        """A line of the block above that was begun in column one, and so was read as a field."""
        blanks = Edit(Span(place.span.start, place.span.start), "    ")
        hint = "put blanks before it" + (", and only blanks behind the material" if edits else "")
        self._diagnostic(
            place.span,
            f"{what} stands in column one, where only fields and heads stand",
            hint,
            blanks,
            *edits,
        )

    _open_section = ""
    _told_of_a_head = False

    def _take_section(self, at: int, block: tree.Block, head: tree.Head) -> None:
        role = block.role
        if role == "field_below":
            self._take_field_below(block, head)
            return
        self._open_section = role
        if role in _ROLES:
            held = self._blocks[role]
            name = _called(head)
            if any(folded(_called(other)) == folded(name) for other, _ in held):
                self._diagnostic(
                    head.name.span if head.name else head.span,
                    f"a second {head.word.text} is called '{name}'",
                    "give each its own name",
                )
            held.append((head, [line for line in block.lines if isinstance(line, tree.Item)]))
            self._take_own(name, block)
        else:
            if role in self._heads:
                line = self._page.source.position(self._heads[role].span.start).line
                self._diagnostic(
                    head.span,
                    f"'{role}:' stands here a second time (first on line {line})",
                    "put all its lines below one head",
                )
            self._heads.setdefault(role, head)
            if role in self._items:
                self._items[role] += [line for line in block.lines if isinstance(line, tree.Item)]
            elif role == "handling":
                self._handling += [line for line in block.lines if isinstance(line, tree.Instruction)]
            else:
                self._notes.append(prose(block))
        if (
            role != "notes"
            and not self._told_below(at)
            and not any(isinstance(line, (tree.Item, tree.Instruction)) for line in block.lines)
        ):
            self._diagnostic(
                head.span,
                f"nothing stands below '{self._written(head)}'",
                "write its lines below, indented, or take the head away",
            )

    def _take_own(self, name: str, block: tree.Block) -> None:
        """What a variation says of itself."""
        for line in block.lines:
            if not isinstance(line, tree.Own):
                continue
            said = self._own.setdefault(folded(name), {})
            key = line.key.text
            if key in said:
                at = self._page.source.position(said[key].span.start).line
                self._diagnostic(
                    line.key.span,
                    f"'{key}' of '{name}' stands here a second time (first on line {at})",
                    "keep one of them",
                )
            else:
                said[key] = line

    def _written(self, head: tree.Head) -> str:
        if head.name is None:
            return f"{head.word.text}:"
        by = f" by {head.step.value:f} %" if head.step else ""
        return f'{head.word.text} "{head.name.text}"{by}:'

    def _told_below(self, at: int) -> bool:
        """Whether a line below that head is told of itself, so that the head is not the one to fix."""
        blocks = self._page.blocks
        below = blocks[at + 1].head if at + 1 < len(blocks) else None
        return any(isinstance(line, tree.Unread) for line in blocks[at].lines) or (
            isinstance(below, tree.Field) and below.key.text.lower() not in FIELDS
        )

    def _take_field_below(self, block: tree.Block, head: tree.Head) -> None:
        lines = [line for line in block.lines if isinstance(line, tree.Prose)]
        known = FIELDS.get(head.word.text)
        if not lines and known is not None:
            self._fields.setdefault(head.word.text, head)
            if not any(isinstance(line, tree.Unread) for line in block.lines):
                self._diagnostic(
                    head.span,
                    f"nothing is said behind '{head.word.text}:'",
                    f"write such as  {head.word.text}: {known.example}  or take the line away",
                )
            return
        if known is not None:
            weighed = next((line for line in lines if self._could_be_weighed(line)), None)
            if weighed is not None:
                self._fields.setdefault(head.word.text, head)
                at = weighed.span.start + weighed.indent
                self._diagnostic(
                    Span(at, at + len(weighed.text)),
                    f"a material and its amount stand below the field '{head.word.text}', so that it "
                    "would not be weighed",
                    f"write  {_heads_for_materials(head.word.text)}  above it, or say it in other words",
                )
                return
        # A value that runs over several lines is told at the second, where it should have ended.
        told = lines[1 if known is not None and not known.prose and len(lines) > 1 else 0] if lines else None
        span = head.span
        if told is not None:
            at = told.span.start + told.indent
            span = Span(at, at + len(told.text))
        self._take_field(head, head.word, prose(block), span)

    def _could_be_weighed(self, line: tree.Prose) -> bool:
        """Whether a line of text is a line of materials, put below a field by a slip."""
        if accepts(f"    {line.text}", "series") is None:
            return False
        (item,) = parse(Source("", f'series "steps":\n    {line.text}\n')).blocks[0].lines
        return isinstance(item, tree.Item) and self._catalogue.find(_plain(item.name.text)) is not None

    def _check_units(self) -> None:
        base = self._items["base"]
        anew = [items for role in _ROLES if role.startswith("base_") for _, items in self._blocks[role]]
        units = lexicon().masses
        first = base[0].amounts[0].unit if base else self._first_unit(anew)
        masses = first in units
        for item in base:
            self._check_base_amount(item.amounts[0], masses)
        for item in (item for items in anew for item in items):
            wrong = [one for one in item.amounts if one.unit == "%" or (one.unit in units) != masses]
            wrong = [one for one in wrong if one.value or one.unit]  # nothing of anything is nothing
            for amount in wrong[:1] if not all(one.unit == "%" for one in wrong) else wrong:
                self._told.add(item.span)
                self._check_base_amount(amount, masses)
        for items in (
            self._items["additions"],
            *(items for role in _ROLES if not role.startswith("base_") for _, items in self._blocks[role]),
        ):
            for item in items:
                mass = next((amount for amount in item.amounts if amount.unit in units), None)
                if mass is not None and not masses:
                    self._told.add(item.span)
                    self._diagnostic(
                        mass.span,
                        "a mass is added here to a base in parts",
                        "write parts, or a percentage such as 2 %",
                    )

    @staticmethod
    def _first_unit(blocks: Sequence[list[tree.Item]]) -> str:
        """The unit that the base blocks of a page without a base are written in: that of the first amount above 0."""
        amounts = (amount for items in blocks for item in items for amount in item.amounts)
        return next((amount.unit for amount in amounts if amount.value and amount.unit != "%"), "")

    def _check_base_amount(self, amount: tree.Amount, masses: bool) -> None:
        if amount.unit == "%":
            sign = self._page.source.text[amount.span.start : amount.span.end].rstrip("%").rstrip(" ")
            self._diagnostic(
                amount.span,
                "the base is written in parts, not in per cent",
                f"write {sign}; parts of a base that totals 100 are per cent",
                Edit(amount.span, sign),
            )
        elif (amount.unit in lexicon().masses) != masses:
            message = "a mass stands among parts here" if amount.unit else "parts stand among masses here"
            self._diagnostic(amount.span, message, "give every line of the base a mass, or none")

    def _check_blend(self, head: tree.Head, items: list[tree.Item]) -> None:
        """The step of a blend, and how many corners it has."""
        step = head.step
        if step is not None and divisions(step.value) is None:
            near = " or ".join(f"{one} %" for one in steps_near(step.value)) or "25 %"
            self._diagnostic(
                step.span,
                f"a step of {step.value:f} % does not divide 100",
                f"write {near}; points that do not lie evenly are written out in a series",
            )
        corners = max((len(item.amounts) for item in items), default=0)
        if corners and corners not in SHAPES:
            corner = "one corner" if corners == 1 else f"{corners} corners"
            self._diagnostic(
                head.name.span if head.name else head.span,
                f"this blend has {corner}; a blend has 2, 3 or 4",
                "write an amount for each corner, with commas between, such as  silica  20, 30, 40",
            )

    def _check_pairs(self) -> None:
        """A block and a base block of one name are one, and so must have the same tests."""
        for role in ("series", "blend"):
            based = {folded(_called(head)): (head, items) for head, items in self._blocks[f"base_{role}"]}
            for head, items in self._blocks[role]:
                other, theirs = based.get(folded(_called(head)), (None, []))
                if other is None:
                    continue
                late = max(head, other, key=lambda one: one.span)
                line = self._page.source.position(min(head, other, key=lambda one: one.span).span.start).line
                if head.step is not None and other.step is not None and head.step.value != other.step.value:
                    self._diagnostic(
                        (late.step or head.step).span,
                        f"'{_called(head)}' has another step on line {line}",
                        "give both the same step: they are one blend",
                    )
                mine, their = (max((len(i.amounts) for i in one), default=0) for one in (items, theirs))
                if mine != their and mine and their:
                    what = "corners" if role == "blend" else "tests"
                    few, many = sorted((mine, their))
                    self._diagnostic(
                        late.name.span if late.name else late.span,
                        f"'{_called(head)}' has {few} and {many} {what} in its two blocks (the other on line {line})",
                        f"give every line of both as many amounts: they are one {role}",
                    )

    def _check_labels(self, recipe: Recipe) -> None:
        """No two tests of a page have one name, whichever blocks they come from."""
        if self._diagnostics or self._page.diagnostics:
            return
        places: dict[tuple[str, str], tree.Head] = {}
        for role in _ROLES:
            for head, _ in self._blocks[role]:
                key = (role.removeprefix("base_"), folded(_called(head)))
                if key not in places or head.span < places[key].span:
                    places[key] = head
        met: dict[str, tree.Head] = {}
        for label, block, name in labels_and_blocks(recipe):
            if not label:
                continue
            head = places[(block, folded(name))]
            first = met.setdefault(folded(label), head)
            if first is not head and head.name is not None:
                line = self._page.source.position(first.span.start).line
                self._diagnostic(
                    head.name.span,
                    f"'{label}' is the name of two tests (the other on line {line})",
                    "give this block another name",
                )
                return

    def _named(self, item: tree.Item) -> tuple[str, str | None]:
        """The name of a line and its canonical name. What the catalogue does not know is named as the page first writes
        it, so that another letter case is the same line to whatever sets it anew or adds it up."""
        name = _ingredient_name(item.name)
        if item.name.kind:
            return name, None
        found = self._catalogue.find(name)
        return (name, found.name) if found else (self._first_names.get(folded(name), name), None)

    def _placed(self, item: tree.Item) -> Placed:
        name, material = self._named(item)
        amount = item.amounts[0]
        ingredient = Ingredient(
            name,
            material,
            Quantity(amount.value, amount.unit),
            item.note.text if item.note else "",
        )
        return Placed(item, ingredient)

    def _steps(self, head: tree.Head, items: list[tree.Item]) -> tuple[tuple[tree.Item, Step], ...]:
        longest = max((len(item.amounts) for item in items), default=0)
        steps = []
        for item in items:
            amounts = item.amounts
            span = Span(amounts[0].span.start, amounts[-1].span.end)
            if len(amounts) == 1:
                amounts *= longest
            elif len(amounts) != longest and item.span in self._told:
                continue
            elif len(amounts) != longest:
                self._diagnostic(
                    span,
                    f"{len(amounts)} amounts stand here, and {longest} on another line",
                    "give every line as many amounts, or one that holds for all tests",
                )
                continue
            in_base = head.word.text.startswith("base ")
            written = {amount.unit for amount in amounts if amount.value or not in_base}
            if len(written) > 1 and item.span not in self._told and not in_base:
                self._diagnostic(
                    span,
                    "the amounts of this line have different units",
                    "write the unit behind every amount, such as  1 %, 2 %",
                )
            name, material = self._named(item)
            quantities = tuple(Quantity(amount.value, amount.unit) for amount in amounts)
            note = item.note.text if item.note else ""
            steps.append((item, Step(name, material, quantities, note)))
        return tuple(steps)


def _first_names(page: tree.Page) -> dict[str, str]:
    """How each material's name is first written on a page, by the name without letter case."""
    first: dict[str, str] = {}
    for block in page.blocks:
        for line in block.lines:
            if isinstance(line, tree.Item) and not line.name.kind:
                name = _plain(line.name.text)
                first.setdefault(folded(name), name)
    return first


def _key_of(place: tree.Field | tree.Head) -> str:
    return (place.key if isinstance(place, tree.Field) else place.word).text


def _heads_for_materials(word: str) -> str:
    return "  or  ".join(written(head) for head in heads_meant(word) or ("base", "additions"))


def _called(head: tree.Head) -> str:
    return head.name.text if head.name else head.word.text


def _paired(
    added: Sequence[tuple[tree.Head, Sequence[Any]]], based: Sequence[tuple[tree.Head, Sequence[Any]]]
) -> Iterator[tuple[str, tree.Head, Sequence[Any], Sequence[Any]]]:
    """The blocks of one kind in the order of the page; those of one name as one, where the first of them stands."""
    pairs: dict[tuple[str, int], tuple[tree.Head, list[Sequence[Any]]]] = {}
    met: dict[tuple[str, int], int] = {}
    for at, blocks in ((0, added), (1, based)):
        for head, lines in blocks:
            name = folded(_called(head))
            again = met[(name, at)] = (
                met.get((name, at), -1) + 1
            )  # a second of one kind is told of, and stands alone
            first, both = pairs.get((name, again), (head, [(), ()]))
            both[at] = lines
            pairs[(name, again)] = (min(first, head, key=lambda one: one.span), both)
    for head, (mine, theirs) in sorted(pairs.values(), key=lambda pair: pair[0].span):
        yield _called(head), head, mine, theirs


def _ingredient_name(name: tree.Name) -> str:
    """The name of a line as the recipe has it."""
    return f'{name.kind} "{_plain(name.text)}"' if name.kind else _plain(name.text)


def _plain(name: str) -> str:
    return " ".join(name.split())


def names_known() -> tuple[str, ...]:
    """All words that may open a line in column one."""
    return (*FIELDS, *lexicon().heads)


def nearest_key(word: str) -> list[str]:
    """The keys and heads that ``word`` may be a misspelling of."""
    return nearest(word.lower(), names_known(), 2)
