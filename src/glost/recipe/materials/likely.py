"""Materials that are called alike, where a name means none: what 'did you mean' may offer.

The element and the kind of salt that a name says count most: a candidate says every element of the name, and its kind
where the name says one. Words count in any order, each forgiven a slip. Where a word stays unknown, only a whole
family is told (an unknown feldspar may be one of the feldspars), or a material that shares element and kind.

Nothing that can do harm is offered for the look of its letters: see ``_may_be_offered``.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from glost.recipe.materials.catalogue import Material
from glost.recipe.materials.chemical_words import (
    ANIONS,
    BASES,
    COLOURS,
    ELEMENTS,
    FAMILIES,
    KINDS,
    METAL,
    elements,
    kinds,
)
from glost.recipe.materials.short_words import ELEMENTS_ALONE
from glost.recipe.materials.slips import corrected, distance, plain_letters
from glost.recipe.materials.spelling import Word, is_number, texts, without_grade, word_set

if TYPE_CHECKING:
    from glost.recipe.materials.meant import Names

MOST: Final = 4
"""How many are offered."""
_MOST_READINGS: Final = 3
_MOST_WORDS: Final = 5
_LONG: Final = 6
"""Letters of a word that an element is read from in spite of a slip, where what harms depends on it."""

_RESTRICTED_FOR: Final = {
    "lead": frozenset(("Pb",)),
    "cadmium": frozenset(("Cd",)),
    "arsenic": frozenset(("As",)),
    "uranium": frozenset(("U",)),
    "selenium": frozenset(("Se",)),
}
_CHROMATES: Final = frozenset(("chromate", "dichromate", "bichromate"))
_TELL_NOTHING: Final = COLOURS | word_set(
    "light dark heavy raw burnt calcined fused washed unwashed natural synthetic mixed hydrated anhydrous basic dense "
    "soft hard high low free found wild house local earth mineral natural opaque transparent clear certified "
    "crushed recycled granular emulsion medium water opacifier"
)
"""Words of names that alone do not make a likeness."""


_SAMPLES: Final = frozenset(("certified", "analysed"))
"""Words of one sample's name: it is offered where they were written."""


class _Asked:
    """A name that means nothing, read for what its words say."""

    def __init__(self, written: Sequence[Word], names: Names) -> None:
        *_, bare = [list(written), *(apart.words for apart in without_grade(written))]
        self.slips: set[str] = set()
        """Known words that the name writes with a slip."""
        self.far: set[str] = set()
        """Those of them that it is more than one slip away from."""
        self.unknown: list[str] = []
        self.words: list[str] = []
        self._unsure: set[str] = set()
        self.readings: list[list[str]] = []
        """For each known word, what it may be: itself, or the words that it is as likely a slip for."""
        for word in texts(bare):
            if is_number(word):
                continue
            known = names.vocabulary
            # What was taken for a plural may be a word cut short: manganes.
            meant = [word] if word in known else corrected(word, known) or corrected(f"{word}s", known)
            if meant:
                if meant != [word]:
                    self.slips.update(meant)
                    self.far.update(one for one in meant if distance(plain_letters(word), one, 1) > 1)
                    if not _is_sure(word, meant[0]):
                        self._unsure.add(meant[0])
                self.words.append(meant[0])
                self.readings.append(meant[:_MOST_READINGS])
            else:
                self.unknown.append(word)
        self.metal = bool(METAL & set(texts(written)))
        self._read()

    def forget_unsure(self) -> None:
        """Takes the words that are only perhaps slips for unknown ones, where the name as a whole is not one with
        slips: wash is a word of its own then, and not one for ash."""
        if self._unsure:
            self.unknown += [word for word in self.words if word in self._unsure]
            self.words = [word for word in self.words if word not in self._unsure]
            self._read()

    def _read(self) -> None:
        self.elements = elements(self.words) - ANIONS  # what a salt is of, its kind says
        self.kinds = kinds(self.words)
        self.others = {word for word in self.words if word not in ELEMENTS and word not in KINDS}


def _is_sure(word: str, meant: str) -> bool:
    """Whether a word with a slip says something by itself. A short one may be any other word of the language, but for
    that of an element or a kind of salt that begins alike: hardly anybody mistypes the first letter of a word."""
    return len(word) >= _LONG or (word[0] == meant[0] and (meant in ELEMENTS or meant in KINDS))


def called_alike(written: Sequence[Word], names: Names) -> list[Material]:
    """The materials that a name may be meant for, the likeliest first; often none."""
    asked = _Asked(written, names)
    if not asked.words:
        return _run_together(written, names)
    if asked.metal and set(asked.words) <= ELEMENTS_ALONE:
        return []  # 'copper powder' is the metal
    if not asked.unknown and len(asked.words) <= _MOST_WORDS:
        offered = _read_with_slips(asked, names)
        if offered:
            return offered
    asked.forget_unsure()
    if not asked.words:
        return []
    scored = sorted(
        ((score, len(material.name), material.name, material) for material, score in _scored(asked, names)),
        key=lambda row: (-row[0], row[1], row[2]),
    )
    if scored:
        best = scored[0][0]
        return [material for score, _, _, material in scored if score > best - 4][:MOST]
    for family in sorted(asked.kinds & FAMILIES):
        if not asked.elements:
            return [one for one in names.may_be([family]) if _may_be_offered(one, asked.words, asked, names)]
    return []


