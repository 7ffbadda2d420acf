"""One line of notes as a material and its amounts, in either order."""

from __future__ import annotations

import re
from typing import Final, NamedTuple

from glost.importer.amounts import WRITTEN
from glost.importer.marks import is_mark

_LONGEST: Final = 200
"""Characters. A line beyond this is no line of a recipe."""
_LEADERS = re.compile(r"[._=\u00b7\u2026\u2013\u2014-]{2,}|\u2026|\|")
_PLUS = re.compile(
    r"(?:(?:and|then|also) )?(?:\(\+\)|\+|(?:plus|add(?:ed|ing|itions?|itives?|'[ln])?)\b|with(?= [0-9])"
    r"|(?:colou?rants?|opacifiers?|extras?|on top|with) ?:)[ :]*",
    re.IGNORECASE,
)
_SIGNS = "\u2022\u00b7\u25aa\u25cf\u25cb\u2023\u25e6\u2713\u2714"
_BULLET = re.compile(rf"(?:[-*>\u2013\u2014{_SIGNS}]+ |[{_SIGNS}]|\[[ xX]?\] )\s*")
_COUNTED = re.compile(r"[0-9]{1,2}[.)]\s+(?=[^\W\d])")
_COUNT = re.compile(r"\s*\(?[0-9]{1,2}[.)]\s+")
"""'1) Blue Hare': no 1 of anything."""
_BRACKETS = re.compile(r"\(([^()\[\]]*)\)|\[([^()\[\]]*)\]")
_IN_BRACKETS = re.compile(r"\(([^()\[\]]*[0-9][^()\[\]]*)\)|\[([^()\[\]]*[0-9][^()\[\]]*)\]")
_MESH = re.compile(r"\b[0-9]{2,3}[ -]?mesh\b", re.IGNORECASE)
_VAGUE = re.compile(
    r"[\s:=,-]+(?:(?:a )?(?:trace|pinch|little|bit|dash)|tr\.?|q\.?s\.?|some|to taste|as needed|\?+|n/?a)\s*$",
    re.IGNORECASE,
)
_VAGUE_FIRST = re.compile(r"(?:a )?(?:trace|pinch|little|bit|dash|some)\b(?: of)?\s+", re.IGNORECASE)
_NOISE = re.compile(r"[\s:=-](?=[0-9OolISB.,]*[0-9])(?=[0-9.,]*[OolISB])[0-9OolISB.,]{2,7}\s*%?\s*$")
_VOLUME: Final = (
    r"tsps?|tbsps?|tblsps?|tea ?spoons?|table ?spoons?|spoon(?:ful)?s?|cups?|ml|cl|dl|cc|lit(?:re|er)s?|l"
    r"|millilit(?:re|er)s?|drops?|pints?|quarts?|gallons?|fl\.? ?oz|scoops?|buckets?|handfuls?|pinch(?:es)?"
)
_VOLUME_FIRST = re.compile(rf"(?P<unit>{_VOLUME})\b\.?(?: of)?\s*", re.IGNORECASE)
_NO_MATERIAL = re.compile(
    r"\b(?:coats?|times?|minutes?|mins?|hours?|hrs?|seconds?|secs?|days?|weeks?|layers?|pieces?|tests?|tiles?|cones?|fired?"
    r"|firing|dip|dipped|dips|water|sieve|sieved|batch|makes|page|p|pp|temp|degrees?|deg|hold|ramp|soak|litres?|liters?"
    r"|ml|gallons?|buckets?|cups?|spoons?|tsp|tbsp|no|nr|recipe|glaze|vol|book|year|thick|mm|cm|c|f|jan|feb|mar|april|may"
    r"|june|july|aug|sept?|oct|nov|dec|march|shelf|kiln|version|v)\b",
    re.IGNORECASE,
)
_ENDS = " .,:;=-\u2013\u2014_|*+&/~\"'\u201c\u201d\u2018\u2019"
_PLUS_LAST = re.compile(r"(?:^|[\s)%0-9])\+[\s.,:;=-]*$")
_OF = re.compile(r"of\s+", re.IGNORECASE)
_LETTER = re.compile(r"[^\W\d_]")
_MOST_NAME: Final = 60
_MOST_WORDS: Final = 6


