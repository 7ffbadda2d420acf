"""Which material a name means.

A name is found in this order, and the first that knows it decides:

1. a name or an alias of the catalogue, without regard to letter case and the width of blanks;
2. a chemical formula: the material of that composition;
3. a name or an alias in another spelling (see materials.spelling), its words in any order, or run together;
4. one of these with a grade behind, before or between: ``silica 325 mesh``.

A spelling that two materials share, and a word that may mean several (materials.short_words), is never taken for one
of them: the candidates are named. What only looks like a name is never taken for it either; see materials.likely.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from glost.language.diagnostics import Choice
from glost.language.source import Edit, Span
from glost.recipe.materials.catalogue import Catalogue, Material, shipped_catalogue
from glost.recipe.materials.chemical_words import ELEMENTS, KINDS, METAL
from glost.recipe.materials.short_words import ELEMENTS_ALONE, MAY_BE
from glost.recipe.materials.spelling import (
    LONGEST,
    Graded,
    Word,
    normal,
    only_a_name,
    texts,
    without_grade,
    words,
)

if TYPE_CHECKING:
    from glost.recipe.materials.formula_names import ByFormula, Formulas

MOST_TOLD: Final = 6
"""Candidates that a message lists."""
_SHORT_FORMULA: Final = 12
"""Characters of the longest formula that stands behind a candidate."""

How = Literal["exact", "spelling", "ambiguous", "near", "none"]


class Meaning(NamedTuple):
    """What a name means.

    exact: a name or alias of ``material``. spelling: ``material`` in another spelling, or with a ``grade``, which is
    the part of the name that says grain, purity or preparation, as written. ambiguous: each of the ``candidates`` may
    be meant, the usual one in studios first. near: no material is called so; the candidates, the likeliest first, are
    called alike. none: nothing is known that is called alike.
    """

    how: How
    material: Material | None = None
    grade: str = ""
    candidates: tuple[Material, ...] = ()


_LIKE_A_FORMULA: Final = re.compile(
    r"\S*[A-Z]\S*[A-Z0-9\u2080-\u2089]\S*|[a-z]+[0-9\u2080-\u2089]\S*|.*[\u00b7*].*"
)
"""What may be a formula: a word with capitals, one with figures, or parts with a raised dot between."""

NOTHING: Final = Meaning("none")


def meant(name: str, catalogue: Catalogue) -> Meaning:
    """What ``name`` means."""
    found = catalogue.spelled(name)
    if found is not None:
        return Meaning("exact", found)
    return catalogue.names().meant(name, near=True)


@lru_cache(maxsize=8192)
def _read(spelling: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The words of a spelling, and the ways in which it is looked up. The catalogues that are met in one run, such as
    those of many revisions, have nearly all of theirs alike."""
    said = texts(words(spelling))
    return tuple(said), tuple(_ways(said))


class Names:
    """The spellings of a catalogue, read word by word. Made at the first name that no spelling is letter by letter."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.spellings: list[tuple[tuple[str, ...], Material]] = []
        """Every name and alias as words, with its material."""
        self._tables: tuple[dict[str, list[Material]], ...] = ({}, {}, {})
        """Materials by the words of a name as they stand, in any order, and run together."""
        for material in catalogue:
            for spelling in (material.name, *material.aliases):
                said, ways = _read(spelling)
                if said:
                    self.spellings.append((said, material))
                    for table, at in zip(self._tables, ways, strict=True):
                        held = table.setdefault(at, [])
                        if not held or held[-1] is not material:
                            held.append(material)
        self.vocabulary = (
            frozenset(word for said, _ in self.spellings for word in said) | ELEMENTS.keys() | KINDS.keys()
        )
        """Words that names are made of."""
        self.run_together = self._tables[2]
        self._short = {" ".join(sorted(texts(words(word)))): names for word, names in MAY_BE.items()}
        self._formulas: Formulas | None = None

    def meant(self, name: str, near: bool) -> Meaning:
        """What a name that is no spelling letter by letter means; ``near`` where what is called alike is wanted."""
        if len(name) > LONGEST:
            return NOTHING
        formula = self._formula(name)
        if formula is not None:
            if formula.certain is not None:
                return Meaning("spelling", formula.certain)
            if formula.several:
                return Meaning("ambiguous", candidates=formula.several)
        written = words(name)
        if only_a_name(name):
            found = self.of_words(texts(written)) or self._graded(name, written)
            if found is not None:
                return found
        if not near:
            return NOTHING
        from glost.recipe.materials.likely import called_alike

        likely = called_alike(written, self)
        return Meaning("near", candidates=tuple(likely)) if likely else NOTHING

    def of_words(self, said: Sequence[str]) -> Meaning | None:
        """The material that these words name, or those they may name; None for neither."""
        if not said:
            return None
        for table, at in zip(self._tables, _ways(said), strict=True):
            held = table.get(at)
            if held is not None:
                return (
                    Meaning("spelling", held[0])
                    if len(held) == 1
                    else Meaning("ambiguous", candidates=tuple(held))
                )
        several = self.may_be(said)
        return Meaning("ambiguous", candidates=several) if several else None

    def may_be(self, said: Iterable[str]) -> tuple[Material, ...]:
        """What a word that may mean several materials may mean here; a collection's own of that word follow."""
        asked = sorted(said)
        names = self._short.get(" ".join(asked))
        if names is None:
            return ()
        known = [found for one in names if (found := self.catalogue.spelled(one)) is not None]
        shipped = shipped_catalogue()
        own = (
            material
            for spelling, material in self.spellings
            if set(asked) <= set(spelling) and shipped.spelled(material.name) is None
        )
        return tuple({one.name: one for one in (*known, *own)}.values())

    def _formula(self, name: str) -> ByFormula | None:
        if not _LIKE_A_FORMULA.fullmatch(name.strip()):
            return None
        if self._formulas is None:
            from glost.recipe.materials.formula_names import Formulas  # few names are formulas

            self._formulas = Formulas(self.catalogue)
        return self._formulas.meant(name)

    def _graded(self, name: str, written: Sequence[Word]) -> Meaning | None:
        """What a name with a grade means: with the fewest words taken off that leave a name. Where that can be done in
        two ways for two materials, as with 'coarse' and 'powder' in 'coarse rutile powder', neither is sure."""
        for _, ways in itertools.groupby(without_grade(written), lambda apart: len(apart.grade)):
            found = [read for apart in ways if (read := self._apart(name, apart)) is not None]
            candidates = {one.name: one for read in found for one in (read.material, *read.candidates) if one}
            if len(candidates) == 1 or len(found) == 1:
                return found[0]
            if found:
                return Meaning("ambiguous", candidates=tuple(candidates.values()))
        return None

    def _apart(self, name: str, apart: Graded) -> Meaning | None:
        """What a name means when this is its grade."""
        kept = texts(apart.words)
        if not apart.sized and set(kept) <= ELEMENTS_ALONE and METAL & set(texts(apart.grade)):
            return None  # 'copper powder' is the metal
        found = self.of_words(kept) or self._formula_graded(name, apart)
        if found is None or found.material is None:
            return found
        if apart.raw and not _comes_raw(found.material):
            return Meaning("near", candidates=(found.material,))
        return found._replace(grade=_as_written(name, apart))

    def _formula_graded(self, name: str, apart: Graded) -> Meaning | None:
        """A formula with a grade behind it: SiO2 325 mesh."""
        first = min(word.start for word in apart.grade)
        formula = self._formula(name[:first].strip(" ,(-")) if first else None
        if formula is None or formula.certain is None:
            return None
        return Meaning("spelling", formula.certain)


