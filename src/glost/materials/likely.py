"""Materials that are called alike, where a name means none: what 'did you mean' may offer.

The element and the kind of salt that a name says count most: a candidate says every element of the name, and its kind
where the name says one. Words count in any order, each forgiven a slip. Where a word stays unknown, only a whole
family is told (an unknown feldspar may be one of the feldspars), or a material that shares element and kind.

Nothing that can do harm is offered for the look of its letters: see ``_may_be_offered``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from glost.materials.catalogue import Material
from glost.materials.chemical_words import (
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
from glost.materials.slips import corrected
from glost.materials.spelling import Word, texts, without_grade

if TYPE_CHECKING:
    from glost.materials.meant import Names

MOST: Final = 4
"""How many are offered."""

_RESTRICTED_FOR: Final = {
    "lead": frozenset(("Pb",)),
    "cadmium": frozenset(("Cd",)),
    "arsenic": frozenset(("As",)),
    "uranium": frozenset(("U",)),
    "selenium": frozenset(("Se",)),
}
_CHROMATES: Final = frozenset(("chromate", "dichromate", "bichromate"))
_TELL_NOTHING: Final = COLOURS | frozenset(
    "light dark heavy raw burnt calcined fused washed unwashed natural synthetic mixed hydrated anhydrous basic dense "
    "soft hard high low free found wild house local earth mineral natural opaque transparent clear certified "
    "crushed recycled granular emulsion medium water opacifier".split()
)
"""Words of names that alone do not make a likeness."""


class _Asked:
    """A name that means nothing, read for what its words say."""

    def __init__(self, written: Sequence[Word], names: Names) -> None:
        vocabulary = {word for spelling, _ in names.spellings for word in spelling} | set(ELEMENTS) | set(KINDS)
        whole = [word for word in without_grade(written).words if not word.text[0].isdigit()]
        self.slips: set[str] = set()
        """Known words that the name writes with a slip."""
        self.unknown: list[str] = []
        self.words: list[str] = []
        for word in texts(whole):
            if word in vocabulary:
                self.words.append(word)
                continue
            meant = corrected(word, vocabulary)
            if meant is None:
                self.unknown.append(word)
            else:
                self.slips.add(meant)
                self.words.append(meant)
        self.metal = bool(METAL & set(texts(written)))
        self.elements = elements(self.words) - ANIONS  # what a salt is of, its kind says
        self.kinds = kinds(self.words)
        self.others = {word for word in self.words if word not in ELEMENTS and word not in KINDS}


def called_alike(written: Sequence[Word], names: Names) -> list[Material]:
    """The materials that a name may be meant for, the likeliest first; often none."""
    asked = _Asked(written, names)
    if not asked.words:
        return []
    if asked.slips and not asked.unknown:
        read = names.of_words(asked.words)
        if read is not None:
            found = [read.material] if read.material else list(read.candidates)
            offered = [one for one in found if _may_be_offered(one, asked, names)]
            if offered:
                return offered
    scored = sorted(
        ((score, len(material.name), material.name, material) for material, score in _scored(asked, names)),
        key=lambda row: (-row[0], row[1], row[2]),
    )
    if scored:
        best = scored[0][0]
        return [material for score, _, _, material in scored if score > best - 4][:MOST]
    for family in sorted(asked.kinds & FAMILIES):
        if not asked.elements:
            return [one for one in names.may_be([family]) if _may_be_offered(one, asked, names)]
    return []


def _scored(asked: _Asked, names: Names) -> Iterator[tuple[Material, int]]:
    """Each material that is alike, with how much."""
    best: dict[str, tuple[Material, int]] = {}
    for spelling, material in names.spellings:
        score = _alike(asked, spelling)
        if score > 0 and score > best.get(material.name, (material, 0))[1]:
            best[material.name] = (material, score)
    return ((one, score) for one, score in best.values() if _may_be_offered(one, asked, names))


def _alike(asked: _Asked, spelling: tuple[str, ...]) -> int:
    """How much a spelling is like what was asked; 0 for not at all."""
    said = set(spelling)
    its_elements, its_kinds = elements(spelling), kinds(spelling)
    if not asked.elements <= its_elements or not asked.kinds <= its_kinds:
        return 0
    shared = asked.others & said
    telling = shared - _TELL_NOTHING
    if asked.unknown and not (asked.elements and asked.kinds or telling and not asked.elements):
        return 0
    if asked.elements and not asked.kinds and not telling and asked.metal:
        return 0
    if not asked.elements and not telling and not (asked.kinds and shared):
        return 0
    if not asked.kinds and not telling and asked.others - shared:
        return 0
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
    children and to having them: H300 to H332, H340 to H351, H360 to H362 of Regulation (EC) 1272/2008."""
    if material.restricted:
        return True
    numbers = (int(match[1]) for code in material.statements for match in _NUMBER.finditer(code))
    return any(300 <= n <= 332 or n in (340, 341, 350, 351, 360, 361, 362) for n in numbers)


def _may_be_offered(material: Material, asked: _Asked, names: Names) -> bool:
    """Whether a material may be offered for what was asked. One that is guarded is offered only where the elements
    that harm in it were written, or its own name was; for a restricted one a slip in its own name is not enough."""
    if not guarded(material):
        return True
    spellings = [spelling for spelling, one in names.spellings if one is material]
    asked_words = set(asked.words)
    if material.restricted:
        wanted = _RESTRICTED_FOR.get(material.restricted)
        if wanted is None:
            return bool(_CHROMATES & asked_words)
        return wanted <= asked.elements
    if any(_telling(spelling) and _telling(spelling) <= asked_words for spelling in spellings):
        return True
    harmful = elements_that_harm(spelling for spelling in spellings)
    return bool(harmful) and harmful <= asked.elements


def _telling(spelling: Iterable[str]) -> set[str]:
    """The words of a spelling that name it alone: no element, no kind, no colour."""
    return {word for word in spelling if word not in ELEMENTS and word not in KINDS} - _TELL_NOTHING


def elements_that_harm(spellings: Iterable[Sequence[str]]) -> frozenset[str]:
    """The elements that a material's names say, without those that half of all materials hold; where there are no
    others, the bases among them."""
    said: frozenset[str] = frozenset().union(*(elements(spelling) for spelling in spellings))
    return said - BASES or said - ANIONS
