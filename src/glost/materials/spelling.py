"""How a material's name may be spelt: what two spellings of one name share.

A name is read as words. Letter case, blanks, hyphens, commas, brackets and apostrophes tell no two materials apart;
nor do 'of', a plural, the two spellings of English, nor the trade's short forms (carb, ox). The order of the words is
left to the caller. What a name says of grain, purity or preparation (325 mesh, powder, technical) is its grade: it
stands beside the material's name and is no part of it.

'calcined', 'burnt', 'washed', 'granular', 'hydrated', 'light' and every colour are no grade: they tell jars apart.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

LONGEST: Final = 120
"""Characters of the longest name that is read word by word."""


class Word(NamedTuple):
    """A word of a name in its normal spelling, and where it stands."""

    text: str
    start: int
    end: int


# A number, a run of letters with apostrophes between, or a sign that belongs to a grade.
_WORD = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[^\W\d_]+(?:['\u2019][^\W\d_]+)*|[#%]")

_VARIANTS: Final = {
    "sulphate": "sulfate",
    "bisulphate": "bisulfate",
    "sulphide": "sulfide",
    "sulphur": "sulfur",
    "sulphoselenide": "sulfoselenide",
    "lignosulphonate": "lignosulfonate",
    "aluminum": "aluminium",
    "color": "colour",
    "gray": "grey",
    "felspar": "feldspar",
    "ocher": "ochre",
    "saltpeter": "saltpetre",
    "niter": "nitre",
    "matte": "matt",
    "glycerine": "glycerin",
    "dextrine": "dextrin",
    "haematite": "hematite",
    "kryolite": "cryolite",
    "micronised": "micronized",
    "pulverised": "pulverized",
    "analyzed": "analysed",
    "molding": "moulding",
    "fiber": "fibre",
    "kaoline": "kaolin",
    "gelatine": "gelatin",
    "oxyde": "oxide",
    "chrome": "chromium",
    "ashe": "ash",
    "glasse": "glass",
    "carb": "carbonate",
    "bicarb": "bicarbonate",
    "ox": "oxide",
    "mag": "magnesium",
}
"""Words with one meaning and two spellings, and the short forms of the trade (common practice)."""

_EARTHS: Final = {
    "potash": "potassium",
    "soda": "sodium",
    "lime": "calcium",
    "magnesia": "magnesium",
    "lithia": "lithium",
    "baryta": "barium",
    "strontia": "strontium",
}
"""Old names of the bases. Beside the name of a salt they say the element: carbonate of soda; alone they do not."""

SALTS: Final = frozenset(
    "carbonate bicarbonate sulfate phosphate nitrate chloride borate silicate fluoride hydroxide feldspar spar".split()
)

_IDLE: Final = frozenset(("of", "the"))

_UNITS: Final = frozenset(("mesh", "msh", "m", "micron", "um", "\u03bcm", "mu", "#", "%"))
_BEFORE: Final = frozenset(("minus", "through", "under", "passing", "below", "over"))
_GRADES: Final = frozenset(
    "powder powdered ground milled flour fine finely superfine ultrafine medium coarse extra pure technical tech "
    "commercial industrial laboratory lab reagent ceramic pottery potter grade quality standard micronized pulverized "
    "airfloated air floated airfloat levigated sieved screened dry dried mesh".split()
)
_RAW: Final = frozenset(("raw", "uncalcined", "unfired"))
_BARE_MESH: Final = frozenset(
    "60 80 100 120 140 150 170 200 230 250 270 300 325 350 400 500".split()
)
"""Sieve numbers that are understood without the word mesh behind them."""


def words(name: str) -> list[Word]:
    """The words of a name, in their normal spelling; those that say nothing are left out."""
    found = []
    for match in _WORD.finditer(name):
        text = match[0]
        if not text.isascii():
            text = unicodedata.normalize("NFKC", text)
        text = _normal(text.casefold().replace("'", "").replace("\u2019", ""))
        if text not in _IDLE:
            found.append(Word(text, match.start(), match.end()))
    if any(word.text in SALTS for word in found):
        found = [word._replace(text=_EARTHS.get(word.text, word.text)) for word in found]
    return found


def _normal(word: str) -> str:
    """One word without its plural, in the spelling used here."""
    if len(word) > 3 and word[-1] == "s" and word[-2] not in "siu":
        word = word[:-1]
    return _VARIANTS.get(word, word)


def texts(found: Iterable[Word]) -> list[str]:
    return [word.text for word in found]


class Graded(NamedTuple):
    """A name with its grade taken off. ``sized``: a grain or a purity in figures is all that was taken off.
    ``raw``: it says that the material was not calcined, which holds for some materials only."""

    words: list[Word]
    grade: list[Word]
    sized: bool
    raw: bool


def without_grade(found: Sequence[Word]) -> Graded:
    """The words of a name apart from those of its grade."""
    kept: list[Word] = []
    grade: list[Word] = []
    sized, raw = True, False
    at = 0
    while at < len(found):
        length = _size(found, at)
        if length:
            grade += found[at : at + length]
            at += length
            continue
        word = found[at]
        if word.text in _GRADES or word.text in _RAW:
            raw = raw or word.text in _RAW
            sized = False
            grade.append(word)
        else:
            kept.append(word)
        at += 1
    return Graded(kept, grade, sized, raw)


def _size(found: Sequence[Word], at: int) -> int:
    """How many words from ``at`` on say a grain or a purity in figures; 0 for none."""
    here = at
    while here < len(found) and found[here].text in _BEFORE:
        here += 1
    led = here > at
    unit_first = here < len(found) and found[here].text in ("mesh", "#")
    here += unit_first
    first_number = here
    while here < len(found) and found[here].text[0].isdigit():
        here += 1
    if here == first_number:
        return 0
    if here < len(found) and found[here].text in _UNITS:
        return here + 1 - at
    if unit_first or led:
        return here - at
    bare = here - first_number == 1 and found[first_number].text in _BARE_MESH and here == len(found)
    return 1 if bare and at else 0
