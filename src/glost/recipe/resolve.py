"""Tree to recipe: materials found, values typed, units settled, and every line tied to where it stands."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, TypeAlias

from glost.errors import ValueRefusedError
from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.nearest import nearest
from glost.language.parse import accepts, parse
from glost.language.source import Edit, Source, Span
from glost.language.tables import lexicon
from glost.recipe import page_checks
from glost.recipe.analysed import AnalysedRecipe, Placed
from glost.recipe.fields import FIELD_SPELLINGS, FIELDS, Quantity, Value
from glost.recipe.heads import heads_meant, written
from glost.recipe.library import Finder
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.names import called, folded, ingredient_name, plain
from glost.recipe.page_checks import ROLES, Held
from glost.recipe.page_size import too_much
from glost.recipe.prose import prose
from glost.recipe.recipe import Blend, Handling, Ingredient, Recipe, Series, Step, Variation
from glost.recipe.taken import untaken

_ITEMS: Final = ("base", "additions", *ROLES)
_Steps: TypeAlias = "Mapping[str, Sequence[tuple[tree.Head, Sequence[tuple[tree.Item, Step]]]]]"
"""By the role of a block, its lines, each with the item that it stands on."""


@functools.cache
def _amounts() -> re.Pattern[str]:
    """One amount or several; of its number only that it is one in figures."""
    amount = f"[0-9.]+ *{lexicon().unit}?"
    return re.compile(rf"{amount}(?:, +{amount})*")


def resolve(page: tree.Page, catalogue: Catalogue, finder: Finder | None = None) -> AnalysedRecipe:
    """What ``page`` means. ``finder`` knows the recipes that it may use; without one, it may use none. Never raises for
    anything a page may hold. Of a page that holds too much for a recipe it is told, and no more is looked at; nor of
    one that is no recipe."""
    resolved = resolve_own(page, catalogue)
    if not any(item.name.kind for item, _ in resolved.places()):
        return resolved
    from glost.recipe.uses import with_uses  # few pages use others

    return with_uses(resolved, finder)


def resolve_own(page: tree.Page, catalogue: Catalogue) -> AnalysedRecipe:
    """What a page means by itself: the recipes that it uses are named, and not looked up."""
    refused = _no_recipe(page) if page.is_firing else too_much(page)
    if refused is None and (page.is_recipe or not page.diagnostics):
        return _Resolver(page, catalogue).resolve()
    nothing = _Resolver(tree.Page(page.source, (), (), page.diagnostics), catalogue)
    resolved = nothing.resolve()
    return resolved._replace(page=page, complete=False, diagnostics=(refused,) if refused else ())


def _no_recipe(page: tree.Page) -> Diagnostic:
    return Diagnostic(
        page.blocks[0].head.span if page.blocks else Span(0, 0),
        "this page is a firing, and no recipe",
        "glost firing and glost results read firings; name a recipe here",
    )


class _Resolver:
    def __init__(self, page: tree.Page, catalogue: Catalogue) -> None:
        self._page = page
        self._catalogue = catalogue
        self._diagnostics: list[Diagnostic] = []
        self._held = Held(page)
        self._fields: dict[str, tree.Field | tree.Head] = {}
        self._values: dict[str, Value] = {}
        self._own: dict[str, dict[str, tree.Own]] = {}
        """What variations say of themselves, by their folded names."""
        self._handling: list[tree.Instruction] = []
        self._notes: list[str] = []
        self._first_names = _first_names(page)

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
        held = self._held
        self._diagnostics += page_checks.missing_parts(held)
        self._diagnostics += page_checks.mixed_units(held)
        base = tuple(self._placed(item) for item in held.items["base"])
        additions = tuple(self._placed(item) for item in held.items["additions"])
        lines = {
            role: tuple((head, tuple(map(self._placed, items))) for head, items in held.blocks[role])
            for role in ("variation", "base_variation")
        }
        steps = {
            role: tuple((head, self._steps(head, items)) for head, items in held.blocks[role])
            for role in ROLES
            if role not in lines
        }
        self._diagnostics += page_checks.wrong_blends(held)
        self._diagnostics += page_checks.unequal_pairs(held)
        recipe = Recipe(
            kind=held.title.kind.text if held.title else "glaze",
            name=held.title.name.text if held.title else "",
            fields=self._values,
            base=tuple(placed.ingredient for placed in base),
            additions=tuple(placed.ingredient for placed in additions),
            handling=tuple(
                Handling(tuple(plain(name.text) for name in line.names), line.text.text)
                for line in self._handling
            ),
            variations=self._variations(lines),
            series=_series(steps),
            blends=_blends(steps),
            notes="\n".join(filter(None, self._notes)),
        )
        if not self._diagnostics and not self._page.diagnostics:
            self._diagnostics += page_checks.doubled_tests(held, recipe)
        complete = not self._page.diagnostics and not held.unknown and not self._diagnostics
        resolved = AnalysedRecipe(
            self._page,
            recipe,
            complete,
            self._sorted_diagnostics(),
            base,
            additions,
            lines["variation"],
            steps["series"],
            tuple(self._handling),
            self._fields,
            tuple(held.unknown),
            held.title,
            held.heads.get("base"),
            (*held.heads.values(), *(head for blocks in held.blocks.values() for head, _ in blocks)),
            lines["base_variation"],
            steps["base_series"],
            steps["blend"],
            steps["base_blend"],
            tuple(own for named in self._own.values() for own in named.values()),
        )
        left = tuple(untaken(resolved)) if complete else ()
        return resolved._replace(complete=False, diagnostics=left) if left else resolved

    def _variations(
        self, lines: Mapping[str, Sequence[tuple[tree.Head, Sequence[Placed]]]]
    ) -> tuple[Variation, ...]:
        return tuple(
            Variation(
                name,
                tuple(one.ingredient for one in added),
                tuple(one.ingredient for one in based),
                tuple((key, own.value.text) for key, own in self._own.get(folded(name), {}).items()),
            )
            for name, _, added, based in _paired(lines["variation"], lines["base_variation"])
        )

    def _sorted_diagnostics(self) -> tuple[Diagnostic, ...]:
        """In the order of the page; of what stands twice there, torn by a merge, none is one of its own."""
        torn = self._page.torn
        found = (one for one in self._diagnostics if not any(t.start <= one.span.start < t.end for t in torn))
        return tuple(sorted(found, key=lambda one: one.span))

    def _take_title(self, head: tree.Title, first: bool) -> None:
        if self._held.title is not None:
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
            self._held.title = head
        else:
            self._held.title = head

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
            self._held.told_of_a_head = True
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
            self._held.unknown.append(key)

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

    def _take_section(self, at: int, block: tree.Block, head: tree.Head) -> None:
        role = block.role
        if role == "field_below":
            self._take_field_below(block, head)
            return
        self._open_section = role
        if role in ROLES:
            held = self._held.blocks[role]
            name = called(head)
            if any(folded(called(other)) == folded(name) for other, _ in held):
                self._diagnostic(
                    head.name.span if head.name else head.span,
                    f"a second {head.word.text} is called '{name}'",
                    "give each its own name",
                )
            held.append((head, [line for line in block.lines if isinstance(line, tree.Item)]))
            self._take_own(name, block)
        else:
            if role in self._held.heads:
                line = self._page.source.position(self._held.heads[role].span.start).line
                self._diagnostic(
                    head.span,
                    f"'{role}:' stands here a second time (first on line {line})",
                    "put all its lines below one head",
                )
            self._held.heads.setdefault(role, head)
            if role in self._held.items:
                self._held.items[role] += [line for line in block.lines if isinstance(line, tree.Item)]
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
        return isinstance(item, tree.Item) and self._catalogue.find(plain(item.name.text)) is not None

    def _named(self, item: tree.Item) -> tuple[str, str | None]:
        """The name of a line and its canonical name. What the catalogue does not know is named as the page first writes
        it, so that another letter case is the same line to whatever sets it anew or adds it up."""
        name = ingredient_name(item.name)
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
            elif len(amounts) != longest and item.span in self._held.told:
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
            if len(written) > 1 and item.span not in self._held.told and not in_base:
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


def _series(steps: _Steps) -> tuple[Series, ...]:
    return tuple(
        Series(name, tuple(step for _, step in added), tuple(step for _, step in based))
        for name, _, added, based in _paired(steps["series"], steps["base_series"])
    )


def _blends(steps: _Steps) -> tuple[Blend, ...]:
    return tuple(
        Blend(name, head.step.value, tuple(step for _, step in added), tuple(step for _, step in based))
        for name, head, added, based in _paired(steps["blend"], steps["base_blend"])
        if head.step is not None
    )


def _first_names(page: tree.Page) -> dict[str, str]:
    """How each material's name is first written on a page, by the name without letter case."""
    first: dict[str, str] = {}
    for block in page.blocks:
        for line in block.lines:
            if isinstance(line, tree.Item) and not line.name.kind:
                name = plain(line.name.text)
                first.setdefault(folded(name), name)
    return first


