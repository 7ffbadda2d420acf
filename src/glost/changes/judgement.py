"""What the rules find on a page, and which hazards its materials bring: what a reviewer asks of a change besides what
changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple, Protocol

from glost.changes.around import allowed, where_lines_are
from glost.changes.meaning import Fact, Place, Told, told
from glost.linter.engine import LintContext, examine_resolved
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.materials.catalogue import Catalogue, key
from glost.recipe.settings import Settings

HAZARDS_NOT_KNOWN = "hazards not known"


class Noted(NamedTuple):
    """A finding, and what it is about rather than the line it stands on, which others may have moved."""

    level: str
    rule: str
    where: str
    message: str


class Judged(NamedTuple):
    """What is found on a page, the hazards of its materials, and what its allowances let stand."""

    findings: tuple[Noted, ...]
    hazards: Mapping[str, tuple[str, ...]]
    allowed: Mapping[Place, Fact]


class _CollectionOf(Protocol):
    @property
    def settings(self) -> Settings: ...
    @property
    def catalogue(self) -> Catalogue: ...


class WholePage(Protocol):
    """A page that went through the gate, its file and its collection."""

    @property
    def path(self) -> Path: ...
    @property
    def resolved(self) -> AnalysedRecipe: ...
    @property
    def collection(self) -> _CollectionOf: ...


def told_of(page: WholePage) -> Told:
    """What a page says, with its allowances."""
    resolved = page.resolved
    return told(resolved.recipe, page.collection.catalogue, allowed(resolved, where_lines_are(resolved)))


def judged_of(page: WholePage, one: Told) -> Judged:
    """A page that is ``one``, by itself, as its collection has the rules."""
    collection, resolved = page.collection, page.resolved
    context = LintContext(collection.catalogue, collection.settings, file=str(page.path))
    lines = where_lines_are(resolved)
    found = examine_resolved(resolved, context).findings
    noted = [Noted(each.level, each.rule, lines.get(each.line, ""), each.message) for each in found]
    hazards = {}
    for weighed in resolved.weighed():
        known = collection.catalogue.find(weighed.material) if weighed.material else None
        if known is None or known.hazards_unsaid:
            hazards[key(weighed.name) if known is None else known.name] = (HAZARDS_NOT_KNOWN,)
            continue
        restricted = (f"restricted ({known.restricted})",) if known.restricted else ()
        if known.statements or restricted:
            hazards[known.name] = (*restricted, *known.statements)
    return Judged(tuple(noted), hazards, one.around)


def come(old: Judged | None, new: Judged | None) -> tuple[Noted, ...]:
    """The findings of ``new`` that ``old`` has not: as many of a rule about one place as there are more."""
    before = Counter(map(_known_as, old.findings if old else ()))
    fresh = []
    for one in new.findings if new else ():
        if before[_known_as(one)]:
            before[_known_as(one)] -= 1
        else:
            fresh.append(one)
    return tuple(fresh)


def _known_as(one: Noted) -> tuple[str, str, str]:
    return one.level, one.rule, one.where


def new_hazards(old: Judged | None, new: Judged | None) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The hazards of each material that it, or the whole recipe, did not have before."""
    if new is None:
        return ()
    before: Mapping[str, Iterable[str]] = old.hazards if old else {}
    fresh = (
        (name, tuple(one for one in said if one not in before.get(name, ())))
        for name, said in sorted(new.hazards.items())
    )
    return tuple((name, said) for name, said in fresh if said)
