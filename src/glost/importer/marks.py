"""What marks a material as an addition, or as one of the base: a sign, a word beside it, the head it stands under."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final, Literal, NamedTuple, TypeAlias

from glost.importer.amounts import UNITS

Block: TypeAlias = Literal["base", "additions"]

_ADD: Final = r"add(?:s|ed|ing|itions?|itives?|ons?)?"
_COLOURS: Final = r"colou?rants?|colou?rings?|opacifiers?|extras?|on top|in addition"
_ADDITIONS_HEAD: Final = re.compile(
    rf"[\W_]*(?:and |then |with )?(?:\+|(?:{_ADD}|plus|{_COLOURS})\b)"
    rf"(?:[\s,/&+]*(?:and|or|oxides?|{_ADD}|{_COLOURS})\b)*[\W_]*",
    re.IGNORECASE,
)
_BASE_HEAD: Final = re.compile(
    r"[\W_]*(?:the |glaze )?(?:base|main)(?: (?:glaze|recipe|materials?|ingredients?|batch))?[\W_]*",
    re.IGNORECASE,
)
_ADDED_SECTION: Final = re.compile(rf"\+|(?:{_ADD}|plus|{_COLOURS})\b|opacif|colou?r\b", re.IGNORECASE)
_BASE_SECTION: Final = re.compile(r"base\b|main\b|recipe\b|core\b|body\b", re.IGNORECASE)

_LAST_WORD: Final = rf"(?:{_ADD}|extra|on top|in addition)"
_MARKED: Final = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        r"[(\[] *\+ *[:.]? *(?P<name>[^()\[\]]+?) *[)\]]",
        r"[(\[] *\+ *[)\]] *[:.]? *(?P<name>.+)",
        r"\+ *[:.]? *(?P<name>.+)",
        rf"(?:{_ADD}|plus)\b *[:.,\u2013-]* *(?P<name>.+)",
        rf"(?:{_COLOURS}) *[:\u2013-] *(?P<name>.+)",
        r"(?P<name>.+?) *[(\[]? *\+ *[)\]]?",
        rf"(?P<name>.+?) *[,:\u2013-]? +{_LAST_WORD}\.?",
        rf"(?P<name>.+?) *[(\[] *(?:{_ADD}|plus|{_COLOURS}) *[)\]]",
    )
)
"""The ways to mark a name, each with a row in the tests: before it and behind it, as a sign and as a word."""
_BRACKETED: Final = re.compile(r"[(\[](?P<inside>[^()\[\]]*)[)\]]")
_TOKEN: Final = re.compile(r"\+|%|[^\s+%,;/]+")
_MARK_WORD: Final = re.compile(rf"\+|{_ADD}|plus|{_COLOURS}", re.IGNORECASE)
_UNIT: Final = "|".join(re.escape(unit) for unit in sorted(UNITS, key=len, reverse=True))
_UNIT_LAST: Final = re.compile(
    rf"(?P<name>.+?)(?: *,? +(?:in )?|, *|/ *)(?P<unit>{_UNIT})\.?|(?P<glued>.+?) *(?:in )?(?P<sign>%)",
    re.IGNORECASE,
)
_UNIT_FIRST: Final = re.compile(r"% *(?:of )?(?P<name>.+)", re.IGNORECASE)
_LETTER: Final = 1
_MOST_STRIPPED: Final = 6
"""Signs and units about one name."""


def is_additions_head(text: str) -> bool:
    """Whether a line or a cell says that additions follow, and nothing else."""
    return _ADDITIONS_HEAD.fullmatch(text) is not None


def is_base_head(text: str) -> bool:
    """Whether a line or a cell says that the base follows, and nothing else."""
    return _BASE_HEAD.fullmatch(text) is not None


def block_of(section: str) -> Block | None:
    """The block that a cell of a column such as 'section' or 'role' names."""
    bare = section.strip(" ([")
    if _ADDED_SECTION.match(bare):
        return "additions"
    return "base" if _BASE_SECTION.match(bare) else None


def without_mark(name: str) -> str | None:
    """The name of a material that is marked as an addition, without the mark; None where there is none."""
    for pattern in _MARKED:
        if found := pattern.fullmatch(name):
            return found["name"].strip(" ")
    return None


def is_mark(text: str) -> bool:
    """Whether a note in brackets or behind an item is a mark and nothing else."""
    return _MARK_WORD.fullmatch(text.strip(" .,:-")) is not None


class Head(NamedTuple):
    """The head of a column of amounts: the material, the unit of its amounts, whether they are additions."""

    name: str
    unit: str = ""
    added: bool = False


def read_head(text: str, known: Callable[[str], bool]) -> Head:
    """Takes units and marks away from about the name of a material, in any order, until it is known or bare. A mark
    goes from a known name too where what it leaves is known: the 'extra' of 'Rutile (extra)' is no grade of rutile."""
    head = Head(text.strip(" :;"))
    for _ in range(_MOST_STRIPPED):
        stripped = _without_brackets(head) or _without_unit(head) or _without_sign(head)
        if stripped is None or (known(head.name) and not (stripped.added and known(stripped.name))):
            break
        head = stripped
    return head


def _without_brackets(head: Head) -> Head | None:
    """Without brackets that hold units and marks only, such as '(+ %)'."""
    for found in _BRACKETED.finditer(head.name):
        tokens = [token.lower().rstrip(".") for token in _TOKEN.findall(found["inside"])]
        units = [token for token in tokens if token in UNITS]
        marks = [token for token in tokens if _MARK_WORD.fullmatch(token)]
        rest = " ".join(f"{head.name[: found.start()]} {head.name[found.end() :]}".split())
        if tokens and rest and len(units) + len(marks) + tokens.count("in") == len(tokens):
            return Head(rest, UNITS[units[0]] if units else head.unit, head.added or bool(marks))
    return None


def _without_unit(head: Head) -> Head | None:
    if found := _UNIT_LAST.fullmatch(head.name):
        name, unit = found["name"] or found["glued"], found["unit"] or found["sign"]
        if len(unit) > _LETTER or unit == unit.lower():  # the G of 'Frit G' is no gram
            return Head(name.strip(" ,"), UNITS[unit.lower()], head.added)
    if found := _UNIT_FIRST.fullmatch(head.name):
        return Head(found["name"], "%", head.added)
    return None


def _without_sign(head: Head) -> Head | None:
    name = without_mark(head.name)
    return Head(name, head.unit, True) if name else None
