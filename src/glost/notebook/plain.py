"""Plain text as people keep it: titles, lines of names and amounts, totals, additions, what was thought of it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from typing import Final, NamedTuple

from glost.notebook import amounts
from glost.notebook.draft import Draft, Item, Remark, Row, Said, plain_line, total
from glost.notebook.heading import KEYS, date_in, field_in, taken_out
from glost.notebook.items import Read, may_be_material, read_item
from glost.notebook.materials import Names

_RULE = re.compile(r"[-=_*~#.\u2500\u2014\u2013|+: ]{3,}")
_TOTAL = re.compile(
    r"\W*(?:(?:sub-?|grand )?totals?|sum)\b[^0-9]*(?P<first>[0-9][0-9.,]*)\s*(?:%|g|parts)?.*"
    r"|=?\s*(?P<bare>[0-9]+(?:[.,][0-9]+)?)\s*(?:%|g)?(?:\s*total)?\s*",
    re.IGNORECASE,
)
_ADD = re.compile(
    r"[\s*#_+-]*(?:\+|plus|add(?:itions?|itives|ed)?|colou?rants?|opacifiers?)\b(?P<label>[^0-9]{0,40}?)[\s:*_-]*",
    re.IGNORECASE,
)
_ADD_SIGN = re.compile(r"\s*\+\s*:?\s*")
_BASE = re.compile(
    r"[\s*#_]*(?:the |glaze )?(?:base|recipe|ingredients?|materials?)(?: glaze)?[\s:*_]*", re.IGNORECASE
)
_COLUMNS = re.compile(
    r"\W*(?:materials?|ingredients?|name)\b.*\b(?:amounts?|parts|percent|%|grams?|g|batch|weight)\W*",
    re.IGNORECASE,
)
_HEADED = re.compile(
    r"\s*(?:#+ +|={2,} *)(?P<a>\S.*?)[ #=]*|\s*(?:recipe|glaze|name|title) ?: ?(?P<b>\S.*?)\s*", re.IGNORECASE
)
_NOTES = re.compile(r"\s*notes?\s*:\s*(?P<rest>.*)", re.IGNORECASE)
_KINDS: Final = ("engobe", "slip", "wash")
_FOR = re.compile(r"\b(?:for|to make|gives?)\b\s*(?P<what>.+)", re.IGNORECASE)
_LONGEST = 300
"""Characters. A line beyond this is only text."""
_BETWEEN = re.compile(r", +|; *")
_MOST_PARTS = 30
_MOST_TITLE = 60
_BASE_AT_LEAST = 50
"""Parts. Additions seldom come to as much."""


class _Line(NamedTuple):
    """A line of the notes. ``kind``: blank, rule, total, add, base, columns, item, field, text."""

    number: int
    text: str
    kind: str
    read: Read | None = None


def read_text(text: str, name: str, names: Names) -> tuple[list[Draft], list[Remark]]:
    """The recipes in a text, and what there is to say. ``name`` is for a recipe that has none."""
    return _Reader([plain_line(line) for line in text.split("\n")], name, names).read()


class _Reader:
    def __init__(self, lines: Sequence[str], name: str, names: Names) -> None:
        self._name = name
        self._names = names
        self._remarks: list[Remark] = []
        self._drafts: list[Draft] = []
        self._comma = amounts.commas_are_decimal(lines)
        first = Counter(
            read.first
            for line in lines
            if (read := read_item(line)) and len(read.amounts) == 1 and not read.odd
        )
        self._first = first[True] > first[False] if first else None
        self._lines = self._classified(lines)
        items = [line.read for line in self._lines if line.read]
        self._several = sum(len(read.amounts) > 1 for read in items) * 2 >= len(items)
        """Whether most lines hold several amounts."""
        self._column = self._column_chosen()
        # The state of the recipe that is being read.
        self._draft: Draft | None = None
        self._titled: _Line | None = None
        self._before: list[_Line] = []
        self._adding: list[Row] | None = None
        self._stated = False
        self._gap = False

    def _say(self, kind: str, line: int, said: str, text: str = "") -> None:
        self._remarks.append(Remark(kind, line, said, text.strip(" ")))  # type: ignore[arg-type]

    # ---- what each line is -----------------------------------------------------------------------------

    def _classified(self, lines: Sequence[str]) -> list[_Line]:
        out = [
            self._line(number, part) for number, line in enumerate(lines, 1) for part in self._parted(line)
        ]
        # A name that is not known counts only beside items whose names are.
        strong = {line.number for line in out if line.read and self._names.likely(line.read.name)}
        reach: set[int] = set()
        for way in (out, out[::-1]):
            near = 0
            for line in way:
                if line.number in strong:
                    near = 4
                elif line.kind in ("blank", "add", "base", "rule", "total"):
                    near -= 1
                elif line.kind != "item":
                    near = 0
                if near > 0:
                    reach.add(line.number)
        settled = [self._settled(line, line.number in strong, line.number in reach) for line in out]
        return [
            line._replace(kind="text", read=None) if self._numbered_title(settled, at) else line
            for at, line in enumerate(settled)
        ]

    def _numbered_title(self, lines: Sequence[_Line], at: int) -> bool:
        """Whether what looks like an item is a title that ends in a number: it stands first, no material is called
        so, and what stands below it is enough for a base."""
        read = lines[at].read
        if read is None or read.first or len(read.amounts) != 1 or read.amounts[0]["unit"]:
            return False
        if at and lines[at - 1].kind not in ("blank", "rule", "total"):
            return False
        if self._names.known(read.name):
            return False
        below = Decimal(0)
        for line in lines[at + 1 :]:
            if line.read is None and line.kind != "blank":
                break
            if line.read and line.read.amounts:
                below += amounts.read(line.read.amounts[0], self._comma).value or 0
            if below >= _BASE_AT_LEAST:
                return not self._names.near(read.name)
        return False

    def _parted(self, line: str) -> list[str]:
        """The items of a line that holds several, such as 'add tin oxide 4, rutile 2'; else the line itself."""
        if len(line) > _LONGEST:
            return [line]
        parts = [part for part in _BETWEEN.split(line) if part.strip()]
        if not 2 <= len(parts) <= _MOST_PARTS:
            return [line]
        reads = [read_item(part, self._first) for part in parts]
        if not all(read and len(read.amounts) == 1 and self._names.likely(read.name) for read in reads):
            return [line]
        plus = reads[0] is not None and reads[0].plus
        return [parts[0], *(f"+ {part.strip(' ')}" if plus else part for part in parts[1:])]

    def _line(self, number: int, text: str) -> _Line:
        text = text.strip(" ")
        if not text:
            return _Line(number, text, "blank")
        if len(text) > _LONGEST:
            return _Line(number, text, "text")
        if _RULE.fullmatch(text):
            return _Line(number, text, "rule")
        if _TOTAL.fullmatch(text):
            return _Line(number, text, "total")
        if _ADD.fullmatch(text) or _ADD_SIGN.fullmatch(text):
            return _Line(number, text, "add")
        if _BASE.fullmatch(text):
            return _Line(number, text, "base")
        if _COLUMNS.fullmatch(text):
            return _Line(number, text, "columns")
        if text.partition(":")[0].strip(" ").lower() in KEYS and ":" in text:
            return _Line(number, text, "field")
        if _headed(text) or _NOTES.fullmatch(text):
            return _Line(number, text, "text")
        read = read_item(text, self._first)
        if read and (self._names.known(read.name) or may_be_material(f"{read.name} {read.rest}")):
            return _Line(number, text, "item", read)
        return _Line(number, text, "text")

    def _settled(self, line: _Line, strong: bool, reach: bool) -> _Line:
        read = line.read
        if read is None:
            return line
        known = self._names.known(read.name)
        prose = line.text.rstrip(" ").endswith((".", "!")) or len(read.rest.split()) > 2
        others = read.first is not self._first and not known
        if (strong and not (prose and not known)) or (reach and not read.rest and not prose and not others):
            return line
        return _Line(line.number, line.text, "text")

    def _column_chosen(self) -> int:
        """Which of several amounts a line is taken: the column that comes nearest to 100."""
        reads = [line.read for line in self._lines if line.read and len(line.read.amounts) > 1]
        widths = Counter(len(read.amounts) for read in reads)
        if not widths or sum(widths.values()) < 2:
            return 0
        width = widths.most_common(1)[0][0]
        sums = []
        for at in range(width):
            values = [
                amounts.read(read.amounts[at], self._comma).value
                for read in reads
                if len(read.amounts) == width
            ]
            sums.append(abs(sum((value for value in values if value is not None), Decimal(0)) - 100))
        return sums.index(min(sums))

    # ---- from line to line -----------------------------------------------------------------------------

    def read(self) -> tuple[list[Draft], list[Remark]]:
        for at, line in enumerate(self._lines):
            if line.kind == "blank" or line.kind == "rule":
                self._gap = True
            elif line.kind == "item":
                self._take_item(line, at)
            elif line.kind == "total" and self._draft and self._behind_items(at):
                self._take_total(line, self._draft)
            elif line.kind == "add" and self._draft:
                self._take_add(line, self._draft)
            elif self._draft and self._opens(at):
                self._draft = None
                self._before = [line]
            elif self._draft is None:
                self._before.append(line)
            else:
                self._take_text(line, self._draft, at)
            if line.kind not in ("blank", "rule"):
                self._gap = False
        if self._draft is None:
            self._leave(self._before)
        return self._drafts, self._remarks

    def _behind_items(self, at: int) -> bool:
        """Whether a number that stands alone is a total: below items, or below a line drawn under them."""
        before = next((line for line in reversed(self._lines[:at]) if line.kind != "blank"), None)
        said = any(character.isalpha() for character in self._lines[at].text)
        return said or (before is not None and before.kind in ("item", "rule", "total"))

    def _leave(self, lines: Sequence[_Line]) -> None:
        """What stands behind the last recipe belongs to it; without one, nothing can be made of it."""
        for line in lines:
            if self._drafts:
                self._drafts[-1].notes.append(line.text.strip(" "))
            else:
                self._say("left", line.number, "no recipe was found that this could belong to", line.text)

    def _opens(self, at: int) -> bool:
        """Whether a line of text behind items is the title of the next recipe."""
        line = self._lines[at]
        if line.kind != "text":
            return False
        ahead = self._lines[at + 1 : at + 9]
        if _headed(line.text) and any(other.kind == "item" for other in ahead):
            return True
        bare = line.text.strip(" ")
        if bare.endswith((".", "!", "?", ",")) or len(bare) > _MOST_TITLE or len(bare.split()) > 8:
            return False
        full = self._stated or (self._draft is not None and abs(self._draft.base_total() - 100) <= 1)
        if not self._gap and not full:
            return False
        texts, gaps = 0, 0
        for other in ahead:
            if other.kind == "item":
                return True
            if other.kind in ("blank", "rule"):
                gaps += 1
            elif other.kind in ("add", "total") or (other.kind == "text" and gaps):
                return False
            texts += other.kind == "text"
            if gaps > 2 or texts > 2:
                return False
        return False

    def _open(self, line: _Line) -> Draft:
        """The recipe that the lines kept back are the head of."""
        draft = Draft(line.number)
        for before in self._before:
            self._take_head(before, draft)
        if not draft.name:
            draft.name = self._name if not self._drafts else f"{self._name} {len(self._drafts) + 1}"
            self._say("guessed", line.number, f"a recipe without a title is called '{draft.name}'")
        for kind in _KINDS:
            if re.search(rf"\b{kind}\b", draft.name, re.IGNORECASE):
                draft.kind = kind
                self._say("guessed", draft.line, f"'{draft.name}' is taken for the name of {_a(kind)}")
        self._before = []
        self._draft, self._adding, self._stated = draft, None, False
        self._drafts.append(draft)
        return draft

    def _take_head(self, line: _Line, draft: Draft) -> None:
        if line.kind in ("base", "columns", "add"):
            draft.base.append(Said(line.text.strip(" "), line.number))
            return
        if self._take_field(line, draft):
            return
        headed = _headed(line.text)
        text = (headed["a"] or headed["b"]) if headed else line.text
        text = text.strip(" *_:[]\u2022-")
        if headed and draft.name:
            # The line above was the head of the whole page.
            draft.notes.insert(0, self._titled.text.strip(" ") if self._titled else draft.name)
            draft.name = ""
        bare, fields, guesses = taken_out(text.replace('"', "'"))
        if len(bare) > 2 and bare[0] == bare[-1] == "'":
            bare = bare[1:-1].strip(" ")
        if draft.name and not headed and not (fields and not bare):
            draft.notes.append(line.text.strip(" "))
            return
        if any(key in draft.fields for key in fields) or len(bare) > 100 or (draft.name and bare):
            draft.notes.append(line.text.strip(" "))
            if draft.name or len(bare) > 100:
                return
            fields, guesses = {}, []
        draft.fields.update(fields)
        for guess in guesses:
            self._say("guessed", line.number, guess, line.text)
        if not draft.name and bare:
            draft.name, draft.line = " ".join(bare.split()), line.number
            self._titled = line

    def _take_field(self, line: _Line, draft: Draft) -> bool:
        """Takes a line that is a field and nothing else."""
        text = line.text.strip(" ")
        date, question = date_in(text)
        found = ("date", date, "") if date else ("", text, question) if question else field_in(text)
        if found is None:
            return False
        key, value, question = found
        if key and key not in draft.fields:
            draft.fields[key] = value
        else:
            draft.notes.append(text)
            said = question or "this cannot be taken as a field; it stands in the notes"
            self._say("guessed", line.number, said, text)
        return True

    # ---- items, totals, additions ----------------------------------------------------------------------

    def _take_item(self, line: _Line, at: int) -> None:
        draft = self._draft or self._open(line)
        read = line.read
        assert read is not None
        if self._adding is None and draft.base:
            if read.plus:
                self._adding = draft.additions
            elif draft.base_total() == 100 and (self._gap or self._stated or self._may_be_added(at)):
                self._adding = draft.additions
                self._say(
                    "guessed",
                    line.number,
                    "what stands behind a base of 100 is taken for additions",
                    line.text,
                )
        rows = draft.base if self._adding is None else self._adding
        rows.append(self._row(line, read))

    def _may_be_added(self, at: int) -> bool:
        """Whether this item and those right below it are little enough for additions, and none is marked as one: where
        some are marked, the others belong to the base."""
        come = Decimal(0)
        for line in self._lines[at : at + _MOST_PARTS]:
            if line.read is None:
                return line.kind != "add" and come < _BASE_AT_LEAST
            if line.read.plus or come >= _BASE_AT_LEAST:
                return False
            if line.read.amounts:
                column = self._column if len(line.read.amounts) > self._column else 0
                come += amounts.read(line.read.amounts[column], self._comma).value or 0
        return come < _BASE_AT_LEAST

    def _row(self, line: _Line, read: Read) -> Row:
        text = line.text.strip(" ")
        if read.problem:
            self._say("left", line.number, f"{read.problem}; the line stands as a comment", text)
            return Said(text, line.number)
        if len(read.amounts) > 1 and not self._several and not read.first and self._figure_of_name(read):
            figure = " ".join(one[0].strip(" ") for one in read.amounts[:-1])
            read = read._replace(
                name=f"{read.name} {figure}",
                amounts=read.amounts[-1:],
                odd="the last number is taken for the amount, the one before it for a part of the name",
            )
        at = self._column if len(read.amounts) > self._column else 0
        amount = amounts.read(read.amounts[at], self._comma)
        if amount.value is None:
            self._say("left", line.number, f"{amount.why}; the line stands as a comment", text)
            return Said(text, line.number)
        guess = amount.guess or read.odd
        if len(read.amounts) > 1:
            guess = f"of several amounts number {at + 1} is taken"
        if guess:
            self._say("guessed", line.number, guess, text)
        note = "; ".join(part for part in (read.note, read.rest) if part)
        return Item(read.name, amount.value, amount.unit, line.number, note, text if guess else "")

    def _figure_of_name(self, read: Read) -> bool:
        units = [bool(one["unit"]) for one in read.amounts]
        return not any(units) and not self._names.known(read.name)

    def _take_total(self, line: _Line, draft: Draft) -> None:
        text = line.text.strip(" ")
        found = _TOTAL.fullmatch(line.text)
        assert found is not None
        stated, _ = amounts.number((found["first"] or found["bare"]).rstrip(".,"), self._comma)
        rows = draft.base if self._adding is None else self._adding
        rows.append(Said(text, line.number))
        self._stated = True
        base, added = draft.base_total(), total(draft.additions)
        if stated is not None and stated not in (base, base + added):
            comes = f"{base}" if not added else f"{base}, and {base + added} with the additions"
            self._say("wrong", line.number, f"a total of {stated} is stated; the lines come to {comes}", text)

    def _take_add(self, line: _Line, draft: Draft) -> None:
        found = _ADD.fullmatch(line.text)
        said = found["label"] if found else ""
        meant = _FOR.search(said)
        label = (meant["what"] if meant else said).strip(" :-*_.,()+\"'")
        text = line.text.strip(" ")
        if draft.additions and total(draft.additions):
            # Two sets of additions in one list would be weighed together.
            label = label or f"additions {len(draft.variations) + 2}"
            if any(label == name for name, _ in draft.variations):
                label = f"{label} {len(draft.variations) + 2}"
            self._adding = [Said(text, line.number)]
            draft.variations.append((label, self._adding))
            self._say("guessed", line.number, f"further additions are taken for a variation, '{label}'", text)
            return
        self._adding = draft.additions
        if label or any(c.isdigit() for c in text):
            self._adding.append(Said(text, line.number))

    def _take_text(self, line: _Line, draft: Draft, at: int) -> None:
        text = line.text.strip(" ")
        if line.kind in ("text", "field", "total") and self._take_field(line, draft):
            return
        if line.kind == "text" and (notes := _NOTES.fullmatch(line.text)):
            if notes["rest"]:
                draft.notes.append(notes["rest"].strip(" "))
            return
        ahead = self._lines[at + 1 : at + 3]
        among = any(other.kind == "item" for other in ahead) and not (
            ahead[0].kind != "item" and self._opens(at + 1)
        )
        among |= not self._gap and self._names.known(text.strip(" -*\u2022.:+"))
        if among and (line.kind != "text" or not self._gap or self._names.likely(text)):
            rows = draft.base if self._adding is None else self._adding
            rows.append(Said(text, line.number))
            if line.kind == "text":
                said = "no amount is read here; the line stands as a comment"
                self._say("left", line.number, said, text)
            return
        draft.notes.append(text)


def _headed(text: str) -> re.Match[str] | None:
    return _HEADED.fullmatch(text) if len(text) <= _LONGEST else None


def _a(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"