def _ways(said: Sequence[str]) -> tuple[str, str, str]:
    """The keys of a name: its words as they stand, in any order, and run together."""
    return " ".join(said), " ".join(sorted(said)), normal("".join(said))


_RAW_ROLES: Final = ("clay", "feldspar", "silica", "silicate")


def _comes_raw(material: Material) -> bool:
    """Whether 'raw' says nothing new of a material: it is a rock or a clay that was not calcined."""
    first = material.name.split()[0]
    return material.role in _RAW_ROLES and first not in ("calcined", "burnt", "fused")


def _as_written(name: str, apart: Graded) -> str:
    """The grade of a name as it is written there: what stands from its first word to its last, without the others."""
    kept = [(word.start, word.end) for word in apart.words]
    runs: list[list[int]] = []
    for word in apart.grade:
        between = runs and any(runs[-1][1] <= start < word.start for start, _ in kept)
        if runs and not between:
            runs[-1][1] = word.end
        else:
            runs.append([word.start, word.end])
    for run in runs:
        while run[0] and name[run[0] - 1] in "-<#":
            run[0] -= 1
    return " ".join(name[start:end] for start, end in runs)


def question(meaning: Meaning, quoted: bool = False) -> str:
    """What a message asks of a name that means no one material: which of several it is, or whether one that is called
    alike is meant. "" where nothing is known. ``quoted``: the names stand in single quotes."""
    if not meaning.candidates:
        return ""
    several = meaning.how == "ambiguous"
    names = [_told(one, quoted, several) for one in told(meaning)]
    more = len(meaning.candidates) - len(names)
    if more:
        said = f"{', '.join(names)} or {more} more"
    else:
        said = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
    return f"which is meant: {said}?" if several else f"did you mean {said}?"


def not_meant(name: str, meaning: Meaning, quoted: bool = False) -> tuple[str, str]:
    """What is wrong with a name that means no one material, and how to put it right; ``quoted`` as in question()."""
    from glost.language.capital import with_capital  # only a message needs it

    asked = question(meaning, quoted)
    if meaning.how == "ambiguous":
        alias = f"make '{name}' an alias of one in the collection's materials.yaml"
        return f"'{name}' does not say which material it is", f"{asked} Write its whole name, or {alias}"
    correct = "correct the name, or add the material to the collection's materials.yaml"
    hint = f"{asked} {with_capital(correct)}" if asked else correct
    return f"'{name}' is no material that is known here", hint


def told(meaning: Meaning) -> tuple[Material, ...]:
    """The candidates that a message lists by name."""
    return meaning.candidates[:MOST_TOLD]


def choices(meaning: Meaning, span: Span) -> tuple[Choice, ...]:
    """The same to choose among, in the place of what is written there."""
    from glost.language.item_name import item_name  # only a finding needs it

    return tuple(
        Choice(_told(one, False, meaning.how == "ambiguous"), Edit(span, item_name(one.name)))
        for one in told(meaning)
    )


def _told(material: Material, quoted: bool, formula: bool) -> str:
    """A candidate in a message: its name, with its formula where that is wanted and short, and what it is restricted
    for."""
    record = material.composition
    text = record["formula"] if formula and record and record["kind"] == "formula" else ""
    said = [text] if 0 < len(text) <= _SHORT_FORMULA and "frit" not in material.name else []
    if material.restricted:
        said.append(f"restricted: {material.restricted}")
    name = f"'{material.name}'" if quoted else material.name
    return f"{name} ({', '.join(said)})" if said else name
