"""How a material's name may be spelt: what two spellings of one name share.

A name is read as words. Letter case, blanks, hyphens, commas, brackets and apostrophes tell no two materials apart;
nor do 'of', a plural, the two spellings of English, nor the trade's short forms (carb, ox). The order of the words is
left to the caller. What a name says of grain, purity or preparation (325 mesh, powder, technical) is its grade: it
stands beside the material's name and is no part of it.

'calcined', 'burnt', 'washed', 'granular', 'hydrated', 'light' and every colour are no grade: they tell jars apart.
"""

from __future__ import annotations

import itertools
import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple

LONGEST: Final = 120
"""Characters of the longest name that is read word by word."""


def word_set(text: str) -> frozenset[str]:
    """The words of a text, for a table that is read more easily than a list of strings."""
    return frozenset(text.split())


class Word(NamedTuple):
    """A word of a name in its normal spelling, and where it stands."""

    text: str
    start: int
    end: int


# A number, a run of letters with apostrophes between, or a sign that belongs to a grade.
_WORD = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[^\W\d_]+(?:['\u2019][^\W\d_]+)*|[#%]")

_STANDS_APART = re.compile(r"[^\w\s,.()\[\]'\u2019#%<\u2010-\u2013-]|(?![0-9])\d")
"""A sign that is no part of a spelling: '+ tin oxide', 'silica & kaolin', 'silica/flint' say more than a name."""

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

SALTS: Final = word_set(
    "carbonate bicarbonate sulfate phosphate nitrate chloride borate silicate fluoride hydroxide feldspar spar"
)

_IDLE: Final = frozenset(("of", "the"))

_UNITS: Final = frozenset(("mesh", "msh", "m", "micron", "um", "\u03bcm", "mu", "#"))
_PURE: Final = 90
"""Per cent from which on a figure says how pure a material is; 'tin oxide 5 %' says how much."""
_BEFORE: Final = frozenset(("minus", "through", "under", "passing", "below", "over"))
_GRADES: Final = word_set(
    "powder powdered ground milled flour fine finely superfine ultrafine medium coarse extra pure technical tech "
    "commercial industrial laboratory lab reagent ceramic pottery potter grade quality standard micronized pulverized "
    "airfloated air floated airfloat levigated sieved screened dry dried mesh"
)
_RAW: Final = frozenset(("raw", "uncalcined", "unfired"))
_MOST_GRADES: Final = 4
"""Words of a grade that are tried one by one; a name with more has all of them taken off."""


def only_a_name(text: str) -> bool:
    """Whether a text holds nothing but what may stand in a name."""
    return 0 < len(text) <= LONGEST and _STANDS_APART.search(text) is None


def words(name: str) -> list[Word]:
    """The words of a name, in their normal spelling; those that say nothing are left out."""
    found = []
    for match in _WORD.finditer(name):
        text = match[0]
        if not text.isascii():
            text = unicodedata.normalize("NFKC", text)
        text = normal(text.casefold().replace("'", "").replace("\u2019", ""))
        if text not in _IDLE:
            found.append(Word(text, match.start(), match.end()))
    if any(word.text in SALTS for word in found):
        found = [word._replace(text=_EARTHS.get(word.text, word.text)) for word in found]
    return found


def normal(word: str) -> str:
    """One word without its plural, in the spelling used here."""
    if len(word) > 3 and word[-1] == "s" and word[-2] not in "siu":
        word = word[:-1]
    return _VARIANTS.get(word, word)


def texts(found: Iterable[Word]) -> list[str]:
    return [word.text for word in found]


class Graded(NamedTuple):
    """A name with its grade, or a part of it, taken off. ``sized``: only a grain or a purity in figures was.
    ``raw``: it says that the material was not calcined, which is no grade of every material."""

    words: list[Word]
    grade: list[Word]
    sized: bool
    raw: bool


def without_grade(found: Sequence[Word]) -> Iterator[Graded]:
    """A name without what it says of its grade, in every way there is: the fewest words taken off come first, for a
    word such as 'coarse' may be part of a name."""
    sizes: set[int] = set()
    at = 0
    while at < len(found):
        length = _size(found, at)
        sizes.update(range(at, at + length))
        at += length or 1
    others = [at for at, word in enumerate(found) if at not in sizes and word.text in _GRADES | _RAW]
    counts = range(len(others) + 1) if len(others) <= _MOST_GRADES else (0, len(others))
    for count in counts:
        for taken in itertools.combinations(others, count):
            off = sizes.union(taken)
            if off and len(off) < len(found):
                yield Graded(
                    [word for at, word in enumerate(found) if at not in off],
                    [word for at, word in enumerate(found) if at in off],
                    not taken,
                    any(found[at].text in _RAW for at in taken),
                )


def is_number(word: str) -> bool:
    return "0" <= word[0] <= "9" and "\u2044" not in word


def _size(found: Sequence[Word], at: int) -> int:
    """How many words from ``at`` on say a grain or a purity in figures; 0 for none."""
    here = at
    while here < len(found) and found[here].text in _BEFORE:
        here += 1
    led = here > at
    unit_first = here < len(found) and found[here].text in ("mesh", "#")
    here += unit_first
    first_number = here
    while here < len(found) and is_number(found[here].text):
        here += 1
    if here == first_number:
        return 0
    unit = found[here].text if here < len(found) else ""
    if unit == "%":
        pure = float(found[here - 1].text.replace(",", ".")) >= _PURE
        return here + 1 - at if pure else 0
    if unit in _UNITS:
        return here + 1 - at
    if unit_first or led:
        return here - at
    return 0
