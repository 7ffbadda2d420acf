"""A clay body whose expansion is known, as a glost.yaml names it: measured, or from a supplier's sheet."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from glost.errors import ValueRefusedError
from glost.language.yaml_tree import Entry, Node
from glost.recipe.names import folded
from glost.recipe.yaml_values import Reader, plain_number

KEYS: Final = ("expansion", "plus or minus", "range", "source")

EXAMPLE: Final = "{expansion: 62e-7/K, plus or minus: 2e-7/K, range: 20-400 C, source: supplier's sheet}"


@dataclass(frozen=True, slots=True)
class Body:
    """``expansion``: mean linear expansion of the fired body between ``low`` and ``high`` °C, in 1e-7/K.
    ``plus_or_minus`` in the same unit, None where nobody has said. ``source``: how it is known."""

    name: str
    expansion: Decimal
    plus_or_minus: Decimal | None
    low: int
    high: int
    source: str

    @property
    def range(self) -> str:
        return f"{self.low}-{self.high} °C"


def read_bodies(reader: Reader, node: Node) -> dict[str, Body]:
    """The bodies of a glost.yaml, by their folded names."""
    found: dict[str, Body] = {}
    met: set[str] = set()
    for word, entry in reader.mapping(node, "bodies").items():
        with reader.part():
            name = reader.text(Node(word, entry.key), "the name before the colon")
            if folded(name) in met:
                raise reader.refuse(entry.key, f"a second body is called '{name}'", "give each its own name")
            met.add(folded(name))
            body = _body(reader, name, entry)
            if body is not None:
                found[folded(name)] = body
    return found


_READERS: Final[Mapping[str, Callable[[str], Any]]] = {
    "expansion": lambda text: {"expansion": read_expansion(text)},
    "plus or minus": lambda text: {"plus_or_minus": read_uncertainty(text)},
    "range": lambda text: dict(zip(("low", "high"), read_range(text), strict=True)),
    "source": lambda text: {"source": text},
}


def _body(reader: Reader, name: str, entry: Entry) -> Body | None:
    """One body; None where something of it is refused."""
    values = reader.mapping(entry.node, f"the body '{name}'", KEYS)
    needed = [
        (word, f"the body '{name}' lacks its {word}", f"write such as  {EXAMPLE}")
        for word in ("expansion", "range", "source")
    ]
    is_whole = reader.has_all(entry.node, values, needed, entry.key)
    said: dict[str, Any] = {"plus_or_minus": None}
    so_far = len(reader.refused)
    for word, value in values.items():
        with reader.part():
            said |= reader.converted(value.node, word, _READERS[word])
    return Body(name, **said) if is_whole and len(reader.refused) == so_far else None


def body_of(named: str, bodies: Mapping[str, Body]) -> Body | None:
    """The body that a recipe means by its ``body:``, which may say more behind a comma or in brackets ("house red,
    bone-dry"); where it names none, the collection's only body."""
    if not named:
        return next(iter(bodies.values())) if len(bodies) == 1 else None
    return bodies.get(folded(named)) or bodies.get(folded(re.split(r"[,;(]", named)[0]))


_EXPANSION = re.compile(
    r"(?P<figure>[0-9.,]+) ?(?:"
    r"(?:(?:[x×*·⋅] ?)?(?:1 ?)?(?:[eE]|10 ?\^? ?)-0?(?P<power>[67])|ppm) ?"
    r"(?:/ ?(?:°? ?C|K)|per (?:K|kelvin|°? ?C)|1/(?:°? ?C|K)|(?:°? ?C|K) ?\^?-1)"
    r"|[µμu]m ?/ ?(?:\(m ?[·⋅*]? ?(?:°? ?C|K)\)|m ?/ ?(?:°? ?C|K)))"
)
"""As sheets write it: 62e-7/K, 6.2 x 10^-6/°C, 6.2 × 10⁻⁶ K⁻¹, 6.2 ppm/K, 6.2 µm/(m·K)."""
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻−", "0123456789--")
_HOW: Final = "write it with its power of ten, such as 62e-7/K or 6.2e-6/K"
LEAST: Final = Decimal(1)
MOST: Final = Decimal(200)
"""1e-7/K. No fired clay body lies outside this (common practice: stoneware near 60, earthenware near 70)."""


def _in_1e_7(text: str) -> Decimal:
    match = _EXPANSION.fullmatch(text.translate(_RAISED))
    if match is None:
        raise ValueRefusedError(f"'{text}' is no expansion", _HOW)
    return plain_number(match["figure"]) * (1 if match["power"] == "7" else 10)


def read_expansion(text: str) -> Decimal:
    """A linear expansion, in 1e-7/K. Raises ValueRefusedError."""
    value = _in_1e_7(text)
    if not LEAST <= value <= MOST:
        raise ValueRefusedError(
            f"{value.normalize():f}e-7/K is the expansion of no fired clay",
            "check the power of ten: a stoneware body has about 60e-7/K, which is 6e-6/K (common practice)",
        )
    return value


def read_uncertainty(text: str) -> Decimal:
    """How far an expansion may be off, in 1e-7/K. Raises ValueRefusedError."""
    value = _in_1e_7(text.removeprefix("±").strip())
    if not 0 < value <= MOST / 2:
        raise ValueRefusedError(
            f"{value.normalize():f}e-7/K is no uncertainty of a body's expansion",
            "write how far it may be off, such as 2e-7/K, or take the line away where nobody has said",
        )
    return value


_RANGE = re.compile(r"(?P<low>[0-9]{1,4}) ?(?:°? ?C)? ?(?:-|–|to|\.\.) ?(?P<high>[0-9]{1,4}) ?°? ?C")
COLDEST, HOTTEST = 0, 1200


def read_range(text: str) -> tuple[int, int]:
    """The temperatures between which an expansion was measured, °C. Raises ValueRefusedError."""
    match = _RANGE.fullmatch(text)
    if match is None:
        raise ValueRefusedError(f"'{text}' is no range of temperature", "write such as 20-400 C")
    low, high = int(match["low"]), int(match["high"])
    if not COLDEST <= low < high <= HOTTEST:
        raise ValueRefusedError(
            f"'{text}' is not the range of a body's expansion",
            f"write the lower temperature first, from {COLDEST} to {HOTTEST} C, such as 20-400 C",
        )
    return low, high
