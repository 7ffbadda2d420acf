"""What each line of a text is: a title, an item, a total, the head of a block, a field, or only text."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.importer import amounts
from glost.importer.draft import plain_line
from glost.importer.heading import KEYS
from glost.importer.items import Read, is_counted, may_be_material, read_item
from glost.importer.materials import Names

Kind: TypeAlias = Literal[
    "blank", "rule", "total", "add", "base", "columns", "field", "item", "numbered", "text"
]

TOTAL: Final = re.compile(
    r"\W*(?:(?:sub-?|grand )?totals?|sum)\b[^0-9]*(?P<first>[0-9][0-9.,]*)\s*(?:%|g|parts)?.*"
    r"|=?\s*(?P<bare>[0-9]+(?:[.,][0-9]+)?)\s*(?:%|g)?(?:\s*total)?\s*",
    re.IGNORECASE,
)
ADD: Final = re.compile(
    r"[\s*#_+-]*(?:and )?(?:\+|plus|add(?:ing|itions?|itives|ed)?|colou?rants?|opacifiers?|extras|on top)\b"
    r"(?P<label>[^0-9]{0,40}?)[\s:*_-]*",
    re.IGNORECASE,
)
_RULE: Final = re.compile(r"[-=_*~#.\u2500\u2014\u2013|+: ]{3,}")
_ADD_SIGN: Final = re.compile(r"\s*\+\s*:?\s*")
_BASE: Final = re.compile(
    r"[\s*#_]*(?:the |glaze )?(?:base|recipe|ingredients?|materials?)(?: glaze)?[\s:*_]*", re.IGNORECASE
)
_COLUMNS: Final = re.compile(
    r"\W*(?:materials?|ingredients?|name)\b.*\b(?:amounts?|parts|percent|%|grams?|g|batch|weight)\W*",
    re.IGNORECASE,
)
_HEADED: Final = re.compile(
    r"\s*(?:#+ +|={2,} *)(?P<a>\S.*?)[ #=]*|\s*(?:recipe|glaze|name|title) ?: ?(?P<b>\S.*?)\s*", re.IGNORECASE
)
NOTES: Final = re.compile(r"\s*notes?\s*:\s*(?P<rest>.*)", re.IGNORECASE)
_COUNTS: Final = r"(?:(?:recipe|glaze|test|number|no|nr)\b\.? ?){1,2}"
_NUMBERED: Final = re.compile(
    rf"[\s#*_]*(?:(?:{_COUNTS})?[#(]?(?P<n>[0-9]{{1,3}}|[a-z]|[ivx]{{2,4}})(?:[.):]|\)?:| [-\u2013])"
    rf"|{_COUNTS}#?(?P<bare>[0-9]{{1,3}})(?= +[^\W\d]))"
    r"[ *_]+(?P<title>\S.*)",
    re.IGNORECASE,
)
LONGEST: Final = 300
"""Characters. A line beyond this is only text."""
_NO_AMOUNT: Final = re.compile(r"(?:19|20)[0-9]{2}|0[0-9]{1,2}")
"""A year, or a cone."""
_BETWEEN: Final = re.compile(r", +|; *| +\| +| +& +| +and +| +(?=\+ ?\w)")
_MOST_PARTS: Final = 30
_FEWEST_PARTS: Final = 2
_MOST_TITLE: Final = 60
_MOST_WORDS: Final = 8
_MOST_REST: Final = 2
"""Words behind an amount; more make a sentence."""
_REACH: Final = 4
"""Lines from one whose material is known within which a name that is not known may be one."""
_HEAD_LINES: Final = 5
"""Lines between a title and its first item."""
BASE_AT_LEAST: Final = 50
"""Parts. Additions seldom come to as much."""


class Line(NamedTuple):
    """A line of the notes. Of an item, ``amount`` is the one that is taken (None where ``problem`` says why there is
    none) and ``guess`` what was assumed for it. ``title`` is that of a numbered one, without the number."""

    number: int
    text: str
    kind: Kind
    read: Read | None = None
    amount: amounts.Amount | None = None
    guess: str = ""
    title: str = ""

    @property
    def value(self) -> Decimal:
        """The amount of an item; nothing where there is none that can be taken."""
        return (self.amount.value or Decimal(0)) if self.amount else Decimal(0)


class Lines(NamedTuple):
    """The lines of a page, and whether it writes decimal commas."""

    lines: list[Line]
    decimal_comma: bool


def classify(text: str, names: Names) -> Lines:
    """Every line of a text with what it is; a line of several items is as many lines."""
    raw = [plain_line(line) for line in text.split("\n")]
    comma = amounts.commas_are_decimal(raw)
    first = _amounts_stand_first(raw)
    lines = [
        _line(number, part, first, names)
        for number, line in enumerate(raw, 1)
        for part in _parted(line, first, names)
    ]
    lines = _settled(lines, first, names)
    lines = [
        line._replace(kind="text", read=None) if _ends_in_number(lines, at, comma, names) else line
        for at, line in enumerate(lines)
    ]
    lines = _with_amounts(lines, comma, names)
    titles = _numbered_titles(lines)
    return Lines([titles.get(at, line) for at, line in enumerate(lines)], comma)


def headed(text: str) -> str:
    """The title that a line says it is, by '#' or 'Recipe:'; "" for any other line."""
    found = _HEADED.fullmatch(text) if len(text) <= LONGEST else None
    return (found["a"] or found["b"]) if found else ""


# ---- one line by itself --------------------------------------------------------------------------------

_BY_ITSELF: Final[Sequence[tuple[Kind, Callable[[str], object]]]] = (
    ("blank", lambda text: not text),
    ("text", lambda text: len(text) > LONGEST),
    ("rule", _RULE.fullmatch),
    ("total", TOTAL.fullmatch),
    ("add", ADD.fullmatch),
    ("add", _ADD_SIGN.fullmatch),
    ("base", _BASE.fullmatch),
    ("columns", _COLUMNS.fullmatch),
    ("field", lambda text: ":" in text and text.partition(":")[0].strip(" ").lower() in KEYS),
    ("text", headed),
    ("text", NOTES.fullmatch),
)
"""What a line is by itself, the first that holds; what is none of these may be an item."""


def _line(number: int, text: str, first: bool | None, names: Names) -> Line:
    text = text.strip(" ")
    kind = next((kind for kind, holds in _BY_ITSELF if holds(text)), None)
    if kind:
        return Line(number, text, kind)
    read = read_item(text, first)
    if read and _may_be_item(read, names) and not (is_counted(text) and not names.known(read.name)):
        return Line(number, text, "item", read)
    return Line(number, text, "text")


def _may_be_item(read: Read, names: Names) -> bool:
    if read.volume:
        return names.likely(read.name)
    if names.known(read.name):
        return True
    other = any(_NO_AMOUNT.fullmatch(amount[0].strip(" ")) for amount in read.amounts)
    return not other and may_be_material(f"{read.name} {read.rest}")


def _amounts_stand_first(lines: Iterable[str]) -> bool | None:
    """Whether most lines have their amount before the name; None where no line tells."""
    first = Counter(
        read.first for line in lines if (read := read_item(line)) and len(read.amounts) == 1 and not read.odd
    )
    return first[True] > first[False] if first else None


def _parted(line: str, first: bool | None, names: Names) -> list[str]:
    """The items of a line that holds several, such as 'add tin oxide 4, rutile 2'; else the line itself."""
    if len(line) > LONGEST:
        return [line]
    parts = [part for part in _BETWEEN.split(line) if part.strip()]
    if len(parts) < _FEWEST_PARTS:
        parts = _behind_each_amount(line, names)
    if not _FEWEST_PARTS <= len(parts) <= _MOST_PARTS:
        return [line]
    reads = [read_item(part, first) for part in parts]
    if not all(read and len(read.amounts) == 1 and names.likely(read.name) for read in reads):
        return [line]
    plus = reads[0] is not None and reads[0].plus
    return [parts[0], *(f"+ {part.strip(' ')}" if plus else part for part in parts[1:])]


def _behind_each_amount(line: str, names: Names) -> list[str]:
    """The items of a line that has only blanks between them, such as 'silica 60 kaolin 40'; none where one of the names
    is not known."""
    ends = [found.end() for found in amounts.WRITTEN.finditer(line)]
    if len(ends) < _FEWEST_PARTS or line[ends[-1] :].strip():
        return []
    parts = [line[begin:end] for begin, end in pairwise([0, *ends])]
    reads = map(read_item, parts)
    return parts if all(read and not read.first and names.known(read.name) for read in reads) else []


# ---- lines beside each other ---------------------------------------------------------------------------


def _settled(lines: list[Line], first: bool | None, names: Names) -> list[Line]:
    """A name that is not known counts only beside items whose names are."""
    strong = {line.number for line in lines if line.read and names.likely(line.read.name)}
    reach = _within_reach(lines, strong) | _within_reach(lines[::-1], strong)
    return [
        line
        if line.read is None
        or (line.number in strong and _is_sure(line.read, line, names))
        or (line.number in reach and _is_likely(line.read, line, first, names))
        else Line(line.number, line.text, "text")
        for line in lines
    ]


def _within_reach(lines: Sequence[Line], strong: set[int]) -> set[int]:
    reach: set[int] = set()
    near = 0
    for line in lines:
        if line.number in strong:
            near = _REACH
        elif line.kind in ("blank", "add", "base", "rule", "total"):
            near -= 1
        elif line.kind != "item":
            near = 0
        if near > 0:
            reach.add(line.number)
    return reach


def _is_sure(read: Read, line: Line, names: Names) -> bool:
    """Whether a line that names a material is an item, and no sentence about it."""
    return names.known(read.name) or not _is_prose(read, line)


def _is_likely(read: Read, line: Line, first: bool | None, names: Names) -> bool:
    """Whether a line beside items is one itself."""
    alike = names.known(read.name) or read.first is first
    return alike and not read.rest and not _is_prose(read, line)


def _is_prose(read: Read, line: Line) -> bool:
    return line.text.endswith((".", "!")) or len(read.rest.split()) > _MOST_REST


def _ends_in_number(lines: Sequence[Line], at: int, comma: bool, names: Names) -> bool:
    """Whether what looks like an item is a title that ends in a number: it stands first, no material is called
    so, and what stands below it is enough for a base."""
    read = lines[at].read
    if read is None or read.first or len(read.amounts) != 1 or read.amounts[0]["unit"] or read.plus:
        return False
    if at and lines[at - 1].kind not in ("blank", "rule", "total"):
        return False
    return not names.known(read.name) and _base_below(lines[at + 1 :], comma) and not names.near(read.name)


def _base_below(lines: Sequence[Line], comma: bool) -> bool:
    """Whether items stand right below that come to a base."""
    below = Decimal(0)
    for line in lines:
        if line.read is None and line.kind != "blank":
            return False
        if line.read and line.read.amounts:
            below += amounts.read(line.read.amounts[0], comma).value or 0
        if below >= BASE_AT_LEAST:
            return True
    return False


# ---- the amount of each item ---------------------------------------------------------------------------


def _with_amounts(lines: list[Line], comma: bool, names: Names) -> list[Line]:
    """Each item with the one of its amounts that is taken."""
    reads = [line.read for line in lines if line.read]
    several = sum(len(read.amounts) > 1 for read in reads) * 2 >= len(reads)
    column = _column_chosen(reads, comma)
    out = []
    for line in lines:
        if line.read:
            read = line.read if several else _with_figure(line.read, names)
            line = _with_amount(line, read, column, comma)
        out.append(line)
    return out


def _with_figure(read: Read, names: Names) -> Read:
    """An item of a page with one amount a line: of two, the first is a part of the name."""
    if len(read.amounts) <= 1 or read.first or not _is_figure_of_name(read, names):
        return read
    figure = " ".join(one[0].strip(" ") for one in read.amounts[:-1])
    odd = "the last number is taken for the amount, the one before it for a part of the name"
    return read._replace(name=f"{read.name} {figure}", amounts=read.amounts[-1:], odd=odd)


def _with_amount(line: Line, read: Read, column: int, comma: bool) -> Line:
    if read.problem:
        return line._replace(amount=amounts.Amount(None, "", read.problem))
    at = column if len(read.amounts) > column else 0
    amount = amounts.read(read.amounts[at], comma)
    guess = amount.guess or read.odd
    if len(read.amounts) > 1:
        guess = f"of several amounts number {at + 1} is taken"
    return line._replace(read=read, amount=amount, guess=guess)


def _is_figure_of_name(read: Read, names: Names) -> bool:
    return not any(one["unit"] for one in read.amounts) and not names.known(read.name)


def _column_chosen(reads: Sequence[Read], comma: bool) -> int:
    """Which of several amounts a line is taken: the column that comes nearest to 100."""
    several = [read for read in reads if len(read.amounts) > 1]
    widths = Counter(len(read.amounts) for read in several)
    if len(several) <= 1:
        return 0
    width = widths.most_common(1)[0][0]
    sums = []
    for at in range(width):
        values = [
            amounts.read(read.amounts[at], comma).value for read in several if len(read.amounts) == width
        ]
        sums.append(abs(sum((value for value in values if value is not None), Decimal(0)) - 100))
    return sums.index(min(sums))


# ---- numbered titles -----------------------------------------------------------------------------------


_COUNT_ALONE: Final = re.compile(
    rf"[\s#*_]*{_COUNTS}#?(?P<n>[0-9]{{1,3}})[.:)]?[ *_]*(?P<title>)(?P<bare>)", re.IGNORECASE
)
"""'Recipe #2', with the title below it."""


def _numbered_titles(lines: Sequence[Line]) -> dict[int, Line]:
    """The titles that are counted, such as '2. Butter Matt, cone 6', by index: those that lead to an item and whose
    numbers grow. A single one counts where it is the first."""
    found = {
        at: match for at, line in enumerate(lines) if line.kind == "text" and (match := _numbered(line.text))
    }
    leading = [at for at in sorted(found) if _leads_to_item(lines, at, found)]
    written = [found[at]["n"] or found[at]["bare"] for at in leading]
    ordinals = [_ordinal(one) for one in written]
    if len(leading) == 1 and ordinals != [1]:
        return {}
    if not _growing(ordinals) and not _growing([_ordinal(one, roman=True) for one in written]):
        return {}
    return {at: lines[at]._replace(kind="numbered", title=found[at]["title"].strip(" *_")) for at in leading}


def _numbered(text: str) -> re.Match[str] | None:
    if len(text) > LONGEST:
        return None
    if alone := _COUNT_ALONE.fullmatch(text):
        return alone
    found = _NUMBERED.fullmatch(text)
    if found is None or len(found["title"]) > _MOST_TITLE or len(found["title"].split()) > _MOST_WORDS:
        return None
    return found if any(character.isalpha() for character in found["title"]) else None


def _leads_to_item(lines: Sequence[Line], at: int, numbered: dict[int, re.Match[str]]) -> bool:
    """Whether the first item stands soon below, with no other title between."""
    gap = False
    for other in range(at + 1, min(at + _HEAD_LINES + 2, len(lines))):
        kind = lines[other].kind
        if kind == "item":
            return True
        if kind in ("add", "total") or other in numbered or (kind == "text" and gap):
            return False
        gap |= kind in ("blank", "rule")
    return False


_ROMAN: Final = {"i": 1, "v": 5, "x": 10}


def _growing(ordinals: Sequence[int]) -> bool:
    return all(before < after or after == 1 for before, after in pairwise(ordinals))


def _ordinal(written: str, roman: bool = False) -> int:
    """The number of '2', 'B' or 'II'; a lone I, V or X is a letter unless ``roman``."""
    if written.isdigit():
        return int(written)
    small = written.lower()
    if len(small) == 1 and not (roman and small in _ROMAN):
        return ord(small) - ord("a") + 1
    values = [_ROMAN[sign] for sign in small]
    return sum(-one if one < after else one for one, after in zip(values, [*values[1:], 0], strict=True))
