"""The drafts of a file as pages, with the proof that nothing of the notes is lost."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.importer.cells import TableError
from glost.importer.check import doubts, why_not
from glost.importer.draft import Draft, Item, Kind, Remark, figures, plain_line
from glost.importer.materials import Names
from glost.importer.page import DraftError, draft_page, keep_lines, settled, stem_of
from glost.output.escape import visible
from glost.recipe.materials.catalogue import key

Form: TypeAlias = Literal["csv", "json", "text"]
_ORDER: Final[tuple[Kind, ...]] = ("understood", "guessed", "unknown", "wrong", "left", "unwritten")


class Notes(NamedTuple):
    """A file of notes: its name as shown, what it is, its text."""

    file: str
    form: Form
    text: str


class Page(NamedTuple):
    """A recipe that can be written: its file's name, its text, its name, how many lines its base and its additions
    have, and the line of the notes that it begins on (0 in data)."""

    file: str
    text: str
    name: str
    base: int
    additions: int
    line: int


def written(
    notes: Notes, drafts: Sequence[Draft], remarks: list[Remark], names: Names, taken: set[str]
) -> tuple[Page, ...]:
    """The pages of the drafts that can be written. All that is to be told of them is added to the remarks, which are
    then in order. Raises TableError where most of a table would be nonsense."""
    lines = notes.text.split("\n")
    texts: dict[int, str] = {}
    unwritten: dict[int, str] = {}
    for at, draft in enumerate(drafts):
        if notes.form == "text":
            keep_lines(draft, lines)
        remarks += settled(draft)
        draft.fields.setdefault("origin", f"{_shown(notes.file)}, line {draft.line}")
        try:
            if why := why_not(draft, names):
                raise DraftError(why)
            texts[at] = draft_page(draft, names.catalogue)
        except DraftError as error:
            unwritten[at] = f"'{draft.name}' is not written: {error}"
    if notes.form == "csv" and len(unwritten) * 2 > len(drafts):
        said = next(iter(unwritten.values()))
        raise TableError(
            f"read so, most of this table is no recipe: {said}", "say which column is what with --columns"
        )
    pages = tuple(_page(drafts[at], text, taken) for at, text in texts.items())
    kept = [drafts[at] for at in texts]
    remarks += [remark for draft in kept for remark in doubts(draft, names)]
    remarks += _unwritten(unwritten, drafts, lines)
    remarks += _unknown(kept, names)
    remarks += _not_found_again(lines, pages, remarks, [cell for draft in drafts for cell in draft.again])
    remarks[:] = sorted(dict.fromkeys(remarks), key=lambda remark: (_ORDER.index(remark.kind), remark.line))
    return pages


def _page(draft: Draft, text: str, taken: set[str]) -> Page:
    base, added = (sum(isinstance(row, Item) for row in rows) for rows in (draft.base, draft.additions))
    return Page(free_file(draft.name, taken), text, draft.name, base, added, draft.line)


def free_file(name: str, taken: set[str]) -> str:
    """A name of a file for a recipe that is none of those taken, and is added to them."""
    stem = stem_of(name)
    file = f"{stem}.glost"
    if file in taken:
        above = 2
        while f"{stem}-{above}.glost" in taken:
            above *= 2
        below = above // 2
        while above - below > 1:  # taken up to there and free from there on, or free all the same
            middle = (above + below) // 2
            below, above = (middle, above) if f"{stem}-{middle}.glost" in taken else (below, middle)
        file = f"{stem}-{above}.glost"
    taken.add(file)
    return file


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
    lines: Sequence[str], pages: Sequence[Page], remarks: Sequence[Remark], again: Sequence[str]
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