def _key_of(place: tree.Field | tree.Head) -> str:
    return (place.key if isinstance(place, tree.Field) else place.word).text


def _heads_for_materials(word: str) -> str:
    return "  or  ".join(written(head) for head in heads_meant(word) or ("base", "additions"))


def _paired(
    added: Sequence[tuple[tree.Head, Sequence[Any]]], based: Sequence[tuple[tree.Head, Sequence[Any]]]
) -> Iterator[tuple[str, tree.Head, Sequence[Any], Sequence[Any]]]:
    """The blocks of one kind in the order of the page; those of one name as one, where the first of them stands."""
    pairs: dict[tuple[str, int], tuple[tree.Head, list[Sequence[Any]]]] = {}
    met: dict[tuple[str, int], int] = {}
    for at, blocks in ((0, added), (1, based)):
        for head, lines in blocks:
            name = folded(called(head))
            again = met[(name, at)] = (
                met.get((name, at), -1) + 1
            )  # a second of one kind is told of, and stands alone
            first, both = pairs.get((name, again), (head, [(), ()]))
            both[at] = lines
            pairs[(name, again)] = (min(first, head, key=lambda one: one.span), both)
    for head, (mine, theirs) in sorted(pairs.values(), key=lambda pair: pair[0].span):
        yield called(head), head, mine, theirs


def names_known() -> tuple[str, ...]:
    """All words that may open a line in column one."""
    return (*FIELDS, *lexicon().heads)


def nearest_key(word: str) -> list[str]:
    """The keys and heads that ``word`` may be a misspelling of."""
    return nearest(word.lower(), names_known(), 2)
