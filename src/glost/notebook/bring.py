"""One file of old notes: its form, its recipes as pages, and all that there is to say about it."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.convert.formats.json import read_json
from glost.convert.formats.jsonl import read_jsonl
from glost.convert.visible import visible
from glost.language.source import LARGEST_FILE, MOST_LINES
from glost.materials.catalogue import Catalogue, key
from glost.notebook.cells import Refused
from glost.notebook.check import doubts, why_not
from glost.notebook.draft import Draft, Item, Kind, Remark, figures, plain_line
from glost.notebook.materials import Names
from glost.notebook.own import own_separator, read_own
from glost.notebook.page import Unwritable, draft_page, keep_lines, recipe_page, settled, stem_of
from glost.notebook.plain import read_text
from glost.notebook.table import read_table
from glost.recipe.recipe import Recipe

Form: TypeAlias = Literal["csv", "json", "text"]
FORMS: Final[tuple[Form, ...]] = ("csv", "json", "text")
LARGEST: Final[Mapping[Form, int]] = {"csv": 2 * 1024 * 1024, "json": 8 * 1024 * 1024, "text": LARGEST_FILE}
"""Bytes that are read of a file at most."""

_ENDINGS: Final[Mapping[str, Form]] = {
    ".csv": "csv", ".tsv": "csv", ".tab": "csv", ".json": "json", ".jsonl": "json"
}  # fmt: skip


class Page(NamedTuple):
    """A recipe that can be written: its file's name, its text, its name, how many lines its base and its additions
    have, and the line of the notes that it begins on (0 in data)."""

    file: str
    text: str
    name: str
    base: int
    additions: int
    line: int


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
            return _data(file, form, _recipes(text), catalogue, taken)
        if form == "csv" and not columns and (separator := own_separator(text)):
            recipes, remarks = read_own(text, separator)
            return _data(file, form, recipes, catalogue, taken, remarks)
        text = text.replace("\r\n", "\n").replace("\r", "\n")
        if form == "csv":
            drafts, remarks = read_table(text, _title(file), names, columns or {})
        elif text.count("\n") > MOST_LINES:
            raise ValueError(f"more than {MOST_LINES:,} lines stand here; part the file")
        else:
            drafts, remarks = read_text(text, _title(file), names)
    except (Refused, ValueError) as error:
        return Brought(file, form, refused=str(error))
    return _written(file, form, text, drafts, remarks, names, taken)


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
        return read_jsonl(text)


def _data(
    file: str,
    form: Form,
    recipes: list[Recipe],
    catalogue: Catalogue,
    taken: set[str],
    told: Sequence[Remark] = (),
) -> Brought:
    pages, remarks = [], list(told)
    for recipe in recipes:
        try:
            text = recipe_page(recipe, catalogue)
        except Unwritable as error:
            said = f"'{recipe.name}' is not written: {error}"
            remarks.append(Remark("unwritten", 0, said))
            continue
        pages.append(
            Page(_free(recipe.name, taken), text, recipe.name, len(recipe.base), len(recipe.additions), 0)
        )
    return Brought(file, form, tuple(pages), tuple(remarks))


def _free(name: str, taken: set[str]) -> str:
    stem = stem_of(name)
    file, count = f"{stem}.glost", 2
    while file in taken:
        file, count = f"{stem}-{count}.glost", count + 1
    taken.add(file)
    return file


def _written(
    file: str,
    form: Form,
    text: str,
    drafts: list[Draft],
    remarks: list[Remark],
    names: Names,
    taken: set[str],
) -> Brought:
    lines = text.split("\n")
    pages = []
    unwritten: dict[int, str] = {}
    for at, draft in enumerate(drafts):
        if form == "text":
            keep_lines(draft, lines)
        remarks += settled(draft)
        draft.fields.setdefault("origin", f"{_shown(file)}, line {draft.line}")
        try:
            if why := why_not(draft, names):
                raise Unwritable(why)
            page = draft_page(draft, names.catalogue)
        except Unwritable as error:
            unwritten[at] = f"'{draft.name}' is not written: {error}"
            continue
        base = sum(isinstance(row, Item) for row in draft.base)
        added = sum(isinstance(row, Item) for row in draft.additions)
        pages.append(Page(_free(draft.name, taken), page, draft.name, base, added, draft.line))
        remarks += doubts(draft, names)
    if form == "csv" and len(unwritten) * 2 > len(drafts):
        said = next(iter(unwritten.values()))
        raise Refused(
            f"read as a table so, most of it is no recipe: {said}; say what the columns are with --columns"
        )
    remarks += _unwritten(unwritten, drafts, lines)
    remarks += _unknown([drafts[at] for at in range(len(drafts)) if at not in unwritten], names)
    remarks += _not_found_again(lines, pages, remarks, [cell for draft in drafts for cell in draft.again])
    order: tuple[Kind, ...] = ("understood", "guessed", "unknown", "wrong", "left", "unwritten")
    remarks.sort(key=lambda remark: (order.index(remark.kind), remark.line))
    return Brought(file, form, tuple(pages), tuple(dict.fromkeys(remarks)))


def _shown(file: str) -> str:
    """A file's name as text of a page: nothing in it opens a comment."""
    return " ".join(visible(file).replace("#", "_").split()) or "notes"


def _unwritten(why: Mapping[int, str], drafts: Sequence[Draft], lines: Sequence[str]) -> list[Remark]:
    """What is said of each recipe that is not written, with every line of it, so that none is lost."""
    remarks: list[Remark] = []
    begun = [*sorted({draft.line for draft in drafts}), len(lines) + 1]
    for at, said in why.items():
        first = drafts[at].line
        remarks.append(Remark("unwritten", first, said))
        for number in range(first, begun[bisect_right(begun, first)]):
            if text := plain_line(lines[number - 1]).strip(" "):
                remarks.append(Remark("left", number, "of a recipe that is not written", text))
    return remarks


def _unknown(drafts: Sequence[Draft], names: Names) -> list[Remark]:
    """Each material that is not known, once, with the lines that name it."""
    found: dict[str, list[Item]] = {}
    for draft in drafts:
        for item in draft.items():
            if not names.known(item.name):
                found.setdefault(key(item.name), []).append(item)
    return [_unknown_material(items, names.near(items[0].name)) for items in found.values()]


def _unknown_material(items: Sequence[Item], near: Sequence[str]) -> Remark:
    name = items[0].name
    times = f" ({len(items)} times)" if len(items) > 1 else ""
    meant = f"; near it: {', '.join(near)}" if near else ""
    return Remark("unknown", items[0].line, f"'{name}'{times} is no material that is known{meant}")


def _not_found_again(
    lines: list[str], pages: list[Page], remarks: list[Remark], again: list[str]
) -> list[Remark]:
    """The lines that hold a number which is found again in no page and no remark: the proof that none is lost."""
    left: Counter[int] = Counter()
    for line in lines:
        left += figures(line)
    for page in pages:
        left -= figures(page.text)
    for text in (*(remark.text for remark in remarks), *again):
        left -= figures(text)
    out = []
    for number, line in enumerate(lines, 1):
        if left and (here := figures(line)) & left:
            out.append(
                Remark(
                    "left",
                    number,
                    "not all numbers of this line stand in a recipe",
                    plain_line(line).strip(" "),
                )
            )
            left -= here
    return out