class Read(NamedTuple):
    """A line that looks like an item. ``amounts`` are what WRITTEN finds, left to right: none where ``problem``
    says why the amount cannot be read. ``first``: the amount stands before the name. ``rest`` are the words behind.
    ``plus``: the line itself says that it is an addition. ``odd``: it can be taken apart in another way too.
    ``volume``: the problem is a measure of volume."""

    name: str
    amounts: tuple[re.Match[str], ...]
    first: bool
    note: str = ""
    rest: str = ""
    plus: bool = False
    odd: str = ""
    problem: str = ""
    volume: bool = False


class _Bare(NamedTuple):
    """A line without what stands about the item: ``text`` with blanks for leaders and brackets."""

    text: str
    notes: tuple[str, ...]
    plus: bool
    odd: str


def read_item(line: str, amount_first: bool | None = None) -> Read | None:
    """The line as an item, or None. ``amount_first`` is the order of the other lines, where that is known."""
    if len(line) > _LONGEST:
        return None
    if is_counted(line) and amount_first is not True:
        return None
    bare = _bare(line)
    amounts = list(WRITTEN.finditer(bare.text))
    if not amounts:
        read = _inside_brackets(bare) or _without_amount(bare.text)
    elif amounts[0].start() == 0:
        read = _amount_first(bare.text, amounts, amount_first)
    else:
        read = _amount_last(bare.text, amounts)
    if read is None:
        return None
    plus = bare.plus or read.plus or any(amount["sign"] == "+" for amount in read.amounts)
    note = "; ".join(" ".join(one.split()) for one in bare.notes if one.strip()) if amounts else ""
    return _measured(read._replace(plus=plus, note=note, odd=read.odd or bare.odd))


def is_counted(line: str) -> bool:
    """Whether the only number of a line is the one that it is counted by, such as '2. Rutile Blue'."""
    found = _COUNT.match(line)
    return found is not None and WRITTEN.search(line, found.end()) is None


def _bare(line: str) -> _Bare:
    text = line.strip(" ")
    if found := _IN_BRACKETS.fullmatch(text):
        text = (found[1] or found[2]).strip(" ")  # '(+ tin oxide 4)'
    text, plus = _without_plus(text)
    if found := _BULLET.match(text):
        text, later = _without_plus(text[found.end() :])
        plus = plus or later
    odd = ""
    if (found := _COUNTED.match(text)) and WRITTEN.search(text, found.end()):
        text, odd = text[found.end() :], "the number before the name is taken for the line's"
    text = _LEADERS.sub("  ", text).strip(" ")
    notes = [one or other for one, other in _BRACKETS.findall(text)]
    plus = plus or any(map(is_mark, notes))
    without = _BRACKETS.sub(" ", text)
    notes += _MESH.findall(without)
    return _Bare(
        _MESH.sub(" ", without).strip(" "), tuple(note for note in notes if not is_mark(note)), plus, odd
    )


def _without_plus(text: str) -> tuple[str, bool]:
    found = _PLUS.match(text)
    return (text[found.end() :], True) if found else (text, False)


def _inside_brackets(bare: _Bare) -> Read | None:
    """An item whose amount stands in its only brackets."""
    inside = WRITTEN.fullmatch(bare.notes[0].strip(" ")) if len(bare.notes) == 1 else None
    name = _name(bare.text) if inside else ""
    return Read(name, (inside,), False) if inside and name else None


