"""One file of old notes: its form, its recipes as pages, and all that there is to say about it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from glost.errors import ValueRefusedError
from glost.importer.cells import TableError
from glost.importer.draft import Remark
from glost.importer.materials import Names
from glost.importer.own import own_separator, read_own
from glost.importer.page import DraftError, recipe_page
from glost.importer.plain import read_text
from glost.importer.table import read_table
from glost.importer.written import Form as Form
from glost.importer.written import Notes, free_file, written
from glost.importer.written import Page as Page
from glost.language.exact_json import loaded
from glost.language.source import LARGEST_FILE, MOST_LINES
from glost.output.formats.json import read_json
from glost.output.formats.jsonl import read_jsonl
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Recipe

FORMS: Final[tuple[Form, ...]] = ("csv", "json", "text")
LARGEST: Final[Mapping[Form, int]] = {"csv": 2 * 1024 * 1024, "json": 8 * 1024 * 1024, "text": LARGEST_FILE}
"""Bytes that are read of a file at most."""

_ENDINGS: Final[Mapping[str, Form]] = {
    ".csv": "csv", ".tsv": "csv", ".tab": "csv", ".json": "json", ".jsonl": "json"
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Brought:
    """What a file of notes gave. ``refused`` is why it could not be read at all, or ""."""

    file: str
    form: Form
    pages: tuple[Page, ...] = ()
    remarks: tuple[Remark, ...] = ()
    refused: str = ""


def form_of(file: str) -> Form:
    """The form of a file by its ending; what is neither a table nor data is plain text."""
    dot = file.rfind(".")
    return _ENDINGS.get(file[dot:].lower(), "text") if dot >= 0 else "text"


def bring(
    file: str,
    text: str,
    form: Form,
    names: Names,
    taken: set[str],
    columns: Mapping[str, str] | None = None,
) -> Brought:
    """The recipes of a file whose text is given. ``file`` is its name as shown. The file names of the pages are
    none of ``taken``, and are added to it."""
    text = text.removeprefix("\ufeff")
    catalogue = names.catalogue
    try:
        if form == "json":
            return Brought(file, form, *_data(_recipes(text), catalogue, taken, ()))
        if form == "csv" and not columns and (separator := own_separator(text)):
            recipes, told = read_own(text, separator)
            return Brought(file, form, *_data(recipes, catalogue, taken, told))
        text = text.replace("\r\n", "\n").replace("\r", "\n")
        if form == "csv":
            drafts, remarks = read_table(text, _title(file), names, columns or {})
        elif text.count("\n") > MOST_LINES:
            raise ValueRefusedError(f"more than {MOST_LINES:,} lines stand here", "part the file")
        else:
            drafts, remarks = read_text(text, _title(file), names)
        pages = written(Notes(file, form, text), drafts, remarks, names, taken)
    except (TableError, ValueError) as error:
        return Brought(file, form, refused=str(error))
    return Brought(file, form, pages, tuple(remarks))


def _title(file: str) -> str:
    stem = file.replace("\\", "/").rpartition("/")[2].partition(".")[0]
    return " ".join(re.findall(r"[^\W_]+", stem))[:80] or "notes"


def _recipes(text: str) -> list[Recipe]:
    """Recipes of glost's own JSON, or of its JSON Lines. Raises ValueError."""
    try:
        return read_json(text)
    except ValueError:
        lines = [line for line in text.split("\n") if line.strip()]
        if not lines or not all(line.startswith("{") and line.rstrip().endswith("}") for line in lines):
            raise
        if _holds_all(text):  # on one line: what is wrong with it is not that it is no line of JSON Lines
            raise
        return read_jsonl(text)


def _holds_all(text: str) -> bool:
    """Whether this is one JSON document with a list of recipes, right or wrong."""
    try:
        value = loaded(text)
    except ValueError:
        return False
    return isinstance(value, dict) and "recipes" in value


def _data(
    recipes: list[Recipe], catalogue: Catalogue, taken: set[str], told: Sequence[Remark]
) -> tuple[tuple[Page, ...], tuple[Remark, ...]]:
    pages, remarks = [], list(told)
    for recipe in recipes:
        try:
            text = recipe_page(recipe, catalogue)
        except DraftError as error:
            said = f"'{recipe.name}' is not written: {error}"
            remarks.append(Remark("unwritten", 0, said))
            continue
        count = len(recipe.base), len(recipe.additions)
        pages.append(Page(free_file(recipe.name, taken), text, recipe.name, *count, 0))
    return tuple(pages), tuple(remarks)