def _run_together(written: Sequence[Word], names: Names) -> list[Material]:
    """A name whose words run together, with a slip among them: zincoxid. Nothing that is guarded: no word of such a
    name is sure."""
    found = (names.run_together[at] for at in corrected("".join(texts(written)), names.run_together))
    offered = {one.name: one for held in found for one in held if not guarded(one)}
    return list(offered.values())[:MOST]


def _read_with_slips(asked: _Asked, names: Names) -> list[Material]:
    """What the name means once its slips are put right, in each way that is as likely, and its figures and signs left
    out."""
    offered: dict[str, Material] = {}
    for said in itertools.product(*asked.readings):
        read = names.of_words(said)
        if read is not None:
            for one in [read.material] if read.material else read.candidates:
                if _may_be_offered(one, said, asked, names):
                    offered[one.name] = one
    return list(offered.values())


def _scored(asked: _Asked, names: Names) -> Iterator[tuple[Material, int]]:
    """Each material that is alike, with how much."""
    best: dict[str, tuple[Material, int]] = {}
    for spelling, material in names.spellings:
        score = _alike(asked, spelling)
        if score > 0 and score > best.get(material.name, (material, 0))[1]:
            best[material.name] = (material, score)
    return ((one, score) for one, score in best.values() if _may_be_offered(one, asked.words, asked, names))


def _alike(asked: _Asked, spelling: tuple[str, ...]) -> int:
    """How much a spelling is like what was asked; 0 for not at all."""
    said = set(spelling)
    its_elements, its_kinds = elements(spelling), kinds(spelling)
    if not asked.elements <= its_elements or not asked.kinds <= its_kinds or (said & _SAMPLES) - asked.others:
        return 0
    shared = asked.others & said
    telling = shared - _TELL_NOTHING
    if asked.unknown and not (asked.kinds if asked.elements else telling):
        return 0
    if asked.elements and not asked.kinds and not telling and asked.metal:
        return 0
    if not asked.elements and not telling and not (asked.kinds and shared):
        return 0
    if not asked.kinds and not telling and asked.others - shared:
        return 0
    if not asked.kinds and not asked.elements and 2 * len(telling) <= len(asked.others - _TELL_NOTHING):
        return 0  # a ball mill is neither a ball clay nor mill scale
    left_over = len(its_kinds - asked.kinds) + (len(its_elements - asked.elements) if asked.elements else 0)
    return (
        4 * len(asked.elements)
        + 4 * len(asked.kinds)
        + 3 * len(telling)
        + 2 * len(shared - telling)
        - 2 * left_over
        - len(asked.others - shared)
        + 4
    )


# ---- what is never offered for the look of its letters --------------------------------------------------

_NUMBER = re.compile(r"H([0-9]{3})")


def guarded(material: Material) -> bool:
    """Whether a material is restricted, or carries a statement of acute harm, cancer, changed genes, or harm to
    children and to having them: H300 to H332, H340 to H351, H360 to H362 of Regulation (EC) 1272/2008. Neither the
    quartz that nearly every clay carries nor a committee's opinion makes a material one that nobody meant."""
    if material.restricted:
        return True
    codes = (
        code
        for hazard in material.hazards
        if not hazard.carried and hazard.basis != "opinion"
        for code in hazard.statements
    )
    numbers = (int(match[1]) for code in codes for match in _NUMBER.finditer(code))
    return any(300 <= n <= 332 or n in (340, 341, 350, 351, 360, 361, 362) for n in numbers)


def _may_be_offered(material: Material, said: Sequence[str], asked: _Asked, names: Names) -> bool:
    """Whether a material may be offered for words, some of them with a slip. One that is guarded is offered only where
    the elements that harm in it were written, or its own name was with one slip a word at the most (a word that is two
    letters off malachite may be another rock's); a restricted one where its element was written without a slip."""
    if not guarded(material):
        return True
    if material.restricted:
        sure = [word for word in said if word not in asked.slips]  # 'leaf' is no slip for lead that counts
        wanted = _RESTRICTED_FOR.get(material.restricted)
        return bool(_CHROMATES & set(sure)) if wanted is None else wanted <= elements(sure)
    spellings = [spelling for spelling, one in names.spellings if one is material]
    if any(set(spelling) <= set(said) - asked.far for spelling in spellings):
        return True
    written = elements([word for word in said if word not in asked.slips or len(word) >= _LONG])
    harmful = elements_that_harm(spellings)
    return bool(harmful) and harmful <= written


def elements_that_harm(spellings: Iterable[Sequence[str]]) -> frozenset[str]:
    """The elements that a material's names say, without those that half of all materials hold; where there are no
    others, the bases among them."""
    said: frozenset[str] = frozenset().union(*(elements(spelling) for spelling in spellings))
    return said - BASES or said - ANIONS
