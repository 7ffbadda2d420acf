"""A count or a delivery: what stood on the shelf on a day, or what came in, as the small YAML file that the log keeps.

It is written by hand or by a program, read with the place of every mistake, and JSON of the same keys is read as well.
A mass and a price stand there as they were said, so that 50 lb stay 50 lb; what is worked out of them is exact.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Literal, NamedTuple, get_args

from glost.errors import ValueRefusedError
from glost.language.exact_json import written
from glost.language.source import Source
from glost.language.yaml_tree import Entry as Place
from glost.language.yaml_tree import Node, read
from glost.recipe.materials.catalogue import Catalogue, key
from glost.recipe.materials.meant import meant, not_meant
from glost.recipe.money import Price, read_price
from glost.recipe.yaml_values import Reader
from glost.weighing.rounding import exact_sum
from glost.weighing.units import MASS_UNITS, read_mass

Kind = Literal["count", "delivery"]
KINDS: Final[tuple[Kind, ...]] = get_args(Kind)
VERSION: Final = 1
_KEYS: Final = ("record", "day", "by", "remarks", "lines")
_NEEDED: Final = (
    ("record", "glost count 1"),
    ("day", "2026-03-14"),
    ("lines", "- {material: silica, mass: 5.2 kg}"),
)
_LINE_KEYS: Final[Mapping[Kind, tuple[str, ...]]] = {
    "count": ("material", "mass", "lot"),
    "delivery": ("material", "mass", "price", "lot"),
}


class StockLine(NamedTuple):
    """One material. ``mass`` and ``price`` stand as they were written, ``mass_g`` is exact. ``lot`` "": none was
    written down; ``price`` None likewise, which is not a price of nothing."""

    material: str
    mass: str
    mass_g: Decimal
    price: Price | None = None
    lot: str = ""


@dataclass(frozen=True, slots=True)
class StockEntry:
    """A count, which holds at the end of its day, or a delivery. Texts that were left empty are ""."""

    kind: Kind
    day: date
    by: str
    remarks: str
    lines: tuple[StockLine, ...]


# ---- reading -------------------------------------------------------------------------------------------


def entry_of(source: Source) -> StockEntry:
    """The count or delivery in a file. Raises ConfigError, which knows the place."""
    reader, root = Reader(source), read(source)
    top = reader.mapping(root, "a count or a delivery", _KEYS)
    reader.check()
    for word, example in _NEEDED:
        if word not in top or top[word].node.empty:
            raise reader.refuse(root.position, f"this file lacks '{word}'", f"write  {word}: {example}")
    kinds = {f"glost {kind} {VERSION}": kind for kind in KINDS}
    kind = kinds[reader.one_of(top["record"].node, "record of the stock", kinds)]
    lines: list[StockLine] = []
    met: set[tuple[str, str]] = set()
    for node in reader.items(top["lines"].node, "lines"):
        line = _line(reader, node, kind)
        same = key(line.material), line.lot
        if kind == "count" and same in met:
            raise reader.refuse(
                node.position,
                f"'{line.material}'{f', lot {line.lot},' if line.lot else ''} is counted here a second time",
                "add the two up, or give each its lot",
            )
        met.add(same)
        lines.append(line)
    if not lines:
        raise reader.refuse(
            top["lines"].key, "no line stands here", "write  - {material: silica, mass: 5.2 kg}"
        )
    return StockEntry(
        kind=kind,
        day=reader.converted(top["day"].node, "day", read_day),
        by=_text(reader, top, "by"),
        remarks=_text(reader, top, "remarks"),
        lines=tuple(lines),
    )


def _line(reader: Reader, node: Node, kind: Kind) -> StockLine:
    at = reader.mapping(node, f"a line of a {kind}", _LINE_KEYS[kind])
    reader.check()
    for word, example in (("material", "silica"), ("mass", "5.2 kg")):
        if word not in at or at[word].node.empty:
            raise reader.refuse(node.position, f"this line lacks its {word}", f"write  {word}: {example}")
    mass = reader.text(at["mass"].node, "mass")
    return StockLine(
        material=reader.text(at["material"].node, "material"),
        mass=mass,
        mass_g=reader.converted(at["mass"].node, "mass", lambda text: mass_of(text, kind)),
        price=reader.converted(at["price"].node, "price", read_price) if _said(at, "price") else None,
        lot=_text(reader, at, "lot"),
    )


def _said(at: Mapping[str, Place], word: str) -> bool:
    return word in at and not at[word].node.empty and at[word].node.value != ""


def _text(reader: Reader, at: Mapping[str, Place], word: str) -> str:
    return reader.text(at[word].node, word) if _said(at, word) else ""


def read_day(text: str) -> date:
    """A day as 2026-03-14. Raises ValueRefusedError."""
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text) is None:
            raise ValueError
        return date.fromisoformat(text)
    except ValueError:
        raise ValueRefusedError(f"'{text[:40]}' is no date", "write such as 2026-03-14") from None


_NOTHING: Final = re.compile(rf"0+(?:\.0+)?[ \t]*(?:{'|'.join(MASS_UNITS)})")


def mass_of(text: str, kind: Kind) -> Decimal:
    """The mass in a text, in grams; of a count it may be nothing, as "0 g". Raises ValueRefusedError."""
    if kind == "count" and _NOTHING.fullmatch(text.strip(" ")):
        return Decimal(0)
    return read_mass(text)


# ---- writing -------------------------------------------------------------------------------------------


def line_for(
    kind: Kind, catalogue: Catalogue, material: str, mass: str, price: str = "", lot: str = ""
) -> StockLine:
    """A line out of what somebody typed, with the material's name in the catalogue. Raises ValueRefusedError."""
    known = catalogue.find(material)
    if known is None:
        raise ValueRefusedError(*not_meant(material, meant(material, catalogue)))
    said = " ".join(mass.split())
    return StockLine(
        known.name,
        said,
        mass_of(said, kind),
        read_price(price) if price.strip() else None,
        " ".join(lot.split()),
    )


