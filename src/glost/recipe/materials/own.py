"""materials.yaml: a collection's own materials, and what it knows better about those of the catalogue."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final, NamedTuple

from glost.errors import ValueRefusedError, message_and_hint
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError, Entry, Node, read
from glost.recipe.materials.catalogue import ROLES, SOLUBLE, Catalogue, Hazard, Material, key
from glost.recipe.yaml_values import Reader, plain_number
from glost.weighing.units import read_mass

KEYS = (
    "name",
    "aliases",
    "role",
    "source",
    "cas",
    "soluble",
    "caustic",
    "hazards",
    "hazard source",
    "restricted",
    "analysis",
    "loss",
    "formula",
    "charge",
    "note",
    "price",
    "order below",
)


def with_own_materials(catalogue: Catalogue, source: Source, root: Node | None = None) -> Catalogue:
    """``catalogue`` with the materials of a materials.yaml added, or put in the place of its own of the same
    name: what an entry leaves out is then kept from there, and its aliases stand beside those there. ``root``
    is what the source was read to, where that is known already. Raises ConfigError."""
    reader = Reader(source)
    return reader.whole(lambda: _Entries(reader, catalogue).read(root or read(source)))


class OwnAsFar(NamedTuple):
    """The catalogue with the materials of a collection, as far as they can be taken, and what is refused of them.
    ``is_named``: whether a name may be one of an entry that is refused, so that nobody can say that it is unknown."""

    catalogue: Catalogue
    refused: Sequence[ConfigError]
    is_named: Callable[[str], bool]


def own_as_far(catalogue: Catalogue, source: Source, root: Node) -> OwnAsFar:
    """The materials of a materials.yaml that was read to ``root``."""
    reader = Reader(source)
    entries = _Entries(reader, catalogue)
    with reader.part():
        catalogue = entries.read(root)
    return OwnAsFar(catalogue, reader.refused, entries.is_named)


class _Entries:
    """Reads the entries of one materials.yaml; the reader keeps what is refused."""

    def __init__(self, reader: Reader, catalogue: Catalogue) -> None:
        self._reader = reader
        self._catalogue = catalogue
        self._own: dict[str, Material] = {}
        self._said: dict[str, str] = {}
        """Which material a spelling stands for."""
        self._charges: dict[str, Entry] = {}
        self._refused_names: set[str] = set()
        self._is_one_nameless = False

    def read(self, root: Node) -> Catalogue:
        """The catalogue with what can be taken."""
        reader = self._reader
        if isinstance(root.value, list):
            raise reader.refuse(
                root.position, "no key stands above these", "write  materials:  above the list"
            )
        listed = "a material begins with  - name:  and stands below  materials:"
        top = reader.mapping(root, "materials.yaml", ("materials",), f"; {listed}")
        self._is_one_nameless = bool(reader.refused)
        for node in reader.items(top["materials"].node, "materials", listed) if "materials" in top else ():
            so_far = len(reader.refused)
            with reader.part():
                self._take(node)
            if len(reader.refused) > so_far:
                self._note_names(node)
        # An alias that an entry keeps from the catalogue gives way to one that another entry states.
        kept = [
            m._replace(aliases=tuple(a for a in m.aliases if self._said.get(key(a), m.name) == m.name))
            for m in self._own.values()
        ]
        whole = self._catalogue.with_own(kept)
        charged: dict[str, Material] = {}
        for material in kept:
            if _is_charge(material):
                with reader.part():
                    charge = self._charges[material.name]
                    charged[material.name] = _charged(reader, material, charge, whole, self.is_named)
        return self._catalogue.with_own([charged.get(m.name, m) for m in kept]) if charged else whole

    def is_named(self, name: str) -> bool:
        """Whether a name may be one of an entry that is refused."""
        return self._is_one_nameless or key(name) in self._refused_names

    def _take(self, node: Node) -> None:
        reader = self._reader
        entry = reader.mapping(node, "a material", KEYS)
        material = _material(reader, node, entry, self._catalogue)
        if material is None:
            return
        if material.name in self._own:
            raise reader.refuse(
                entry["name"].node.position,
                f"'{material.name}' stands here a second time",
                "keep one of the two entries",
            )
        so_far = len(reader.refused)
        spellings = [entry["name"].node]
        if "aliases" in entry and isinstance(entry["aliases"].node.value, list):
            spellings += entry["aliases"].node.value
        for spelling in spellings:
            with reader.part():
                _take(reader, spelling, material.name, self._said, self._catalogue)
        if len(reader.refused) > so_far:
            return  # a catalogue holds no two materials of one name
        self._own[material.name] = material
        if "charge" in entry:
            self._charges[material.name] = entry["charge"]

    def _note_names(self, node: Node) -> None:
        """What an entry that is refused is called, as far as that can be told."""
        held = node.value if isinstance(node.value, dict) else {}
        name = held["name"].node.value if "name" in held else ""
        aliases = held["aliases"].node.value if "aliases" in held else []
        texts = [name, *(one.value for one in aliases if isinstance(one, Node))]
        self._refused_names |= {key(text) for text in texts if isinstance(text, str) and text}
        self._is_one_nameless = self._is_one_nameless or not (isinstance(name, str) and name)


def _is_charge(material: Material) -> bool:
    return bool(material.composition and material.composition["kind"] == "charge")


def _charged(
    reader: Reader, material: Material, charge: Entry, catalogue: Catalogue, is_refused: Callable[[str], bool]
) -> Material:
    """A frit with the canonical names of what is melted for it; restricted where any of that is. ``is_refused``:
    whether a name that is not known is that of an entry that was told of. Raises ConfigError."""
    parts: dict[str, str] = {}
    restricted = material.restricted
    so_far = len(reader.refused)
    is_whole = True
    for name, at in reader.mapping(charge.node, "a charge").items():
        with reader.part():
            found = catalogue.find(name)
            if found is None and is_refused(name):
                is_whole = False
                continue
            if found is None or found.name == material.name:
                raise reader.refuse(
                    at.key,
                    f"'{name}' is melted for {material.name} and is "
                    + ("itself" if found else "no material that is known here"),
                    "write the name of a material, or give that one an entry of its own",
                )
            if found.name in parts:
                raise reader.refuse(
                    at.key, f"'{name}' stands in this charge a second time", "add the two together"
                )
            parts[found.name] = str(reader.converted(at.node, name, plain_number))
            restricted = restricted or found.restricted
    is_whole = is_whole and len(reader.refused) == so_far
    if is_whole and not any(Decimal(amount) for amount in parts.values()):
        raise reader.refuse(
            charge.key, "a charge in which nothing is weighed", "write such as  {borax: 40, silica: 30}"
        )
    composition = {**(material.composition or {}), "parts": parts}
    return material._replace(composition=composition, restricted=restricted)


def _take(reader: Reader, spelling: Node, name: str, said: dict[str, str], catalogue: Catalogue) -> None:
    """Notes in ``said`` that a spelling stands for ``name``; refuses one that stands for another already."""
    text = reader.text(spelling, "a name")
    holder = said.setdefault(key(text), name)
    if holder != name:
        raise reader.refuse(
            spelling.position, f"'{text}' stands for {holder} and for {name}", "take it away from one of them"
        )
    known = catalogue.spelled(text)
    if known is not None and known.name != name and key(known.name) == key(text):
        raise reader.refuse(
            spelling.position,
            f"'{text}' is a material of the catalogue, and cannot stand for {name}",
            "choose another alias",
        )


def _material(
    reader: Reader, node: Node, entry: Mapping[str, Entry], catalogue: Catalogue
) -> Material | None:
    """What an entry says, as far as it can be taken; None where nobody can say which material it is of."""
    if not reader.has_all(
        node, entry, [("name", "a material without a name", "write  name: house ball clay")], node.position
    ):
        return None
    name = _name(reader, entry["name"].node)
    known = catalogue.spelled(name)
    if known is not None and known.name != name:
        raise reader.refuse(
            entry["name"].node.position,
            f"'{name}' is the catalogue's other name for {known.name}",
            f"write  name: {known.name}  to change that one, or choose a name of your own",
        )
    if known is None:
        needed = [
            ("role", f"the material '{name}' lacks its role", "write  role: clay"),
            (
                "source",
                f"the material '{name}' lacks its source",
                "write  source: supplier's sheet of 2026-03",
            ),
        ]
        reader.has_all(node, entry, needed, node.position)
        known = Material(name, "", "")
    changes: dict[str, Any] = {}
    for word, at in entry.items():
        if word in _READERS:
            with reader.part():
                changes |= _READERS[word](reader, at.node)
    if "aliases" in changes:
        changes["aliases"] = tuple(dict.fromkeys((*known.aliases, *changes["aliases"])))
    if "hazards" in entry:
        with reader.part():
            changes["hazards"] = _hazards(reader, entry, bool(known.hazards))
    elif not known.source:
        changes["hazards_unsaid"] = True
    with reader.part():
        if "hazard source" in entry and "hazards" not in entry:
            raise reader.refuse(
                entry["hazard source"].key,
                "a hazard source without hazards",
                "write  hazards: [H302]  beside it, as the supplier's safety data sheet lists them",
            )
    with reader.part():
        composition = _composition(reader, entry)
        if composition is not None:
            changes["composition"] = composition
            changes["reference"] = False  # who analyses it has it
    return known._replace(**changes)


def _name(reader: Reader, node: Node) -> str:
    """A name that a recipe can write."""
    text = reader.text(node, "a name")
    if '"' in text:
        raise reader.refuse(
            node.position,
            "a name holds a double quotation mark, so that no recipe could write it",
            "take it out; YAML's own quotation marks stand around the whole name",
        )
    if key(text) == "all":
        raise reader.refuse(
            node.position,
            "'all' stands for every material in a handling note, and names none",
            "choose another name",
        )
    return text


_CAS = re.compile(r"([1-9][0-9]{1,6})-([0-9]{2})-([0-9])")


def _cas(text: str) -> str:
    """A CAS registry number. Its last figure is a check: the others, counted from the right, times their
    places, added up, modulo 10 (common practice)."""
    match = _CAS.fullmatch(text)
    if match is None:
        raise ValueRefusedError(f"'{text}' is not a CAS number", "write such as 1332-58-7")
    figures = match[1] + match[2]
    check = sum(place * int(figure) for place, figure in enumerate(reversed(figures), 1)) % 10
    if check != int(match[3]):
        raise ValueRefusedError(
            f"the check figure of '{text}' does not fit its other figures", "compare it with the sheet"
        )
    return text


def _soluble(text: str) -> str:
    word = {"true": "yes", "false": "no"}.get(text.lower(), text.lower())
    if word not in SOLUBLE:
        raise ValueRefusedError(f"'{text}' is not known here", f"write one of: {', '.join(SOLUBLE)}")
    return word


_STATEMENT = re.compile(r"(?:EUH|H)[0-9]{3}[A-Za-z]{0,2}(?:\+H[0-9]{3}[A-Za-z]{0,2})*")


def _hazards(reader: Reader, entry: Mapping[str, Entry], replacing: bool) -> tuple[Hazard, ...]:
    """The hazard statements of an entry, none without its source. ``replacing``: the catalogue has some for
    this material, and even an empty list takes them away."""
    listed = bool(reader.items(entry["hazards"].node, "hazards"))
    codes = reader.each(entry["hazards"].node, "hazards", lambda item, _: _statement(reader, item))
    if "hazard source" not in entry:
        if listed or replacing:
            raise reader.refuse(
                entry["hazards"].key,
                "hazard statements without a source"
                if listed
                else "the catalogue's hazard statements are taken away here without a source",
                "write  hazard source: supplier's safety data sheet of 2026-03",
            )
        return ()
    where = reader.text(entry["hazard source"].node, "hazard source")
    return (Hazard(codes, where, "studio", basis="studio"),) if codes else ()


def _statement(reader: Reader, item: Node) -> str:
    code = reader.text(item, "a hazard statement")
    if _STATEMENT.fullmatch(code) is None:
        raise reader.refuse(
            item.position,
            f"'{code}' is not a hazard statement",
            "write its code, such as H302; the supplier's safety data sheet lists them",
        )
    return code


_WRITE = "write such as CaCO3 or Al2O3·2SiO2·2H2O"


def _formula(text: str) -> str:
    """A formula that the chemistry can take."""
    from glost.recipe.materials.oxides import calculate  # few materials are written by formula

    try:
        calculate(text)
    except ValueRefusedError:
        raise
    except ValueError as error:
        raise ValueRefusedError(message_and_hint(error)[0], _WRITE) from None
    return text


def _oxide(text: str) -> str:
    """The formula of one oxide."""
    from glost.recipe.materials.formula import atoms

    if len(counts := atoms(_formula(text))) != 2 or "O" not in counts:
        raise ValueRefusedError(f"'{text}' is not an oxide", "write its formula, such as SiO2, Al2O3 or CaO")
    return text


def _composition(reader: Reader, entry: Mapping[str, Entry]) -> dict[str, object] | None:
    said = [word for word in ("analysis", "formula", "charge") if word in entry]
    if len(said) > 1:
        raise reader.refuse(
            entry[said[1]].key,
            f"{'an' if said[0] == 'analysis' else 'a'} {said[0]} and a {said[1]} for one material",
            "keep the one you trust",
        )
    source = _source(entry)
    if "charge" in entry:
        if "loss" in entry:
            raise reader.refuse(
                entry["loss"].key,
                "a loss on ignition beside a charge, which has lost it in the melting",
                "take the loss away",
            )
        return {"kind": "charge", "parts": {}, "source": source, "standing": "studio"}
    if "formula" in entry:
        if "loss" in entry:
            raise reader.refuse(
                entry["loss"].key,
                "a loss on ignition beside a formula, which has its own",
                "take the loss away",
            )
        return {
            "kind": "formula",
            "formula": reader.converted(entry["formula"].node, "formula", _formula),
            "source": source,
        }
    if "analysis" not in entry:
        if "loss" in entry:
            raise reader.refuse(
                entry["loss"].key,
                "a loss on ignition without an analysis",
                "write  analysis: {SiO2: 71.2, Al2O3: 14.1, ...}  beside it",
            )
        return None
    so_far = len(reader.refused)
    oxides: dict[str, Decimal] = {}
    for oxide, at in reader.mapping(entry["analysis"].node, "an analysis").items():
        with reader.part():
            _check_oxide(reader, oxide, at)
            oxides[oxide] = reader.converted(at.node, oxide, plain_number)
    loss = Decimal(0)
    if "loss" in entry:
        with reader.part():
            loss = reader.converted(entry["loss"].node, "loss", plain_number)
    total = sum(oxides.values()) + loss
    # What lacks a figure that was refused cannot add up.
    if len(reader.refused) == so_far and not Decimal(98) <= total <= Decimal(102):
        raise reader.refuse(
            entry["analysis"].key,
            f"the analysis and the loss add up to {total}, not to 100",
            "check the figures against the sheet; glost never rescales an analysis by itself",
        )
    return {
        "kind": "analysis",
        "oxides": {k: str(v) for k, v in oxides.items()},
        "loss": str(loss),
        "source": source,
        "standing": "studio",
    }


def _check_oxide(reader: Reader, oxide: str, at: Entry) -> None:
    try:
        _oxide(oxide)
    except ValueRefusedError:
        raise reader.refuse(
            at.key,
            f"'{oxide}' is not an oxide",
            f"{reader.behind_a_comma(oxide, at)}write its formula, such as SiO2, Al2O3 or CaO",
        ) from None


def _source(entry: Mapping[str, Entry]) -> str:
    """Where the composition is from. A source that cannot be taken is told of by itself."""
    said = entry["source"].node.value if "source" in entry else ""
    return " ".join(said.split()) if isinstance(said, str) and said else "studio"


def _price(reader: Reader, node: Node) -> dict[str, Any]:
    from glost.recipe.money import read_price  # few collections give prices

    return {"price": reader.converted(node, "price", lambda text: read_price(text, of_a_unit=True))}


def _text(word: str) -> Callable[[Reader, Node], dict[str, Any]]:
    return lambda reader, node: {word: reader.text(node, word)}


def _converted(
    field: str, word: str, convert: Callable[[str], Any]
) -> Callable[[Reader, Node], dict[str, Any]]:
    return lambda reader, node: {field: reader.converted(node, word, convert)}


_READERS: Final[Mapping[str, Callable[[Reader, Node], dict[str, Any]]]] = {
    "role": lambda reader, node: {"role": reader.one_of(node, "role", ROLES)},
    "source": _text("source"),
    "restricted": _text("restricted"),
    "note": _text("note"),
    "aliases": lambda reader, node: {
        "aliases": reader.each(node, "aliases", lambda item, _: _name(reader, item))
    },
    "cas": lambda reader, node: {
        "cas": reader.each(node, "cas", lambda item, what: reader.converted(item, what, _cas))
    },
    "soluble": _converted("soluble", "soluble", _soluble),
    "caustic": lambda reader, node: {"caustic": reader.yes_or_no(node, "caustic")},
    "price": _price,
    "order below": _converted("order_below_g", "order below", read_mass),
}
"""What reads a key that hangs on no other."""
