"""The fields of a recipe: the one list of what may stand as ``key: value``, and of what type it is."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple, TypeAlias

from glost.errors import ValueRefusedError
from glost.language.tables import in_words, lexicon
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
_KILN_IN_WORDS = re.compile(r"\boil (?:kiln|burner|fired)\b")
_SAID_OF_MORE = {"red", "oil"}
"""A colour and a spot, where they stand among other words."""


def atmospheres_in(*said: str) -> tuple[str, ...]:
    """The known atmospheres and kilns that texts name, each once: one by itself, or among other words, as in 'heavy
    reduction', 'salt, soda' and 'wood-fired'."""
    found: dict[str, None] = {}
    for text in said:
        words = re.findall(r"[^\W\d_]+", text.casefold())
        if len(words) == 1:
            words = [ATMOSPHERE_SPELLINGS.get(words[0], words[0])]
        else:
            words = [ATMOSPHERE_SPELLINGS.get(word, word) for word in words if word not in _SAID_OF_MORE]
            words += ["oil"] if _KILN_IN_WORDS.search(" ".join(re.findall(r"\w+", text.casefold()))) else []
        found |= dict.fromkeys(word for word in words if word in ATMOSPHERES or word in KILNS)
    return tuple(found)


USES = ("food", "decorative", "test")


class Quantity(NamedTuple):
    """An exact amount and its unit: "" for parts, a unit of the language, or mesh."""

    amount: Decimal
    unit: str

    def __str__(self) -> str:
        return f"{self.amount:f} {self.unit}".rstrip()


Value: TypeAlias = "str | Cone | Quantity | tuple[str, ...]"


def text_of(value: Value) -> str:
    """A value as a page has it behind the colon."""
    if isinstance(value, tuple) and not isinstance(value, Quantity):
        return ", ".join(value)
    return str(value)


class ValueType(NamedTuple):
    """A type of values: its name, and the reader of it, which raises Refusal. ``prose``: a value may run over several
    lines. ``words``: those that it takes, where it takes no others."""

    name: str
    read: Callable[[str], Value]
    prose: bool = False
    words: tuple[str, ...] = ()


class FieldType(NamedTuple):
    """One key: what it says, how a value is written, and its type."""

    key: str
    says: str
    example: str
    type: ValueType

    @property
    def read(self) -> Callable[[str], Value]:
        return self.type.read

    @property
    def prose(self) -> bool:
        return self.type.prose


_MESH = re.compile(r"(?P<n>[0-9]{1,3})(?: *mesh)?")
_GRAVITY = re.compile(r"[0-9](?:\.[0-9]{1,4})?")


def _text(text: str) -> str:
    return text


def _mass(text: str) -> Quantity:
    words = lexicon()
    match = re.fullmatch(f"(?P<n>{words.number}) *(?P<unit>{words.mass})", text)
    if match is None:
        units = in_words(words.masses)
        raise ValueRefusedError(
            f"'{text}' is not a mass", f"write such as 500 g ({units}, with a decimal point)"
        )
    amount = Decimal(match["n"])
    if not amount:
        raise ValueRefusedError("a batch of nothing", "write such as 500 g")
    return Quantity(amount, match["unit"])


def _percent(text: str) -> Quantity:
    match = re.fullmatch(f"(?P<n>{lexicon().number}) *%", text)
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


def _one_of(what: str, words: tuple[str, ...]) -> ValueType:
    def read(text: str) -> str:
        if text not in words:
            raise ValueRefusedError(f"'{text}' is not {what}", f"write one of: {', '.join(words)}")
        return text

    return ValueType("one word of a list", read, words=words)


def _tags(text: str) -> tuple[str, ...]:
    return tuple(word for word in (part.strip() for part in text.split(",")) if word)


CONE = ValueType("cone", read_cone)
WORD = ValueType("word", _text)
TEXT = ValueType("text", _text, prose=True)
DATE = ValueType("date", _date)
TAGS = ValueType("words with commas", _tags)
MASS = ValueType("mass", _mass)
PERCENT = ValueType("per cent", _percent)
GRAVITY = ValueType("number", _gravity)
MESH = ValueType("mesh", _mesh)

FIELDS: dict[str, FieldType] = {
    field.key: field
    for field in (
        FieldType("cone", "the cone it is fired to", "6", CONE),
        FieldType("atmosphere", "the kiln's atmosphere", "oxidation", WORD),
        FieldType("surface", "how the fired surface looks", "satin", TEXT),
        FieldType("colour", "its colour", "pale blue", TEXT),
        FieldType("origin", "where the recipe comes from", "own test 14-C, March", TEXT),
        FieldType("date", "when this revision was written", "2026-03-14", DATE),
        FieldType("body", "the clay it is tested on", "house stoneware", TEXT),
        FieldType("application", "how it is put on", "dip, 3 seconds", TEXT),
        FieldType("firing", "how it is fired beyond cone and atmosphere", "slow cool to 950 C", TEXT),
        FieldType("use", "what the ware is for", "test", _one_of("a use", USES)),
        FieldType("tags", "words to find it by, with commas", "blue, liner", TAGS),
        FieldType("batch", "the usual mass of the base", "100 g", MASS),
        FieldType("water", "water, in per cent of the dry mass", "60 %", PERCENT),
        FieldType("gravity", "specific gravity of the slurry", "1.45", GRAVITY),
        FieldType("sieve", "the sieve it is passed through", "100 mesh", MESH),
    )
}

OWN_FIELDS = ("surface", "colour")
"""The fields that a variation may say of itself."""

FIELD_SPELLINGS = {
    **dict.fromkeys(("color", "colors", "colours"), "colour"),
    **dict.fromkeys(("source", "sources"), "origin"),
    **dict.fromkeys(("specific gravity", "sg"), "gravity"),
}
"""Other names of fields, in lower case, that mean one field and nothing else. What only looks like the name of a field,
as zone like cone, is none: it is offered, never changed."""
