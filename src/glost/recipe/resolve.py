"""Tree to recipe: materials found, values typed, units settled, and every line tied to where it stands."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from typing import NamedTuple

from glost.errors import ValueRefusedError
from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.nearest import nearest
from glost.language.parse import accepts, parse
from glost.language.source import Edit, Source, Span
from glost.language.tables import lexicon
from glost.recipe.fields import FIELD_SPELLINGS, FIELDS, Quantity, Value
from glost.recipe.heads import heads_meant, written
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Handling, Ingredient, Recipe, Series, Step, Variation
from glost.recipe.taken import untaken

_ITEMS = ("base", "additions", "variation", "series")


@functools.cache
def _amounts() -> re.Pattern[str]:
    """One amount or several; of its number only that it is one in figures."""
    amount = f"[0-9.]+ *{lexicon().unit}?"
    return re.compile(rf"{amount}(?:, +{amount})*")


class Placed(NamedTuple):
    """An ingredient and the line it stands on."""

    item: tree.Item
    ingredient: Ingredient


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

    def places(self) -> Iterator[tuple[tree.Item, str | None]]:
        """Every line that names a material, in the order of the page, with its canonical name."""
        for placed in (*self.base, *self.additions):
            yield placed.item, placed.ingredient.material
        for _, lines in self.variations:
            for placed in lines:
                yield placed.item, placed.ingredient.material
        for _, steps in self.series:
            for item, step in steps:
                yield item, step.material


MOST_AMOUNTS = 500
"""Amounts on a page, those of a series each counted. A triaxial blend in steps of 5 % has 231 tests; a page with more
than this is no recipe, and what every answer on it costs stays bounded."""

MOST_WEIGHINGS = 10_000
"""Lines on all batch sheets of a page: its tests, times the materials of each."""


def resolve(page: tree.Page, catalogue: Catalogue) -> AnalysedRecipe:
    """What ``page`` means. Never raises for anything a page may hold. Of a page that holds too much for a recipe it is
    told, and no more is looked at; nor of one that is no recipe."""
    too_much = _too_much(page)
    if too_much is None and (page.is_recipe or not page.diagnostics):
        return _Resolver(page, catalogue).resolve()
    nothing = _Resolver(tree.Page(page.source, (), (), page.diagnostics), catalogue)
    resolved = nothing.resolve()
    return resolved._replace(page=page, complete=False, diagnostics=(too_much,) if too_much else ())


def _too_much(page: tree.Page) -> Diagnostic | None:
    amounts = tests = added = 0
    for block in page.blocks:
        here = [len(line.amounts) for line in block.lines if isinstance(line, tree.Item)]
        amounts += sum(here)
        if amounts > MOST_AMOUNTS:
            return Diagnostic(
                block.head.span,
                f"this page holds more than {MOST_AMOUNTS} amounts; a recipe is a page",
                "keep one recipe in a file, and part a long series",
            )
        if block.role == "variation":
            tests += 1
        elif block.role == "series":
            tests += max(here, default=0)
        else:
            added += len(here)
    if (1 + tests) * added > MOST_WEIGHINGS:
        return Diagnostic(
            page.blocks[0].head.span,
            f"{tests} tests of {added} materials stand on this page: more than {MOST_WEIGHINGS:,} lines to weigh",
            "part the variations and series into several files",
        )
    return None


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
        self._variations: list[tuple[tree.Head, list[tree.Item]]] = []
        self._series: list[tuple[tree.Head, list[tree.Item]]] = []
        self._handling: list[tree.Instruction] = []
        self._notes: list[str] = []
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
        variations = tuple((head, tuple(map(self._placed, items))) for head, items in self._variations)
        series = tuple((head, self._steps(head, items)) for head, items in self._series)
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
                Variation(_called(head), tuple(p.ingredient for p in placed)) for head, placed in variations
            ),
            series=tuple(Series(_called(head), tuple(step for _, step in steps)) for head, steps in series),
            notes="\n".join(filter(None, self._notes)),
        )
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
            variations,
            series,
            tuple(self._handling),
            self._fields,
            tuple(self._unknown),
            self._title,
            self._heads.get("base"),
            (*self._heads.values(), *(head for head, _ in (*self._variations, *self._series))),
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
        elif "base" not in self._heads and not any(
            isinstance(block.head, tree.Head) and block.head.word in self._unknown for block in blocks
        ):
            self._diagnostic(
                self._title.span,
                "the recipe has no base",
                "write  base:  and its materials on indented lines below",
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
        if role in ("variation", "series"):
            held = self._variations if role == "variation" else self._series
            name = _called(head)
            if any(_called(other) == name for other, _ in held):
                self._diagnostic(
                    head.name.span if head.name else head.span,
                    f"a second {role} is called '{name}'",
                    "give each its own name",
                )
            held.append((head, [line for line in block.lines if isinstance(line, tree.Item)]))
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
                self._notes.append(_prose(block))
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

    def _written(self, head: tree.Head) -> str:
        return f'{head.word.text} "{head.name.text}":' if head.name else f"{head.word.text}:"

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
        self._take_field(head, head.word, _prose(block), span)

    def _could_be_weighed(self, line: tree.Prose) -> bool:
        """Whether a line of text is a line of materials, put below a field by a slip."""
        if accepts(f"    {line.text}", "series") is None:
            return False
        (item,) = parse(Source("", f'series "steps":\n    {line.text}\n')).blocks[0].lines
        return isinstance(item, tree.Item) and self._catalogue.find(_plain(item.name.text)) is not None

    def _check_units(self) -> None:
        base = self._items["base"]
        first = base[0].amounts[0].unit if base else ""
        units = lexicon().masses
        masses = first in units
        for item in base:
            amount = item.amounts[0]
            if amount.unit == "%":
                sign = self._page.source.text[amount.span.start : amount.span.end].rstrip("%").rstrip(" ")
                self._diagnostic(
                    amount.span,
                    "the base is written in parts, not in per cent",
                    f"write {sign}; parts of a base that totals 100 are per cent",
                    Edit(amount.span, sign),
                )
            elif (amount.unit in units) != masses:
                message = "a mass stands among parts here" if amount.unit else "parts stand among masses here"
                self._diagnostic(amount.span, message, "give every line of the base a mass, or none")
        for items in (self._items["additions"], *(items for _, items in (*self._variations, *self._series))):
            for item in items:
                mass = next((amount for amount in item.amounts if amount.unit in units), None)
                if mass is not None and not masses:
                    self._told.add(item.span)
                    self._diagnostic(
                        mass.span,
                        "a mass is added here to a base in parts",
                        "write parts, or a percentage such as 2 %",
                    )

    def _placed(self, item: tree.Item) -> Placed:
        name = _plain(item.name.text)
        amount = item.amounts[0]
        found = self._catalogue.find(name)
        ingredient = Ingredient(
            name,
            found.name if found else None,
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
            if len({amount.unit for amount in amounts}) > 1 and item.span not in self._told:
                self._diagnostic(
                    span,
                    "the amounts of this line have different units",
                    "write the unit behind every amount, such as  1 %, 2 %",
                )
            name = _plain(item.name.text)
            found = self._catalogue.find(name)
            quantities = tuple(Quantity(amount.value, amount.unit) for amount in amounts)
            steps.append(
                (
                    item,
                    Step(
                        name, found.name if found else None, quantities, item.note.text if item.note else ""
                    ),
                )
            )
        return tuple(steps)


def _key_of(place: tree.Field | tree.Head) -> str:
    return (place.key if isinstance(place, tree.Field) else place.word).text


def _heads_for_materials(word: str) -> str:
    return "  or  ".join(written(head) for head in heads_meant(word) or ("base", "additions"))


def _called(head: tree.Head) -> str:
    return head.name.text if head.name else head.word.text


def _plain(name: str) -> str:
    return " ".join(name.split())


def _prose(block: tree.Block) -> str:
    """The text below a head: its lines without their common indent, at most one empty line between."""
    lines = [line for line in block.lines if isinstance(line, (tree.Prose, tree.Blank))]
    edge = min((line.indent for line in lines if isinstance(line, tree.Prose)), default=0)
    out: list[str] = []
    for line in lines:
        text = " " * (line.indent - edge) + line.text if isinstance(line, tree.Prose) else ""
        if text or (out and out[-1]):
            out.append(text)
    return "\n".join(out).strip("\n")


def names_known() -> tuple[str, ...]:
    """All words that may open a line in column one."""
    return (*FIELDS, *lexicon().heads)


def nearest_key(word: str) -> list[str]:
    """The keys and heads that ``word`` may be a misspelling of."""
    return nearest(word.lower(), names_known(), 2)
