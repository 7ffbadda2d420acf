"""Cones and atmospheres as people write them: in a title, and alone in a cell or behind 'Cone:'."""

from __future__ import annotations

import re
from contextlib import suppress
from typing import Final, NamedTuple

from glost.recipe.cone import KNOWN, read_cone

_LONGEST: Final = 300
"""Characters. No title is longer."""
_EDGE: Final = " ,;:-\u2013\u2014/|"
_TRIANGLES: Final = "\\^\u0394\u25b3\u2206\u25b2"
_PREFIX: Final = rf"(?:cones?|con\.|c/|c\.|c|[{_TRIANGLES}])[ .:/]*"
_N: Final = r"0?[0-9]{1,2}"
_HALF: Final = r"(?P<half> 1/2| ?\u00bd|\.5)?"
_HIGH: Final = (
    rf"(?: ?(?P<between>-|\u2013|\u2014|to|/|&|or) ?(?:{_PREFIX})?(?P<high>{_N})"
    r"(?P<high_half> 1/2| ?\u00bd|\.5)?)?"
)
_END: Final = r"(?=(?:ox(?:id\w*)?|red\w*|r)\b|/ ?(?:ox|red|r)\b|[^\w/.]|\.(?![0-9])|$)"
_NO_LIST: Final = rf"(?! ?(?:and|&|,|or|/|\+) ?(?:{_PREFIX})?[0-9])"
_WORDS: Final = {
    "ox": "oxidation", "oxid": "oxidation", "oxi": "oxidation", "oxidation": "oxidation",
    "oxidising": "oxidation", "oxidizing": "oxidation", "oxidized": "oxidation", "oxidised": "oxidation",
    "reduction": "reduction", "redn": "reduction", "reducing": "reduction", "reduced": "reduction",
    "neutral": "neutral", "raku": "raku", "salt": "salt", "soda": "soda", "wood": "wood",
}  # fmt: skip
"""What an atmosphere is called, wherever it stands."""
_SHORT: Final = {"o": "oxidation", "r": "reduction", "red": "reduction", "n": "neutral"}
"""What it is called where only an atmosphere can stand; 'Red' in a title may be the colour."""
_ATMOSPHERE: Final = "|".join(sorted(_WORDS, key=len, reverse=True))
_SPELLED_OUT: Final = frozenset({"oxidation", "reduction"})