def _amount_first(text: str, amounts: list[re.Match[str]], amount_first: bool | None) -> Read | None:
    group, last = _group(text, amounts), amounts[-1]
    further = len(amounts) > len(group)
    if further and amount_first is False and not text[last.end() :].strip(_ENDS):
        name = _name(text[: last.start()])
        return Read(name, (last,), False, odd="the last number is taken for the amount") if name else None
    odd = "the first number is taken for the amount" if further else ""
    words, plus = _without_last_mark(text[group[-1].end() :])
    name, _, rest = words.strip(_ENDS).partition(",")
    name = _name(_OF.sub("", name.strip(_ENDS), count=1))
    return Read(name, tuple(group), True, rest=rest.strip(_ENDS), plus=plus, odd=odd) if name else None


def _amount_last(text: str, amounts: list[re.Match[str]]) -> Read | None:
    group, last, odd = _group(text, amounts), amounts[-1], ""
    rest = text[group[-1].end() :]
    if last is not group[-1] and not rest[last.end() - group[-1].end() :].strip(_ENDS):
        # 'frit 12 fine  4': the figures of the name, then the amount.
        group, rest, odd = [last], "", "the last number is taken for the amount"
    before, first = _without_last_mark(text[: group[0].start()])
    rest, second = _without_last_mark(rest)
    name = _name(before)
    return (
        Read(name, tuple(group), False, rest=rest.strip(_ENDS), plus=first or second, odd=odd)
        if name
        else None
    )


def _without_last_mark(text: str) -> tuple[str, bool]:
    """A name or the words behind an amount without the mark that they end in, such as a plus sign or 'added'."""
    if _PLUS_LAST.search(text):
        return text.rstrip(_ENDS), True
    if text.lstrip(" ").startswith("+"):
        return text.lstrip(" +"), True
    if is_mark(text):
        return "", True
    words, sign, last = text.rstrip(_ENDS).rpartition(" ")
    if sign and last.lower() in ("added", "extra", "add"):
        return words, True
    return text, False


def _measured(read: Read) -> Read:
    """An item whose amount is a measure of volume has no mass that could be weighed."""
    words = read.name if read.first else read.rest
    found = _VOLUME_FIRST.match(words) if read.amounts else None
    if found is None or (found.end() == len(words) and read.first):
        return read
    problem = (
        f"'{found['unit']}' is no unit of mass, and no unit is dropped; weigh it and write grams or parts"
    )
    name, rest = (words[found.end() :], read.rest) if read.first else (read.name, words[found.end() :])
    return read._replace(name=name, rest=rest, amounts=(), problem=problem, volume=True)


def _group(text: str, amounts: list[re.Match[str]]) -> list[re.Match[str]]:
    """The amounts that stand side by side, from the first on."""
    group = [amounts[0]]
    for amount in amounts[1:]:
        if text[group[-1].end() : amount.start()].strip(" ,;:=/-"):
            break
        group.append(amount)
    return group


def _without_amount(text: str) -> Read | None:
    none = "there is no amount that could be weighed"
    if found := _VAGUE.search(text):
        name, first, problem = _name(text[: found.start()]), False, none
    elif found := _VAGUE_FIRST.match(text):
        name, first, problem = _name(text[found.end() :]), True, none
    elif found := _NOISE.search(text):
        said = found[0].strip(" :=-")
        meant = said.translate(str.maketrans("OolISB", "001158"))
        name, first, problem = (
            _name(text[: found.start()]),
            False,
            f"'{said}' is no number; {meant} may be meant",
        )
    else:
        return None
    return Read(name, (), first, problem=problem) if name else None


def _name(text: str) -> str:
    name = " ".join(text.strip(_ENDS).split())
    fits = len(name) <= _MOST_NAME and len(name.split()) <= _MOST_WORDS
    return name if _LETTER.search(name) and fits else ""


def may_be_material(name: str) -> bool:
    """Whether nothing in a name speaks of firing, time, a page or a vessel."""
    return not _NO_MATERIAL.search(name)
