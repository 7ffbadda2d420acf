"""From what was gathered, or from a recipe, to the text of its page, and the proof that it is read as it is meant."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from glost.errors import GlostError
from glost.importer.draft import Draft, Item, Remark, Row, Said, figures, plain_line
from glost.language.item_name import item_name
from glost.language.layout import INDENT, FormatError, format_text
from glost.language.parse import accepts, parse
from glost.language.source import Source
from glost.language.tables import lexicon
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.fields import FIELDS, Value, text_of
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import (
    Blend,
    Handling,
    Ingredient,
    Recipe,
    Series,
    Step,
    names_a_recipe,
    with_each_line,
)
from glost.recipe.resolve import resolve_own

_RESERVED = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])", re.IGNORECASE)
"""Names that some systems keep for devices, whatever the ending."""
_MOST_STEM = 100
"""Bytes; every disk takes that much and an ending."""


class DraftError(GlostError):
    """No page says what is meant; the text says why."""


def stem_of(name: str) -> str:
    """A file's name for a recipe's: its letters and figures, with strokes between; nothing of a path."""
    words = "".join(c if c.isalnum() else " " for c in unicodedata.normalize("NFC", name).casefold()).split()
    stem = "-".join(words).encode("utf-8")[:_MOST_STEM].decode("utf-8", "ignore").strip("-") or "recipe"
    return f"{stem}-recipe" if _RESERVED.fullmatch(stem) else stem


# ---- from a draft --------------------------------------------------------------------------------------


def draft_page(draft: Draft, catalogue: Catalogue) -> str:
    """The page of a draft whose units are settled. Raises DraftError."""
    base = list(draft.base)
    for rows in (draft.additions, *(rows for _, rows in draft.variations)):
        if rows and not any(isinstance(row, Item) for row in rows):
            base += rows  # a block of comments alone would be an empty one
            rows.clear()
    lines = [f'{draft.kind} "{draft.name}"\n']
    lines += [f"{key}: {draft.fields[key]}\n" for key in FIELDS if key in draft.fields]
    for head, rows in (("base", base), ("additions", draft.additions)):
        if rows:
            lines += [f"\n{head}:\n", *map(_row, rows)]
    for label, rows in draft.variations:
        if not rows:
            continue
        lines += [f'\nvariation "{label}":\n', *map(_row, rows)]
    if draft.notes:
        lines += ["\nnotes:\n", *(f"{INDENT}{note}\n" if note else "\n" for note in draft.notes)]
    return _proven("".join(lines), catalogue)[0]


def settled(draft: Draft) -> list[Remark]:
    """Makes the units of a draft such as a page may hold; returns what was guessed for it."""
    remarks: list[Remark] = []
    base = [row for row in draft.base if isinstance(row, Item)]
    units = lexicon().masses
    masses = {row.unit for row in base} & set(units)
    bare = [row for row in base if row.unit not in units]
    unit = ""
    if masses and bare:
        unit = next(iter(masses)) if len(masses) == 1 and all(row.unit == "" for row in bare) else ""
        if unit:
            remarks.append(
                Remark("guessed", draft.line, f"amounts without a unit are taken for {unit}, as the others")
            )
    draft.base[:] = [_base_row(row, bool(masses), unit, remarks) for row in draft.base]
    home = next((row.unit for row in draft.base if isinstance(row, Item)), "")
    for rows in (draft.additions, *(rows for _, rows in draft.variations)):
        rows[:] = [_added_row(row, home, remarks) for row in rows]
    return remarks


def _base_row(row: Row, masses: bool, unit: str, remarks: list[Remark]) -> Row:
    if isinstance(row, Said) or (row.unit in lexicon().masses) == masses:
        return row._replace(unit="") if isinstance(row, Item) and row.unit == "%" else row
    if unit:
        return row._replace(unit=unit, comment=row.comment or f"{row.name} {row.amount:f}")
    text = row.comment or f"{row.name} {row.amount:f} {row.unit}".rstrip(" ") + (
        f" ({row.note})" if row.note else ""
    )
    remarks.append(Remark("left", row.line, "parts stand among masses; the line stands as a comment", text))
    return Said(text, row.line)


def _added_row(row: Row, home: str, remarks: list[Remark]) -> Row:
    if isinstance(row, Said):
        return row
    written = row.comment or f"{row.name} {row.amount:f} {row.unit}".rstrip(" ")
    if row.unit in lexicon().masses and home == "":
        remarks.append(
            Remark("guessed", row.line, f"{row.unit} added to a base in parts are taken for parts", written)
        )
        return row._replace(unit="", comment=written)
    if row.unit == "" and home in lexicon().masses:
        remarks.append(
            Remark("guessed", row.line, f"an addition without a unit is taken for {home}", written)
        )
        return row._replace(unit=home, comment=written)
    return row


def _row(row: Row) -> str:
    if isinstance(row, Said):
        return f"{INDENT}{row.text}\n" if row.text.startswith("#") else f"{INDENT}# {row.text}\n"
    name = row.name.replace('"', "'")
    note = " ".join(row.note.replace("(", "[").replace(")", "]").split())
    text = f"{_named(name)}  {row.amount:f}{row.unit and ' ' + row.unit}" + (f"  ({note})" if note else "")
    comment = row.comment
    return f"{INDENT}{text}" + (f"  # {comment}" if comment else "") + "\n"


def _named(name: str) -> str:
    """A name, in quotes where it needs them; a recipe's is written with its kind."""
    if names_a_recipe(name) and accepts(f"{INDENT}{name}  1", "base") == "ITEM":
        return name
    return item_name(name)


