"""glost.yaml: what a collection says of its balances, its usual batch, its house rules."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from glost.errors import FIRST, Position, ValueRefusedError, message_and_hint
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError, Node, read
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
    return reader.whole(lambda: _settings(reader, root or read(source), rule_names))


class SettingsAsFar(NamedTuple):
    """What a glost.yaml says, as far as it can be taken, and what is refused of it."""

    settings: Settings
    refused: Sequence[ConfigError]


def settings_as_far(source: Source, rule_names: frozenset[str], root: Node) -> SettingsAsFar:
    """The settings in a glost.yaml that was read to ``root``."""
    reader, settings = Reader(source), Settings()
    with reader.part():
        settings = _settings(reader, root, rule_names)
    return SettingsAsFar(settings, reader.refused)


def _settings(reader: Reader, root: Node, rule_names: frozenset[str]) -> Settings:
    """What can be taken; the reader keeps what is refused."""
    said: dict[str, Any] = {}
    for word, entry in reader.mapping(root, "glost.yaml", KEYS).items():
        with reader.part():
            if word == "rules":
                said["rules"] = _levels(reader, entry.node, rule_names)
            else:
                said.update(_READERS[word](reader, entry.node))
    return Settings(**said)


def _levels(reader: Reader, node: Node, rule_names: frozenset[str]) -> dict[str, str]:
    levels: dict[str, str] = {}
    for word, entry in reader.mapping(node, "rules", sorted(rule_names)).items():
        with reader.part():
            levels[word] = reader.one_of(entry.node, "level", LEVELS)
    return levels


def _materials(reader: Reader, node: Node) -> dict[str, Any]:
    return {"materials": reader.converted(node, "materials", _inside), "materials_at": node.position}


def _skip(reader: Reader, node: Node) -> dict[str, Any]:
    return {"skip": reader.each(node, "skip", lambda item, what: reader.converted(item, what, _inside))}


def _bodies(reader: Reader, node: Node) -> dict[str, Any]:
    from glost.recipe.body import read_bodies  # few collections name bodies

    return {"bodies": read_bodies(reader, node)}


def _handling(reader: Reader, node: Node) -> dict[str, Any]:
    """The house notes by material, and where each stands. Only the catalogue knows whether a name is a
    material."""
    notes: dict[str, str] = {}
    places: dict[str, Position] = {}
    for word, entry in reader.mapping(node, "handling").items():
        with reader.part():
            name = reader.text(Node(word, entry.key), "the name before the colon")
            if name in places:
                raise reader.refuse(entry.key, f"a second house note for '{name}'", "put both into one")
            places[name] = entry.key
            notes[name] = reader.text(entry.node, f"handling of {name}")
    return {"handling": notes, "handling_at": places}


_MASSES: Final = ("capacity", "readability", "repeatability", "minimum", "cup")
_NEEDED: Final = tuple(
    (word, f"a balance lacks its {word}", "write such as  {name: fine, capacity: 300 g, readability: 0.01 g}")
    for word in ("name", "capacity", "readability")
)


def _balances(reader: Reader, node: Node) -> dict[str, Any]:
    balances: list[Balance] = []
    named: set[str] = set()
    for item in reader.items(node, "balances"):
        with reader.part():
            balance = _balance(reader, item, named)
            if balance is not None:
                balances.append(balance)
    return {"balances": tuple(balances)}


def _balance(reader: Reader, item: Node, named: set[str]) -> Balance | None:
    """A balance; None where something of it is refused. ``named``: what those before it are called."""
    entry = reader.mapping(item, "a balance", ("name", *_MASSES))
    is_whole = reader.has_all(item, entry, _NEEDED, item.position)
    so_far = len(reader.refused)
    masses: dict[str, Decimal] = {}
    for word in _MASSES:
        if word in entry:
            with reader.part():
                masses[f"{word}_g"] = reader.converted(entry[word].node, word, read_mass)
    name = ""
    if "name" in entry:
        with reader.part():
            name = reader.text(entry["name"].node, "name")
            if name in named:
                raise reader.refuse(
                    entry["name"].node.position,
                    f"a second balance is called '{name}'",
                    "give each its own name",
                )
            named.add(name)
    if not is_whole or len(reader.refused) > so_far:
        return None
    try:
        return Balance(name, **masses)
    except ValueError as error:
        message, hint = message_and_hint(error)
        raise reader.refuse(item.position, message, hint or "check the figures of this balance") from None


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


def _converted(
    field_name: str, word: str, convert: Callable[[str], Any]
) -> Callable[[Reader, Node], dict[str, Any]]:
    """Reads one value under ``word`` into the field of that name."""
    return lambda reader, node: {field_name: reader.converted(node, word, convert)}


_READERS: Final[Mapping[str, Callable[[Reader, Node], dict[str, Any]]]] = {
    "name": lambda reader, node: {"name": reader.text(node, "name")},
    "batch": _converted("batch_g", "batch", read_mass),
    "balances": _balances,
    "weighing tolerance": _converted("weighing_tolerance", "weighing tolerance", _tolerance),
    "base tolerance": _converted("base_tolerance", "base tolerance", plain_number),
    "materials": _materials,
    "water": _converted("water", "water", percent),
    "sieve": _converted("sieve", "sieve", _mesh),
    "skip": _skip,
    "handling": _handling,
    "bodies": _bodies,
}
"""What reads each key, but for the rules, whose names only the linter knows."""