# 'cone 6', 'c/6', 'c.6', '^6', a triangle; what follows is looked at apart.
_IN_TITLE: Final = re.compile(
    rf"(?<![\w/])(?:(?:cones?|con\.|c/)[ .:]*|c\.|[{_TRIANGLES}] ?)(?P<low>{_N}){_HALF}{_HIGH}{_END}{_NO_LIST}",
    re.IGNORECASE,
)
# 'c10', '10R', '6 ox' at the end of a title or before a stroke; a small number behind 'test' counts the tests.
_SHORT_IN_TITLE: Final = re.compile(
    r"(?<![\w/.^-])(?P<mark>[cC])?(?P<low>0[1-9]|0?1[0-9]|02[0-2]|[4-9]|1[0-4])(?P<half>(?!))?"
    r"(?: ?(?P<between>-|\u2013|/) ?[cC]?(?P<high>0?[0-9]{1,2}))?"
    r"(?P<after> ?(?:ox(?:id(?:ation)?)?|OX|Ox|reduction|R)\b\.?)?(?=\s*(?:[-\u2013\u2014,;:()|]|$))",
)
_COUNTS: Final = re.compile(
    r"(?<![^\W_])(?:test|tile|sample|batch|no|nr|number|series|version|page|p|v|glaze|recipe|mix|try)[ .:#]*$",
    re.IGNORECASE,
)
_NO_LETTER: Final = r"(?<![^\W\d_])"
_EITHER: Final = rf"(?:{_ATMOSPHERE}|red|r)"
_AFTER: Final = re.compile(
    rf"[ ,;/()-]*{_NO_LETTER}(?P<word>{_EITHER}\.? ?(?:/|&|or|and) ?{_EITHER}|{_ATMOSPHERE})\b"
    r"\.?(?: (?:firing|atmosphere|fired))?\)?",
    re.IGNORECASE,
)
_AFTER_R: Final = re.compile(rf"[ ,;/(]*{_NO_LETTER}(?P<word>R)\b\.?\)?(?=\s*(?:[-\u2013\u2014,;:()|]|$))")
_IN_BRACKETS: Final = re.compile(r"[ ,;/]*(?P<word>red|ox|r)\b\.?\)", re.IGNORECASE)
"""Beside a cone in brackets nothing but the atmosphere stands: '(cone 10 red.)'."""
_ALONE: Final = re.compile(
    r"[ ,;(]*\b(?P<word>oxidation|reduction|oxidising|oxidizing)\b(?: (?:firing|atmosphere|fired))?[.)]*\s*$",
    re.IGNORECASE,
)
_CELL: Final = re.compile(
    rf"'?(?:fired (?:to|at) |to )?(?:{_PREFIX})?(?P<low>{_N}){_HALF}{_HIGH}(?P<rest>(?![0-9/]|\.[0-9]).*)",
    re.IGNORECASE,
)
_FURTHER: Final = re.compile(rf" ?(?:and|&|,|or|/|\+) ?(?:{_PREFIX})?[0-9]", re.IGNORECASE)
_FLOAT: Final = re.compile(r"(?P<whole>[0-9]{1,2})[.,]0+")
"""What a program makes of a column of cones with holes in it."""
_PARTS: Final = re.compile(r"[^\s,;/()&+.\u2013-]+")
_TELLS_NOTHING: Final = frozenset({"firing", "fired", "atmosphere", "atm", "and", "or", "in", "kiln", "cone"})
_MONTH: Final = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|m\u00e4r|mai|okt|dez)[a-z]*"
_DATED: Final = re.compile(
    rf"[0-9]{{1,2}}[./-][0-9]{{1,2}}[./-][0-9]{{2,4}}|[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}(?:[ T].*)?"
    rf"|[0-9]{{1,2}}[-. ]+{_MONTH}(?:[-. ]+[0-9]{{2,4}})?|{_MONTH}[-. ]+[0-9]{{1,4}}",
    re.IGNORECASE,
)
_NEAR: Final = 3
"""Places in the order of cones. '5/6' is a range, '6/10' are two firings."""


class Firing(NamedTuple):
    """What is said of the firing. ``rest`` is the text without it, ``guesses`` are to be told; ``bare`` is
    the cone where it is one figure and nothing else, which may have lost its zero. ``firing``: more than one
    atmosphere is named."""

    rest: str
    cone: str = ""
    atmosphere: str = ""
    firing: str = ""
    guesses: tuple[str, ...] = ()
    bare: str = ""

    @property
    def fields(self) -> dict[str, str]:
        values = {"cone": self.cone, "atmosphere": self.atmosphere, "firing": self.firing}
        return {key: value for key, value in values.items() if value}


def firing_in_title(text: str) -> Firing:
    """The cone and the atmosphere in a title, and the title without them."""
    if len(text) > _LONGEST:
        return Firing(text)
    found, short = _IN_TITLE.search(text), False
    if found is None:
        found, short = _short_cone(text), True
    done = _taken(text, found, short) if found else None
    done = done or Firing(text)
    if not done.atmosphere and (alone := _ALONE.search(done.rest)):
        word = _WORDS[alone["word"].lower()]
        done = done._replace(atmosphere=word, rest=done.rest[: alone.start()].rstrip(_EDGE))
    return done


def _short_cone(text: str) -> re.Match[str] | None:
    for found in _SHORT_IN_TITLE.finditer(text):
        if (found["mark"] or found["after"]) and not _COUNTS.search(text, 0, found.start()):
            return found
    return None


