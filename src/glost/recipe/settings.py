"""glost.yaml: what a collection says of its balances, its usual batch, its house rules."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from glost.errors import FIRST, Position, ValueRefusedError
from glost.language.source import Source
from glost.language.yaml_tree import Node, read
from glost.recipe.yaml_values import Reader, percent, plain_number
from glost.weighing.balance import Balance
from glost.weighing.units import read_mass

if TYPE_CHECKING:
    from glost.recipe.body import Body

KEYS = (
    "name",
    "batch",
    "balances",
    "weighing tolerance",
    "base tolerance",
    "materials",
    "water",
    "sieve",
    "skip",
    "handling",
    "bodies",
    "rules",
)
LEVELS = ("off", "hint", "warning", "error")


@dataclass(frozen=True, slots=True)
class Settings:
    """What a collection sets; the defaults are what holds where it says nothing. Masses in grams, tolerances
    as fractions (weighing) and in parts (base). ``batch_g`` None: a recipe without a batch of its own is
    taken at 100 g. ``water`` in per cent of the dry mass. ``handling`` maps a material, or "all", to a house
    note. ``bodies``: the clays whose expansion is known, by their folded names."""

    name: str = ""
    batch_g: Decimal | None = None
    balances: tuple[Balance, ...] = ()
    weighing_tolerance: Decimal = Decimal("0.02")
    base_tolerance: Decimal = Decimal("0.05")
    materials: str | None = None
    water: Decimal | None = None
    sieve: int | None = None
    skip: tuple[str, ...] = ()
    handling: Mapping[str, str] = field(default_factory=dict)
    bodies: Mapping[str, Body] = field(default_factory=dict)
    rules: Mapping[str, str] = field(default_factory=dict)
    materials_at: Position = field(default=FIRST, compare=False)
    """Where the file says it, for what only shows later."""
    handling_at: Mapping[str, Position] = field(default_factory=dict, compare=False)

    USUAL_BATCH_G = Decimal(100)


def read_settings(source: Source, rule_names: frozenset[str], root: Node | None = None) -> Settings:
    """The settings in a glost.yaml. ``rule_names`` are the rules there are: a level for any other is refused.
    ``root`` is what the source was read to, where that is known already. Raises ConfigError."""
    reader = Reader(source)
    top = reader.mapping(root or read(source), "glost.yaml", KEYS)
    said: dict[str, object] = {}
    if "name" in top:
        said["name"] = reader.text(top["name"].node, "name")
    if "materials" in top:
        said["materials"] = reader.converted(top["materials"].node, "materials", _inside)
        said["materials_at"] = top["materials"].node.position
    if "batch" in top:
        said["batch_g"] = reader.converted(top["batch"].node, "batch", read_mass)
    if "balances" in top:
        said["balances"] = _balances(reader, top["balances"].node)
    if "weighing tolerance" in top:
        said["weighing_tolerance"] = reader.converted(
            top["weighing tolerance"].node, "weighing tolerance", _tolerance
        )
    if "base tolerance" in top:
        said["base_tolerance"] = reader.converted(top["base tolerance"].node, "base tolerance", plain_number)
    if "water" in top:
        said["water"] = reader.converted(top["water"].node, "water", percent)
    if "sieve" in top:
        said["sieve"] = reader.converted(top["sieve"].node, "sieve", _mesh)
    if "skip" in top:
        said["skip"] = tuple(
            reader.converted(item, "skip", _inside) for item in reader.items(top["skip"].node, "skip")
        )
    if "handling" in top:
        said["handling"], said["handling_at"] = _handling(reader, top["handling"].node)
    if "bodies" in top:
        from glost.recipe.body import read_bodies

        said["bodies"] = read_bodies(reader, top["bodies"].node)
    if "rules" in top:
        said["rules"] = {
            word: reader.one_of(entry.node, "level", LEVELS)
            for word, entry in reader.mapping(top["rules"].node, "rules", sorted(rule_names)).items()
        }
    return Settings(**said)  # type: ignore[arg-type]


def _handling(reader: Reader, node: Node) -> tuple[dict[str, str], dict[str, Position]]:
    """The house notes by material, and where each stands. Only the catalogue knows whether a name is a
    material."""
    notes: dict[str, str] = {}
    places: dict[str, Position] = {}
    for word, entry in reader.mapping(node, "handling").items():
        name = reader.text(Node(word, entry.key), "the name before the colon")
        if name in notes:
            raise reader.refuse(entry.key, f"a second house note for '{name}'", "put both into one")
        notes[name] = reader.text(entry.node, f"handling of {name}")
        places[name] = entry.key
    return notes, places


def _balances(reader: Reader, node: Node) -> tuple[Balance, ...]:
    balances: list[Balance] = []
    for item in reader.items(node, "balances"):
        entry = reader.mapping(
            item, "a balance", ("name", "capacity", "readability", "repeatability", "minimum", "cup")
        )
        for word in ("name", "capacity", "readability"):
            if word not in entry:
                raise reader.refuse(
                    item.position,
                    f"a balance lacks its {word}",
                    "write such as  {name: fine, capacity: 300 g, readability: 0.01 g}",
                )
        masses = {
            f"{word}_g": reader.converted(entry[word].node, word, read_mass)
            for word in ("capacity", "readability", "repeatability", "minimum", "cup")
            if word in entry
        }
        name = reader.text(entry["name"].node, "name")
        if any(balance.name == name for balance in balances):
            raise reader.refuse(
                entry["name"].node.position, f"a second balance is called '{name}'", "give each its own name"
            )
        try:
            balances.append(Balance(name, **masses))
        except ValueError as error:
            said = str(error).removesuffix(".")
            raise reader.refuse(
                item.position, said[0].lower() + said[1:], "check the figures of this balance"
            ) from None
    return tuple(balances)


def _tolerance(text: str) -> Decimal:
    value = percent(text)
    if not 0 < value < 100:
        raise ValueRefusedError(
            f"{value} % is no tolerance", "write more than 0 and less than 100, such as 2 %"
        )
    return value / 100


_MESH = re.compile(r"(?P<n>[0-9]{1,3})(?: *mesh)?")


def _mesh(text: str) -> int:
    match = _MESH.fullmatch(text)
    if match is None or not int(match["n"]):
        raise ValueRefusedError(f"'{text}' is no mesh number", "write such as 100 mesh")
    return int(match["n"])


def _inside(text: str) -> str:
    """A path below the collection's folder, with / between folders."""
    if text.startswith(("/", "~/")) or "\\" in text or re.match(r"[A-Za-z]:", text):
        raise ValueRefusedError(
            f"'{text}' is not a path below the collection's folder",
            "write it from that folder on, with / between folders, such as old/tests",
        )
    parts = [part for part in text.split("/") if part not in ("", ".")]
    if ".." in parts or not parts:
        raise ValueRefusedError(
            f"'{text}' lies outside the collection", "name a place below the folder of glost.yaml"
        )
    return "/".join(parts)