def _proven(text: str, catalogue: Catalogue) -> tuple[str, AnalysedRecipe]:
    page = parse(Source("notes", text))
    resolved = resolve_own(page, catalogue)
    if diagnostics := (*page.diagnostics, *resolved.diagnostics):
        raise DraftError(diagnostics[0].message)
    if not resolved.complete:
        raise DraftError("a line of it would be left out")
    try:
        return format_text(page), resolved
    except FormatError as error:
        raise DraftError(str(error)) from None


def keep_lines(draft: Draft, lines: Sequence[str]) -> None:
    """Sets the line of the notes as a comment behind the first of its items, where these do not hold all its
    figures."""
    blocks = [draft.base, draft.additions, *(rows for _, rows in draft.variations)]
    held: dict[int, Counter[int]] = {}
    for row in (row for rows in blocks for row in rows):
        held.setdefault(row.line, Counter()).update(figures(_row(row)))
    done: set[int] = set()
    for rows in blocks:
        for at, row in enumerate(rows):
            text = lines[row.line - 1]
            if isinstance(row, Said) or row.comment or row.line in done:
                continue
            done.add(row.line)
            signs = any(character.isnumeric() and not character.isdecimal() for character in text)
            if signs or figures(text) - held[row.line]:
                rows[at] = row._replace(comment=plain_line(text).strip(" "))


# ---- from a recipe -------------------------------------------------------------------------------------


def recipe_page(recipe: Recipe, catalogue: Catalogue) -> str:
    """The page of a recipe as data, proven to be read as that recipe again; the recipes that it uses are named there,
    and stand on pages of their own. Raises DraftError."""
    text, resolved = _proven("".join(_lines(recipe)), catalogue)
    if resolved.recipe != replace(with_materials(recipe, catalogue), uses={}):
        raise DraftError("it holds something that a page cannot say, such as a name with a double quote")
    return text


def with_materials(recipe: Recipe, catalogue: Catalogue) -> Recipe:
    """The recipe with the materials that a catalogue finds by the names as written."""

    def found(line: Ingredient) -> Ingredient:
        material = None if names_a_recipe(line.name) else catalogue.find(line.name)
        return line._replace(material=material.name if material else None)

    def step(one: Step) -> Step:
        material = None if names_a_recipe(one.name) else catalogue.find(one.name)
        return one._replace(material=material.name if material else None)

    return with_each_line(recipe, found, step)


def _lines(recipe: Recipe) -> Iterator[str]:
    yield f'{recipe.kind} "{recipe.name}"\n'
    for key in FIELDS:
        if key in recipe.fields:
            yield from _field(key, recipe.fields[key])
    for head, lines in (("base", recipe.base), ("additions", recipe.additions)):
        if lines:
            yield from (f"\n{head}:\n", *map(_ingredient, lines))
    if recipe.handling:
        yield from ("\nhandling:\n", *map(_handling, recipe.handling))
    for variation in recipe.variations:
        own = [f"{INDENT}{key}: {text}\n" for key, text in variation.fields]
        if variation.base:
            yield from (f'\nbase variation "{variation.name}":\n', *map(_ingredient, variation.base), *own)
            own = []
        if variation.additions or not variation.base:
            yield from (f'\nvariation "{variation.name}":\n', *map(_ingredient, variation.additions), *own)
    for series in recipe.series:
        yield from _several(f'series "{series.name}":', series)
    for blend in recipe.blends:
        yield from _several(f'blend "{blend.name}" by {blend.by:f} %:', blend)
    if recipe.notes:
        yield "\nnotes:\n"
        yield from _below(recipe.notes.split("\n"))


def _several(head: str, block: Series | Blend) -> Iterator[str]:
    """The two blocks of a series or blend, as far as they hold anything."""
    if block.base:
        yield from (f"\nbase {head}\n", *map(_step, block.base))
    if block.steps or not block.base:
        yield from (f"\n{head}\n", *map(_step, block.steps))


def _field(key: str, value: Value) -> Iterator[str]:
    text = text_of(value)
    if "\n" not in text:
        yield f"{key}: {text}\n"
    else:
        yield f"{key}:\n"
        yield from _below(text.split("\n"))


def _below(lines: Sequence[str]) -> Iterator[str]:
    for line in lines:
        yield f"{INDENT}{line}\n" if line else "\n"


def _ingredient(line: Ingredient) -> str:
    return f"{INDENT}{_named(line.name)}  {line.quantity}{_note(line.note)}\n"


def _handling(one: Handling) -> str:
    return f"{INDENT}{', '.join(map(_named, one.names))}: {one.text}\n"


def _step(step: Step) -> str:
    amounts = ", ".join(map(str, step.quantities))
    return f"{INDENT}{_named(step.name)}  {amounts}{_note(step.note)}\n"


def _note(note: str) -> str:
    return f"  ({note})" if note else ""