def _taken(text: str, found: re.Match[str], short: bool) -> Firing | None:
    """The title without the cone that was found, and without the atmosphere behind it."""
    cone = _cone(found)
    if not cone:
        return None
    guesses = []
    end = found.start("after") if short and found["after"] else found.end()
    if short or not found[0].lower().startswith("cone"):
        guesses.append(f"'{text[found.start() : end].strip()}' is taken for cone {cone}")
    bracket = text[: found.start()].rstrip(" ").endswith("(")
    after = (
        (bracket and _IN_BRACKETS.match(text, end)) or _AFTER.match(text, end) or _AFTER_R.match(text, end)
    )
    said = atmospheres_in(after["word"]) if after else Firing("")
    if after:
        guesses += _told(after["word"], said)
        end = after.end()
    before, behind = text[: found.start()].rstrip(_EDGE + "("), text[end:].lstrip(_EDGE + ".")
    if bracket and behind.find(")") >= 0 > behind[: behind.find(")")].find("("):
        behind = behind.replace(")", "", 1)  # that of the bracket which went with the cone
    return Firing(f"{before} {behind}".strip(_EDGE), cone, said.atmosphere, said.firing, tuple(guesses))


def _told(word: str, said: Firing) -> tuple[str, ...]:
    """What is to be told of a word that was taken for an atmosphere: nothing where it is spelled out."""
    if said.guesses or (said.atmosphere == word.lower() and said.atmosphere in _SPELLED_OUT):
        return said.guesses
    return (f"'{word}' is taken for the atmosphere {said.atmosphere}",)


def _meant(word: str) -> str:
    return _WORDS.get(word.lower()) or _SHORT.get(word.lower(), "")


def _cone(found: re.Match[str]) -> str:
    """The cone as the language writes it, or "" where there is none of that number."""
    low, high = found["low"], found["high"]
    if high and found["between"] in ("/", "&", "or") and not _beside(low, high):
        return ""
    high_half = found.groupdict().get("high_half")
    if any(
        half == ".5" and (end or "").startswith("0")
        for end, half in ((low, found["half"]), (high, high_half))
    ):
        return ""  # 06.5 may be meant either way
    low += " 1/2" if found["half"] else ""
    written = f"{low}-{high}{' 1/2' if high_half else ''}" if high else low
    with suppress(ValueError):
        if read_cone(written).known:
            return written
    return ""


def _beside(low: str, high: str) -> bool:
    return low in KNOWN and high in KNOWN and 0 < KNOWN.index(high) - KNOWN.index(low) <= _NEAR


def firing_in_cell(text: str) -> Firing | None:
    """The cone and the atmosphere of a cell or of what stands behind 'Cone:'; None where it holds no cone. ``rest`` is
    what is neither."""
    if len(text) > _LONGEST:
        return None
    whole = _FLOAT.fullmatch(text)
    found = _CELL.fullmatch(whole["whole"] if whole else " ".join(text.split()))
    cone = _cone(found) if found else ""
    if found is None or not cone or may_be_dated(text) or _FURTHER.match(found["rest"]):
        return None
    said = atmospheres_in(found["rest"])
    guesses = (f"'{text}' is taken for cone {cone}",) if whole else ()
    bare = cone if (text.isdigit() and len(cone) == 1) or whole else ""
    return Firing(said.rest, cone, said.atmosphere, said.firing, (*guesses, *said.guesses), bare)


def atmospheres_in(text: str) -> Firing:
    """The atmosphere that a cell names, with what it says beside that. Of two atmospheres neither is chosen."""
    meant: list[str] = []
    rest: list[str] = []
    for word in _PARTS.findall(text):
        if atmosphere := _meant(word):
            meant.append(atmosphere)
        elif word.lower() not in _TELLS_NOTHING:
            rest.append(word)
    named = list(dict.fromkeys(meant))
    left = text.strip(_EDGE + "()") if rest else ""
    if len(named) > 1:
        shown = text.strip(_EDGE + "()")
        both = " or ".join(named)
        return Firing(left, firing=both, guesses=(f"two atmospheres are named, '{shown}'; choose one",))
    return Firing(left, atmosphere=named[0] if named else "")


def may_be_dated(text: str) -> bool:
    """Whether a cell that should hold a cone is a date: a spreadsheet takes 5-6 for one."""
    return _DATED.fullmatch(text.strip()) is not None
