"""One line of notes as a material and its amounts, in either order."""

from __future__ import annotations

import re
from typing import NamedTuple

from glost.notebook.amounts import WRITTEN

_LONGEST = 200
"""Characters. A line beyond this is no line of a recipe."""
_LEADERS = re.compile(r"[._=\u00b7\u2026\u2013\u2014-]{2,}|\u2026|\|")
_PLUS = re.compile(r"(?:\+|(?:plus|add|added|additions?)\b)[ :]*", re.IGNORECASE)
_SIGNS = "\u2022\u00b7\u25aa\u25cf\u25cb\u2023\u25e6\u2713\u2714"
_BULLET = re.compile(rf"(?:[-*>\u2013\u2014{_SIGNS}]+ |[{_SIGNS}]|\[[ xX]?\] )\s*")
_COUNTED = re.compile(r"[0-9]{1,2}[.)]\s+(?=[^\W\d])")
_BRACKETS = re.compile(r"\(([^()\[\]]*)\)|\[([^()\[\]]*)\]")
_MESH = re.compile(r"\b[0-9]{2,3}[ -]?mesh\b", re.IGNORECASE)
_VAGUE = re.compile(
    r"[\s:=,-]+(?:(?:a )?(?:trace|pinch|little|bit|dash)|tr\.?|q\.?s\.?|some|to taste|as needed|\?+|n/?a)\s*$",
    re.IGNORECASE,
)
_VAGUE_FIRST = re.compile(r"(?:a )?(?:trace|pinch|little|bit|dash|some)\b(?: of)?\s+", re.IGNORECASE)
_NOISE = re.compile(r"[\s:=-](?=[0-9OolISB.,]*[0-9])(?=[0-9.,]*[OolISB])[0-9OolISB.,]{2,7}\s*%?\s*$")
_NO_MATERIAL = re.compile(
    r"\b(?:coats?|times?|minutes?|mins?|hours?|hrs?|seconds?|secs?|days?|weeks?|layers?|pieces?|tests?|tiles?|cones?|fired?"
    r"|firing|dip|dipped|dips|water|sieve|sieved|batch|makes|page|p|pp|temp|degrees?|deg|hold|ramp|soak|litres?|liters?"
    r"|ml|gallons?|buckets?|cups?|spoons?|tsp|tbsp|no|nr|recipe|glaze|vol|book|year|thick|mm|cm|c|f|jan|feb|mar|april|may"
    r"|june|july|aug|sept?|oct|nov|dec|march|shelf|kiln|version|v)\b",
    re.IGNORECASE,
)
_ENDS = " .,:;=-\u2013\u2014_|*+&/~\"'\u201c\u201d\u2018\u2019"
_OF = re.compile(r"of\s+", re.IGNORECASE)
_LETTER = re.compile(r"[^\W\d_]")


class Read(NamedTuple):
    """A line that looks like an item. ``amounts`` are what WRITTEN finds, left to right: none where ``problem``
    says why the amount cannot be read. ``first``: the amount stands before the name. ``rest`` are the words behind.
    ``plus``: the line itself says that it is an addition. ``odd``: it can be taken apart in another way too."""

    name: str
    amounts: tuple[re.Match[str], ...]
    first: bool
    note: str = ""
    rest: str = ""
    plus: bool = False
    odd: str = ""
    problem: str = ""


def read_item(line: str, amount_first: bool | None = None) -> Read | None:
    """The line as an item, or None. ``amount_first`` is the order of the other lines, where that is known."""
    if len(line) > _LONGEST:
        return None
    text = line.strip(" ")
    plus = False
    if found := _PLUS.match(text):
        text, plus = text[found.end() :], True
    if found := _BULLET.match(text):
        text = text[found.end() :]
    odd = ""
    if (found := _COUNTED.match(text)) and WRITTEN.search(text, found.end()):
        text, odd = text[found.end() :], "the number before the name is taken for the line's"
    text = _LEADERS.sub("  ", text).strip(" ")
    notes = [one or other for one, other in _BRACKETS.findall(text)]
    without = _BRACKETS.sub(" ", text)
    notes += _MESH.findall(without)
    without = _MESH.sub(" ", without).strip(" ")
    amounts = list(WRITTEN.finditer(without))
    if not amounts and len(notes) == 1 and (inside := WRITTEN.fullmatch(notes[0].strip(" "))):
        notes, amounts, without = [], [inside], f"{without} "
        name = _name(without)
        return Read(name, (inside,), False, plus=plus, odd=odd) if name else None
    if not amounts:
        return _without_amount(without, plus)
    note = "; ".join(" ".join(one.split()) for one in notes if one.strip())
    if amounts[0].start() == 0:
        group = _group(without, amounts)
        name, rest = without[group[-1].end() :], ""
        last = amounts[-1]
        if len(amounts) > len(group) and amount_first is False and not without[last.end() :].strip(_ENDS):
            name, group, first = without[: last.start()], [last], False
            odd = "the last number is taken for the amount"
        else:
            first = True
            if len(amounts) > len(group):
                odd = "the first number is taken for the amount"
            name, _, rest = name.strip(_ENDS).partition(",")
        name = _name(_OF.sub("", name.strip(_ENDS), count=1) if first else name)
    else:
        group, first = _group(without, amounts), False
        rest = without[group[-1].end() :]
        last = amounts[-1]
        if last is not group[-1] and not rest[last.end() - group[-1].end() :].strip(_ENDS):
            # 'frit 12 fine  4': the figures of the name, then the amount.
            group, rest, odd = [last], "", "the last number is taken for the amount"
        name = _name(without[: group[0].start()])
    if not name:
        return None
    return Read(name, tuple(group), first, note, rest.strip(_ENDS), plus, odd)


def _group(text: str, amounts: list[re.Match[str]]) -> list[re.Match[str]]:
    """The amounts that stand side by side, from the first on."""
    group = [amounts[0]]
    for amount in amounts[1:]:
        if text[group[-1].end() : amount.start()].strip(" ,;:=/-"):
            break
        group.append(amount)
    return group


def _without_amount(text: str, plus: bool) -> Read | None:
    if found := _VAGUE.search(text):
        name = _name(text[: found.start()])
        return (
            Read(name, (), False, plus=plus, problem="there is no amount that could be weighed")
            if name
            else None
        )
    if found := _VAGUE_FIRST.match(text):
        name = _name(text[found.end() :])
        return (
            Read(name, (), True, plus=plus, problem="there is no amount that could be weighed")
            if name
            else None
        )
    if found := _NOISE.search(text):
        name = _name(text[: found.start()])
        said = found[0].strip(" :=-")
        meant = said.translate(str.maketrans("OolISB", "001158"))
        if name:
            return Read(name, (), False, plus=plus, problem=f"'{said}' is no number; {meant} may be meant")
    return None


def _name(text: str) -> str:
    name = " ".join(text.strip(_ENDS).split())
    return name if _LETTER.search(name) and len(name) <= 60 and len(name.split()) <= 6 else ""


def may_be_material(name: str) -> bool:
    """Whether nothing in a name speaks of firing, time, a page or a vessel."""
    return not _NO_MATERIAL.search(name)