def text_of(entry: StockEntry) -> str:
    """The entry as the log keeps it. Lines end in LF."""
    out = [f"record: glost {entry.kind} {VERSION}", f'day: "{entry.day}"']
    out += [
        f"{word}: {_quoted(text)}" for word, text in (("by", entry.by), ("remarks", entry.remarks)) if text
    ]
    out.append("lines:")
    for line in entry.lines:
        cells = [("material", line.material), ("mass", line.mass)]
        cells += [("price", line.price.text)] if line.price else []
        cells += [("lot", line.lot)] if line.lot else []
        out.append(f"  - {{{', '.join(f'{word}: {_quoted(text)}' for word, text in cells)}}}")
    return "\n".join([*out, ""])


_BARE: Final = re.compile(
    r"[A-Za-z](?:[A-Za-z0-9 ./%-]*[A-Za-z0-9./%])?|[0-9]+(?:\.[0-9]+)? [A-Za-z][A-Za-z/]*"
)
_WORDS: Final = frozenset(["yes", "no", "on", "off", "true", "false", "null", "y", "n"])
"""What YAML of one age or another reads as something else than a text."""


def _quoted(text: str) -> str:
    bare = _BARE.fullmatch(text) and text.lower() not in _WORDS
    return text if bare else written(text)


def canonical(entries: Iterable[StockEntry]) -> Sequence[StockEntry]:
    """The entries in one order, whatever order they came in: that of their days and of what they say."""
    return sorted(entries, key=lambda one: (one.day, one.kind, text_of(one)))


def total_of(entry: StockEntry, name_of: Mapping[str, str]) -> Mapping[str, Decimal]:
    """Grams of each material in an entry, lots together, under the names that ``name_of`` has for them."""
    masses: dict[str, list[Decimal]] = {}
    for line in entry.lines:
        masses.setdefault(name_of.get(line.material, line.material), []).append(line.mass_g)
    return {name: exact_sum(those) for name, those in masses.items()}
