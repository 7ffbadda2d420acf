"""The fields of a recipe: the one list of what may stand as ``key: value``, and of what type it is."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple, TypeAlias

from glost.errors import ValueRefusedError
from glost.recipe.cone import Cone, read_cone

# The rule unknown-atmosphere looks for these; the language itself takes any word.
ATMOSPHERES = ("oxidation", "reduction", "neutral", "raku", "salt", "soda", "wood")
ATMOSPHERE_SPELLINGS = {
    **dict.fromkeys(("ox", "oxi", "oxid", "oxy", "oxydation", "oxidising", "oxidizing"), "oxidation"),
    **dict.fromkeys(("red", "redn", "redux", "reducing"), "reduction"),
    **dict.fromkeys(("neut",), "neutral"),
}
"""Other spellings of the known atmospheres, in lower case, that mean nothing else behind that field."""
KILNS = {
    "electric": "oxidation, where nothing was put in to reduce",
    **dict.fromkeys(("gas", "propane"), "reduction, oxidation or neutral, as it was fired"),
    "oil": "reduction, oxidation or neutral, as it was fired",
}
"""Kinds of kiln that are written in the place of an atmosphere, and what to write there."""
USES = ("food", "decorative", "test")


class Quantity(NamedTuple):
    """An exact amount and its unit: "" for parts, or %, g, kg, oz, lb, mesh."""

    amount: Decimal
    unit: str

    def __str__(self) -> str:
        return f"{self.amount:f} {self.unit}".rstrip()


Value: TypeAlias = "str | Cone | Quantity | tuple[str, ...]"


class FieldType(NamedTuple):
    """One key: what it says, how a value is written, and the reader of it, which raises ValueRefusedError.
    ``prose``: the value may run over several lines."""

    key: str
    says: str
    example: str
    read: Callable[[str], Value]
    prose: bool = False


_NUMBER = r"(?P<n>[0-9]{1,9}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})"
_MASS = re.compile(_NUMBER + r" *(?P<unit>kg|g|oz|lb)")
_PERCENT = re.compile(_NUMBER + r" *%")
_MESH = re.compile(r"(?P<n>[0-9]{1,3})(?: *mesh)?")
_GRAVITY = re.compile(r"[0-9](?:\.[0-9]{1,4})?")


def _text(text: str) -> str:
    return text


def _mass(text: str) -> Quantity:
    match = _MASS.fullmatch(text)
    if match is None:
        raise ValueRefusedError(
            f"'{text}' is not a mass", "write such as 500 g (g, kg, oz or lb, with a decimal point)"
        )
    amount = Decimal(match["n"])
    if not amount:
        raise ValueRefusedError("a batch of nothing", "write such as 500 g")
    return Quantity(amount, match["unit"])


def _percent(text: str) -> Quantity:
    match = _PERCENT.fullmatch(text)
    if match is None:
        raise ValueRefusedError(f"'{text}' is not a percentage", "write such as 60 % (of the dry mass)")
    return Quantity(Decimal(match["n"]), "%")


def _mesh(text: str) -> Quantity:
    match = _MESH.fullmatch(text)
    if match is None or not int(match["n"]):
        raise ValueRefusedError(f"'{text}' is not a mesh number", "write such as 100 mesh")
    return Quantity(Decimal(match["n"]), "mesh")


def _gravity(text: str) -> Quantity:
    if _GRAVITY.fullmatch(text) is None or not Decimal(1) <= Decimal(text) <= Decimal(3):
        raise ValueRefusedError(
            f"'{text}' is not the specific gravity of a slurry", "write such as 1.45 (water is 1)"
        )
    return Quantity(Decimal(text), "")


def _date(text: str) -> str:
    import datetime

    try:
        if len(text) != 10 or not text.replace("-", "").isdigit():
            raise ValueError
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise ValueRefusedError(
            f"'{text}' is not a date", "write year-month-day, such as 2026-03-14"
        ) from None


def _one_of(what: str, words: tuple[str, ...]) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text not in words:
            raise ValueRefusedError(f"'{text}' is not {what}", f"write one of: {', '.join(words)}")
        return text

    return read


def _tags(text: str) -> tuple[str, ...]:
    return tuple(word for word in (part.strip() for part in text.split(",")) if word)


FIELDS: dict[str, FieldType] = {
    field.key: field
    for field in (
        FieldType("cone", "the cone it is fired to", "6", read_cone),
        FieldType("atmosphere", "the kiln's atmosphere", "oxidation", _text),
        FieldType("surface", "how the fired surface looks", "satin", _text, prose=True),
        FieldType("colour", "its colour", "pale blue", _text, prose=True),
        FieldType("origin", "where the recipe comes from", "own test 14-C, March", _text, prose=True),
        FieldType("date", "when this revision was written", "2026-03-14", _date),
        FieldType("body", "the clay it is tested on", "house stoneware", _text, prose=True),
        FieldType("application", "how it is put on", "dip, 3 seconds", _text, prose=True),
        FieldType(
            "firing", "how it is fired beyond cone and atmosphere", "slow cool to 950 C", _text, prose=True
        ),
        FieldType("use", "what the ware is for", "test", _one_of("a use", USES)),
        FieldType("tags", "words to find it by, with commas", "blue, liner", _tags),
        FieldType("batch", "the usual mass of the base", "100 g", _mass),
        FieldType("water", "water, in per cent of the dry mass", "60 %", _percent),
        FieldType("gravity", "specific gravity of the slurry", "1.45", _gravity),
        FieldType("sieve", "the sieve it is passed through", "100 mesh", _mesh),
    )
}

FIELD_SPELLINGS = {
    **dict.fromkeys(("color", "colors", "colours"), "colour"),
    **dict.fromkeys(("source", "sources"), "origin"),
    **dict.fromkeys(("specific gravity", "sg"), "gravity"),
}
"""Other names of fields, in lower case, that mean one field and nothing else. What only looks like the name of a field,
as zone like cone, is none: it is offered, never changed."""
