"""One file of old notes: its form, its recipes as pages, and all that there is to say about it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.convert.formats.csv import COLUMNS, NEEDED, doubtful_cones, read_csv
from glost.convert.formats.json import read_json
from glost.convert.formats.jsonl import read_jsonl
from glost.convert.visible import visible
from glost.language.source import LARGEST_FILE, MOST_LINES
from glost.materials.catalogue import Catalogue
from glost.notebook.draft import Draft, Item, Kind, Remark, figures, plain_line
from glost.notebook.materials import Names
from glost.notebook.page import Unwritable, draft_page, keep_lines, recipe_page, settled, stem_of
from glost.notebook.plain import read_text
from glost.notebook.table import Refused, read_table
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
        if form == "csv" and _is_ours(text) and not columns:
            brought = _data(file, form, read_csv(text), catalogue, taken)
            return replace(brought, remarks=(*brought.remarks, *map(_lost_zero, doubtful_cones(text))))
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


def _lost_zero(found: tuple[int, str, str]) -> Remark:
    row, name, cone = found
    said = (
        f"'{name}' is for cone {cone}, if no spreadsheet took a zero away: for cone 0{cone} correct the page"
    )
    return Remark("guessed", row, said)


def _title(file: str) -> str:
    stem = file.replace("\\", "/").rpartition("/")[2].partition(".")[0]
    return " ".join(re.findall(r"[^\W_]+", stem))[:80] or "notes"


def _is_ours(text: str) -> bool:
    head = [cell.strip(' "').lower() for cell in text.partition("\n")[0].rstrip("\r").split(",")]
    return set(NEEDED) <= set(head) and set(head) <= {*COLUMNS, ""}


def _recipes(text: str) -> list[Recipe]:
    """Recipes of glost's own JSON, or of its JSON Lines. Raises ValueError."""
    try:
        return read_json(text)
    except ValueError:
        lines = [line for line in text.split("\n") if line.strip()]
        if not lines or not all(line.startswith("{") and line.rstrip().endswith("}") for line in lines):
            raise
        return read_jsonl(text)


def _data(file: str, form: Form, recipes: list[Recipe], catalogue: Catalogue, taken: set[str]) -> Brought:
    pages, remarks = [], list[Remark]()
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
    for draft in drafts:
        if form == "text":
            keep_lines(draft, lines)
        remarks += settled(draft)
        draft.fields.setdefault("origin", f"{_shown(file)}, line {draft.line}")
        try:
            page = draft_page(draft, names.catalogue)
        except Unwritable as error:
            remarks.append(Remark("unwritten", draft.line, f"'{draft.name}' is not written: {error}"))
            remarks += _whole(draft, drafts, lines)
            continue
        base = sum(isinstance(row, Item) for row in draft.base)
        added = sum(isinstance(row, Item) for row in draft.additions)
        pages.append(Page(_free(draft.name, taken), page, draft.name, base, added, draft.line))
        remarks += _unknown(draft, names)
    remarks += _not_found_again(lines, pages, remarks, [cell for draft in drafts for cell in draft.again])
    order: tuple[Kind, ...] = ("understood", "guessed", "unknown", "wrong", "left", "unwritten")
    remarks.sort(key=lambda remark: (order.index(remark.kind), remark.line))
    return Brought(file, form, tuple(pages), tuple(dict.fromkeys(remarks)))


def _shown(file: str) -> str:
    """A file's name as text of a page: nothing in it opens a comment."""
    return " ".join(visible(file).replace("#", "_").split()) or "notes"


def _whole(draft: Draft, drafts: list[Draft], lines: list[str]) -> list[Remark]:
    """Every line of a recipe that is not written, so that none is lost."""
    end = min((other.line for other in drafts if other.line > draft.line), default=len(lines) + 1)
    return [
        Remark("left", number, "of a recipe that is not written", plain_line(lines[number - 1]).strip(" "))
        for number in range(draft.line, end)
        if lines[number - 1].strip()
    ]


def _unknown(draft: Draft, names: Names) -> list[Remark]:
    out = []
    for item in draft.items():
        if not names.known(item.name):
            near = names.near(item.name)
            meant = f"; near it: {', '.join(near)}" if near else ""
            out.append(Remark("unknown", item.line, f"'{item.name}' is no material that is known{meant}"))
    return out


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
