"""Plain text as people keep it: titles, lines of names and amounts, totals, additions, what was thought of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from glost.importer.amounts import number
from glost.importer.classify import ADD, NOTES, TOTAL, Line, Lines, classify, headed
from glost.importer.draft import Draft, Item, Kind, Remark, Row, Said, total
from glost.importer.firing import Firing, firing_in_title
from glost.importer.heading import NO_FIELD, Values, date_in, field_in
from glost.importer.materials import Names
from glost.importer.segment import Placed, Segment, is_total, may_be_title, segments

_KINDS: Final = ("engobe", "slip", "wash")
_FOR: Final = re.compile(r"\b(?:for|to make|gives?)\b\s*(?P<what>.+)", re.IGNORECASE)
_LONGEST_TITLE: Final = 100
_IN_NOTES: Final = "the line stands in the notes"
_COMMENT: Final = "the line stands as a comment"


def read_text(text: str, name: str, names: Names) -> tuple[list[Draft], list[Remark]]:
    """The recipes in a text, and what there is to say. ``name`` is for a recipe that has none."""
    page = classify(text, names)
    return _Reader(page, name, names).read(segments(page.lines))


class _Reader:
    """Makes a draft of each segment."""

    def __init__(self, page: Lines, name: str, names: Names) -> None:
        self._lines, self._comma = page
        self._name = name
        self._names = names
        self._titles: set[int] = set()
        self._drafts: list[Draft] = []
        self._remarks: list[Remark] = []

    def _say(self, kind: Kind, line: Line, said: str) -> None:
        self._remarks.append(Remark(kind, line.number, said, line.text))

    def read(self, parts: Sequence[Segment]) -> tuple[list[Draft], list[Remark]]:
        self._titles = {id(part.head[0]) for part in parts if part.head}
        for part in parts:
            self._read_part(part)
        return self._drafts, self._remarks

    def _read_part(self, segment: Segment) -> None:
        if not segment.body:
            self._leave(segment.head)
            return
        draft = self._draft(segment)
        self._drafts.append(draft)
        body = _Body(draft)
        for placed in segment.body:
            take = self._TAKEN.get(placed.line.kind, _Reader._take_text)
            take(self, placed, body)

    def _leave(self, lines: Sequence[Line]) -> None:
        """What stands behind the last recipe belongs to it; without one, nothing can be made of it."""
        for line in lines:
            if self._drafts:
                self._drafts[-1].notes.append(line.text)
            else:
                self._say("left", line, "no recipe was found that this could belong to")

    # ---- the head of a recipe --------------------------------------------------------------------------

    def _draft(self, segment: Segment) -> Draft:
        """The recipe that the lines above the first item are the head of."""
        first = segment.body[0].line
        draft = Draft(first.number)
        titled: Line | None = None
        for line in segment.head:
            titled = self._take_head(line, draft, titled)
        if not draft.name:
            draft.name = self._name if not self._drafts else f"{self._name} {len(self._drafts) + 1}"
            said = f"a recipe without a title is called '{draft.name}'"
            self._remarks.append(Remark("guessed", first.number, said))
        for kind in _KINDS:
            if re.search(rf"\b{kind}\b", draft.name, re.IGNORECASE):
                draft.kind = kind
                said = f"'{draft.name}' is taken for the name of {_a(kind)}"
                self._remarks.append(Remark("guessed", draft.line, said))
        return draft

    def _take_head(self, line: Line, draft: Draft, titled: Line | None) -> Line | None:
        """Takes a line above the first item; returns the one that holds the title so far."""
        if line.kind in ("base", "columns", "add"):
            draft.base.append(Said(line.text, line.number))
            return titled
        if line.kind != "numbered" and self._take_field(line, draft):
            return titled
        title = line.title or headed(line.text)
        counted = line.kind == "numbered"
        count_above = titled is not None and titled.kind == "numbered" and not titled.title
        if draft.name and (title or counted or (count_above and line.kind == "text")):
            # The line above was the head of the whole page, or only the count of the recipe.
            draft.notes.insert(0, titled.text if titled else draft.name)
            draft.name = ""
        found = firing_in_title((title or line.text).strip(" *_:[]\u2022-").replace('"', "'"))
        bare = _unquoted(found.rest)
        if titled and "cone" not in draft.fields and _is_head_of_page(titled, line, found):
            self._say("guessed", titled, f"taken for the head of the page; the recipe is called '{bare}'")
            draft.notes.insert(0, titled.text)
            draft.name = ""
        if draft.name and not (found.fields and not bare):
            draft.notes.append(line.text)
            if found.cone and "cone" not in draft.fields:
                self._say("guessed", line, f"cone {found.cone} is not taken from here; {_IN_NOTES}")
            return titled
        if line.title:
            number = line.text[: line.text.find(line.title)].strip(" ")
            self._say("guessed", line, f"'{number}' before a title counts the recipes of the page")
        return self._take_title(line, draft, found, bare) or titled

    def _take_title(self, line: Line, draft: Draft, found: Firing, bare: str) -> Line | None:
        """Takes a title, or a line with nothing but the firing; returns the line where it gave the name."""
        if found.fields.keys() & draft.fields.keys() or len(bare) > _LONGEST_TITLE:
            draft.notes.append(line.text)
            if draft.name or len(bare) > _LONGEST_TITLE:
                return None
        else:
            draft.fields.update(found.fields)
            for guess in found.guesses:
                self._say("guessed", line, guess)
        if draft.name or not bare:
            return None
        draft.name, draft.line = " ".join(bare.split()), line.number
        return line

    def _take_field(self, line: Line, draft: Draft) -> bool:
        """Takes a line that is a field and nothing else."""
        found = _date(line.text) or field_in(line.text)
        if found is None:
            return False
        guesses = found.guesses
        if found.left or found.fields.keys() & draft.fields.keys():
            draft.notes.append(line.text)
            guesses = found.guesses if found.left else (NO_FIELD,)
        else:
            draft.fields.update(found.fields)
        for guess in guesses:
            self._say("guessed", line, guess)
        return True

    # ---- what stands below -----------------------------------------------------------------------------

    def _take_item(self, placed: Placed, body: _Body) -> None:
        line = placed.line
        assert line.read is not None
        assert line.amount is not None
        rows = body.rows_of(placed)
        if line.amount.value is None:
            self._say("left", line, f"{line.amount.why}; {_COMMENT}")
            rows.append(Said(line.text, line.number))
            return
        for guess in filter(None, (placed.guess, line.guess)):
            self._say("guessed", line, guess)
        note = "; ".join(part for part in (line.read.note, line.read.rest) if part)
        comment = line.text if line.guess else ""
        rows.append(Item(line.read.name, line.amount.value, line.amount.unit, line.number, note, comment))

    def _take_total(self, placed: Placed, body: _Body) -> None:
        line, draft = placed.line, body.draft
        if not is_total(self._lines, placed.at):
            self._take_text(placed, body)
            return
        found = TOTAL.fullmatch(line.text)
        assert found is not None
        stated, _ = number((found["first"] or found["bare"]).rstrip(".,"), self._comma)
        body.rows_of(placed).append(Said(line.text, line.number))
        base, added = draft.base_total(), total(draft.additions)
        if stated is not None and stated not in (base, base + added):
            comes = f"{base}" if not added else f"{base}, and {base + added} with the additions"
            self._say("wrong", line, f"a total of {stated} is stated; the lines come to {comes}")

    def _take_add(self, placed: Placed, body: _Body) -> None:
        line, draft = placed.line, body.draft
        found = ADD.fullmatch(line.text)
        said = found["label"] if found else ""
        meant = _FOR.search(said)
        label = (meant["what"] if meant else said).strip(" :-*_.,()+\"'")
        if draft.additions and total(draft.additions):
            # Two sets of additions in one list would be weighed together.
            label = label or f"additions {len(draft.variations) + 2}"
            if any(label == name for name, _ in draft.variations):
                label = f"{label} {len(draft.variations) + 2}"
            body.vary(label, Said(line.text, line.number))
            self._say("guessed", line, f"further additions are taken for a variation, '{label}'")
        elif label or any(c.isdigit() for c in line.text):
            draft.additions.append(Said(line.text, line.number))

    def _take_text(self, placed: Placed, body: _Body) -> None:
        line, draft = placed.line, body.draft
        if line.kind in ("text", "field", "total") and self._take_field(line, draft):
            return
        if line.kind == "text" and (notes := NOTES.fullmatch(line.text)):
            if notes["rest"]:
                draft.notes.append(notes["rest"].strip(" "))
            return
        if not self._is_among_items(placed):
            draft.notes.append(line.text)
            return
        body.rows_of(placed).append(Said(line.text, line.number))
        if line.kind == "text":
            self._say("left", line, f"no amount is read here; {_COMMENT}")

    def _is_among_items(self, placed: Placed) -> bool:
        """Whether a line belongs into the list of materials, and not to the notes."""
        line = placed.line
        ahead = self._lines[placed.at + 1 : placed.at + 3]
        among = any(other.kind == "item" for other in ahead) and id(ahead[0]) not in self._titles
        among |= not placed.gap and self._names.known(line.text.strip(" -*\u2022.:+"))
        return among and (line.kind != "text" or not placed.gap or self._names.likely(line.text))

    _TAKEN: Final[Mapping[str, Callable[[_Reader, Placed, _Body], None]]] = {
        "item": _take_item,
        "total": _take_total,
        "add": _take_add,
    }


class _Body:
    """The rows of a draft that are being written: a further set of additions is a variation."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self._additions = draft.additions

    def rows_of(self, placed: Placed) -> list[Row]:
        return self.draft.base if placed.block == "base" else self._additions

    def vary(self, label: str, said: Said) -> None:
        self._additions = [said]
        self.draft.variations.append((label, self._additions))


def _is_head_of_page(above: Line, line: Line, found: Firing) -> bool:
    """Whether the line above, parted from this one by an empty line, heads the page, and this one is the title: it
    names a cone, as titles do, and is no sentence."""
    parted = line.number > above.number + 1
    said = above.title or headed(above.text)
    title = line.kind == "text" and may_be_title(line.text)
    return bool(parted and not said and title and found.cone and found.rest)


def _date(text: str) -> Values | None:
    date, question = date_in(text)
    if date:
        return Values({"date": date})
    return Values({}, (question,), text) if question else None


def _unquoted(name: str) -> str:
    quoted = name[:1] == name[-1:] == "'" and bool(name.strip("'"))
    return name[1:-1].strip(" ") if quoted else name


def _a(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"
