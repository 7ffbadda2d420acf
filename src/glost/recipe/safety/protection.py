"""Whether a note for every material says what to put on, or do, about dust or skin.

It goes by whole words of the trade (common practice), clause by clause, and by what the clause says of them: 'no mask
needed' asks for none, 'never without gloves' does. It judges nothing: not the filter, not the fit. What it does not
understand counts as saying nothing, so that a note which says it otherwise is asked for once more, and not the other
way round.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from typing import Final

# Compiled where a note is first asked for them, since most speak before the last one is: 4 ms of a start.
_CLAUSE: Final = r"[.;!?()\n]+(?= |$|\n)|,|\bbut\b|\bthough\b|\bunless\b|[\u2013\u2014]"
_NOT: Final = (
    r"\b(?:no|not|never|none|without|unnecessary|needless|optional|nobody|cannot|isn't|aren't|don't|doesn't|needn't|"
    r"won't|can't)\b"
)
_FILTER = r"(?:ffp ?[123]|p ?[23]|[npr] ?(?:95|99|100)|hepa|filter(?:s|ed|ing)?|particulates?|dust|half|full[- ]face)"
_WEAR = r"(?:wear|wears|wearing|put on|puts on|use|fitted|with)"
_WET = r"(?:wet|wetted|damp|dampened|moist)"
_DONE = (
    r"(?:clean(?:s|ed|ing)?|wip(?:e|es|ed|ing)|mop(?:s|ped|ping)?|spong(?:e|es|ed|ing)|cloths?|rags?|towels?)"
)
_WORKED = r"(?:weigh(?:s|ed|ing)?|mix(?:es|ed|ing)?|siev(?:e|es|ed|ing)|slak(?:e|es|ed|ing)|crush(?:ed|ing)?)"
_PROTECTS: Final = (
    # On the hands; what is worn for hot ware is no help against powder.
    r"(?<!oven )(?<!kiln )(?<!heat )(?<!welding )\bgloves?\b",
    # A mask that is worn; not one of tape or wax.
    rf"\bmasks?\b(?=.*\b{_FILTER}\b)|\b(?:{_FILTER}|{_WEAR})\b.*\bmasks?\b|\bmasks?\b(?=.*\b(?:on|worn)\b)",
    r"^\W*(?:(?:gloves|goggles|apron) and )?masks?(?: and (?:gloves|goggles|apron))?\W*$",
    r"\b(?:ventilat(?:e|es|ed|ing|ion)|hoods?|extractor|dust extraction|local exhaust)\b",
    r"\bglove ?box\b|\bdowndraft (?:table|bench)\b",
    rf"\b{_WET}[- ](?:{_DONE}|{_WORKED})\b|\b(?:{_DONE}|{_WORKED})\b.*\b{_WET}\b|\b{_WET}\b.*\b{_DONE}\b",
    r"\bhepa\b|\bmopp?(?:ed|ing)?\b",
    r"\b(?:goggles|safety glasses|eye protection|face shields?)\b",
    r"\bbarrier cream\b",
    # Gloves in other languages that notes are written in.
    r"\b(?:schutz)?handschuhe?\b|\bgants\b|\bguant[ei]s?\b",
)
_AGAINST_DUST: Final = (
    r"\b(?:never|do not|don't|no)\b(?: \w+)? "
    r"(?:sweep(?:ing)?|dry[- ]sweep(?:ing)?|blow(?:ing)?|brush(?:ing)?)\b"
)


_BREATHE: Final = r"\b(?:breathed?|inhaled?)\b"
_BREATHING: Final = (
    r"\brespirat|\b(?:ffp|p) ?[23]\b|\b[npr] ?(?:95|99|100)\b|\bbreathing\b|\binhal|\brpe\b"
    # The same in other languages that notes are written in.
    r"|atemschutz|staubmaske|\bmasque|\bmascar|\bmascher|respirador"
)


_HOUSE_NOTES = 256
"""Notes whose answer is remembered: those of a collection's glost.yaml are asked about on every page."""
_MASK: Final = r"\bmasks?\b"


@functools.lru_cache(maxsize=_HOUSE_NOTES)
def speaks_of_breathing(note: str) -> bool:
    """Whether a note on a material says anything of what is worn against breathing it, or that it is not to be breathed
    in."""
    return any(
        _has(clause, _BREATHE) or (_meant(clause) and (_has(clause, _BREATHING) or _has(clause, _MASK)))
        for clause in _clauses(note)
    )


@functools.lru_cache(maxsize=_HOUSE_NOTES)
def protects(note: str) -> bool:
    """Whether a note says what to put on or do about dust or skin."""
    return any(_says(clause) for clause in _clauses(note))


def _clauses(note: str) -> Iterator[str]:
    for clause in re.split(_CLAUSE, " ".join(note.replace("\u2019", "'").split()), flags=re.IGNORECASE):
        if clause.strip():
            yield clause


def _has(clause: str, pattern: str) -> bool:
    return re.search(pattern, clause, re.IGNORECASE) is not None


def _says(clause: str) -> bool:
    if _has(clause, _AGAINST_DUST) or _has(clause, _BREATHE):
        return True
    return _meant(clause) and any(_has(clause, pattern) for pattern in (_BREATHING, *_PROTECTS))


def _meant(clause: str) -> bool:
    """Whether a clause asks for what it names; 'never without' does."""
    return len(re.findall(_NOT, clause, re.IGNORECASE)) % 2 == 0
