"""Hazard statements: their official text, and which of them call for a handling note.

Texts: Regulation (EC) No 1272/2008 (CLP), annexes II to IV, consolidated; see the notice in
data/statements.json. Grouping of the codes into classes: the wording of those statements.
"""

import re
from collections.abc import Iterable, Mapping
from functools import cache
from types import MappingProxyType
from typing import Final, TypeAlias

CLASSES: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "acute": frozenset({"H300", "H301", "H302", "H310", "H311", "H312", "H330", "H331", "H332"}),
        "chronic": frozenset({"H370", "H371", "H372", "H373"}),
        "sensitising": frozenset({"H317", "H334"}),
        "carcinogenic": frozenset({"H350", "H351"}),
        "mutagenic": frozenset({"H340", "H341"}),
        "reproductive": frozenset({"H360", "H361", "H362"}),
        "corrosive": frozenset({"H314"}),
        "eyes": frozenset({"H318"}),
        "fire": frozenset({"H270", "H271", "H272"}),
    }
)
"""The H codes of each class of harm to people that calls for a note, without the letters behind a code.

"chronic" holds all statements on damage to organs, H370 and H371 (a single exposure) among them; "eyes" is damage to
them that stays; "fire" is what feeds one, the oxidisers. Irritation, harm to water life and other fire are in no class.
"""


_ORGANS: Final = re.compile(r"organs <or state all organs affected, if known>")
_ROUTE: Final = re.compile(r"<state route of exposure[^>]*>")
_BLANK: Final = re.compile(r"<[^>]*>")
_SPACE: Final = re.compile(r" {2,}")


def statement_text(code: str) -> str | None:
    """The official English text of a statement ("H372", "H350i", "H302+H332", "EUH212"), or None if unknown.

    Letters behind a code count as written: H360Fd and H360FD say different things. An asterisk (a minimum
    classification) is passed over. Raises OSError where the data file of the package is missing.
    """
    return _statements().get(code.replace("*", "").strip())


Detail: TypeAlias = tuple[tuple[str, ...], str]
"""What a source says where the law leaves a blank: the organs, as they stand behind "the", and the route, "by
inhalation", where no other route is known to cause the hazard; () and "" where none is named."""

NOTHING_KNOWN: Final[Detail] = ((), "")


def plain_text(code: str, detail: Detail = NOTHING_KNOWN) -> str | None:
    """The text of a statement as it is printed: the law's, its blanks filled in where something is known of the
    material and left out where nothing is ("Causes damage to the lungs through prolonged or repeated exposure by
    inhalation."). None if the code is unknown."""
    text = statement_text(code)
    if text is None or "<" not in text:
        return text
    text = text.replace("<name of sensitising substance>", "a sensitising substance")
    organs, route = detail
    if organs:
        *others, last = organs
        text = _ORGANS.sub(f"the {', '.join(others)} and {last}" if others else f"the {last}", text)
    if route:
        text = _ROUTE.sub(route, text)
    return _SPACE.sub(" ", _BLANK.sub("", text)).replace(" .", ".")


def batch_text(code: str, details: Mapping[str, Detail]) -> str | None:
    """The same for several materials: of which, where they differ. details: by the name of each material that has the
    statement."""
    known = {name: detail for name, detail in details.items() if detail != NOTHING_KNOWN}
    if len(known) == len(details) and len(set(known.values())) == 1:
        return plain_text(code, next(iter(known.values())))
    text = plain_text(code)
    if text is None or not known:
        return text
    said = "; ".join(
        f"{name}: {', '.join(filter(None, (*organs, route)))}" for name, (organs, route) in known.items()
    )
    return f"{text.rstrip('.')} ({said})."


def classes_of(code: str) -> tuple[str, ...]:
    """The classes of CLASSES that a code belongs to; a combined code (H302+H332) to those of all its parts.

    Letters behind the number (H350i, H360FD) and asterisks are passed over, and so is small or capital
    writing: here a slip must not hide a hazard. An unknown code belongs to none.
    """
    numbers = {_number(part) for part in code.split("+")}
    return tuple(name for name, codes in CLASSES.items() if numbers & codes)


def needs_note(codes: Iterable[str]) -> tuple[str, ...]:
    """Those of the codes that call for a handling note, in the order given, each once.

    They are those of any class in CLASSES; codes for irritation, water life and other fire do not call for one.
    """
    return tuple(dict.fromkeys(code for code in codes if classes_of(code)))


def _number(code: str) -> str:
    """H360 of "H360FD", " h360 fd" or "H360*"."""
    return code.strip().upper()[:4]


@cache
def _statements() -> Mapping[str, str]:
    # Imported here: most runs of the program never look up a text.
    import json
    from pathlib import Path

    data = json.loads((Path(__file__).parent / "data" / "statements.json").read_text(encoding="utf-8"))
    return MappingProxyType({str(code): str(text) for code, text in data["statements"].items()})
