"""materials.yaml: a collection's own materials, and what it knows better about those of the catalogue."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

from glost.errors import ValueRefusedError, message_and_hint
from glost.language.source import Source
from glost.language.yaml_tree import Entry, Node, read
from glost.recipe.materials.catalogue import ROLES, SOLUBLE, Catalogue, Hazard, Material, key
from glost.recipe.yaml_values import Reader, plain_number
from glost.weighing.units import UnitError, read_mass

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
    top = reader.mapping(root or read(source), "materials.yaml", ("materials",))
    if "materials" not in top:
        return catalogue
    own: dict[str, Material] = {}
    said: dict[str, str] = {}
    nodes: dict[str, Entry] = {}
    for node in reader.items(top["materials"].node, "materials"):
        entry = reader.mapping(node, "a material", KEYS)
        material = _material(reader, node, entry, catalogue)
        if material.name in own:
            raise reader.refuse(
                entry["name"].node.position,
                f"'{material.name}' stands here a second time",
                "keep one of the two entries",
            )
        own[material.name] = material
        if "charge" in entry:
            nodes[material.name] = entry["charge"]
        spellings = [entry["name"].node]
        if "aliases" in entry:
            spellings += reader.items(entry["aliases"].node, "aliases")
        for spelling in spellings:
            _take(reader, spelling, material.name, said, catalogue)
    # An alias that an entry keeps from the catalogue gives way to one that another entry states.
    kept = [
        m._replace(aliases=tuple(a for a in m.aliases if said.get(key(a), m.name) == m.name))
        for m in own.values()
    ]
    whole = catalogue.with_own(kept)
    charged = {m.name: _charged(reader, m, nodes[m.name], whole) for m in kept if _is_charge(m)}
    if not charged:
        return whole
    return catalogue.with_own([charged.get(m.name, m) for m in kept])


def _is_charge(material: Material) -> bool:
    return bool(material.composition and material.composition["kind"] == "charge")


def _charged(reader: Reader, material: Material, charge: Entry, catalogue: Catalogue) -> Material:
    """A frit with the canonical names of what is melted for it; restricted where any of that is. Raises ConfigError."""
    parts: dict[str, str] = {}
    restricted = material.restricted
    for name, at in reader.mapping(charge.node, "a charge").items():
        found = catalogue.find(name)
        if found is None or found.name == material.name:
            raise reader.refuse(
                at.key,
                f"'{name}' is melted for {material.name} and is "
                + ("itself" if found else "no material that is known here"),
                "write the name of a material, or give that one an entry of its own",
            )
        amount = reader.converted(at.node, name, plain_number)
        if found.name in parts:
            raise reader.refuse(
                at.key, f"'{name}' stands in this charge a second time", "add the two together"
            )
        parts[found.name] = str(amount)
        restricted = restricted or found.restricted
    if not any(Decimal(amount) for amount in parts.values()):
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


def _material(reader: Reader, node: Node, entry: Mapping[str, Entry], catalogue: Catalogue) -> Material:
    if "name" not in entry:
        raise reader.refuse(node.position, "a material without a name", "write  name: house ball clay")
    name = _name(reader, entry["name"].node)
    known = catalogue.spelled(name)
    if known is not None and known.name != name:
        raise reader.refuse(
            entry["name"].node.position,
            f"'{name}' is the catalogue's other name for {known.name}",
            f"write  name: {known.name}  to change that one, or choose a name of your own",
        )
    if known is None:
        for word in ("role", "source"):
            if word not in entry:
                raise reader.refuse(
                    node.position,
                    f"the material '{name}' lacks its {word}",
                    "write  role: clay" if word == "role" else "write  source: supplier's sheet of 2026-03",
                )
        known = Material(name, "", "")
    changes: dict[str, object] = {}
    if "role" in entry:
        changes["role"] = reader.one_of(entry["role"].node, "role", ROLES)
    for word in ("source", "restricted", "note"):
        if word in entry:
            changes[word] = reader.text(entry[word].node, word)
    if "aliases" in entry:
        stated = (_name(reader, item) for item in reader.items(entry["aliases"].node, "aliases"))
        changes["aliases"] = tuple(dict.fromkeys((*known.aliases, *stated)))
    if "cas" in entry:
        changes["cas"] = tuple(
            reader.converted(item, "cas", _cas) for item in reader.items(entry["cas"].node, "cas")
        )
    if "soluble" in entry:
        changes["soluble"] = reader.converted(entry["soluble"].node, "soluble", _soluble)
    if "caustic" in entry:
        changes["caustic"] = reader.yes_or_no(entry["caustic"].node, "caustic")
    if "hazards" in entry:
        changes["hazards"] = _hazards(reader, entry, bool(known.hazards))
    elif not known.source:
        changes["hazards_unsaid"] = True
    if "hazard source" in entry and "hazards" not in entry:
        raise reader.refuse(
            entry["hazard source"].key,
            "a hazard source without hazards",
            "write  hazards: [H302]  beside it, as the supplier's safety data sheet lists them",
        )
    if "price" in entry:
        from glost.recipe.money import read_price  # few collections give prices

        changes["price"] = reader.converted(
            entry["price"].node, "price", lambda text: read_price(text, of_a_unit=True)
        )
    if "order below" in entry:
        changes["order_below_g"] = reader.converted(entry["order below"].node, "order below", _mass)
    composition = _composition(reader, entry)
    if composition is not None:
        changes["composition"] = composition
        changes["reference"] = False  # who analyses it has it
    return known._replace(**changes)  # type: ignore[arg-type]


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


def _mass(text: str) -> Decimal:
    try:
        return read_mass(text)
    except UnitError as error:
        raise ValueRefusedError(error.message, error.hint) from None


def _soluble(text: str) -> str:
    word = {"true": "yes", "false": "no"}.get(text.lower(), text.lower())
    if word not in SOLUBLE:
        raise ValueRefusedError(f"'{text}' is not known here", f"write one of: {', '.join(SOLUBLE)}")
    return word


_STATEMENT = re.compile(r"(?:EUH|H)[0-9]{3}[A-Za-z]{0,2}(?:\+H[0-9]{3}[A-Za-z]{0,2})*")


def _hazards(reader: Reader, entry: Mapping[str, Entry], replacing: bool) -> tuple[Hazard, ...]:
    """The hazard statements of an entry, none without its source. ``replacing``: the catalogue has some for
    this material, and even an empty list takes them away."""
    codes = []
    for item in reader.items(entry["hazards"].node, "hazards"):
        code = reader.text(item, "a hazard statement")
        if _STATEMENT.fullmatch(code) is None:
            raise reader.refuse(
                item.position,
                f"'{code}' is not a hazard statement",
                "write its code, such as H302; the supplier's safety data sheet lists them",
            )
        codes.append(code)
    if "hazard source" not in entry:
        if codes or replacing:
            raise reader.refuse(
                entry["hazards"].key,
                "hazard statements without a source"
                if codes
                else "the catalogue's hazard statements are taken away here without a source",
                "write  hazard source: supplier's safety data sheet of 2026-03",
            )
        return ()
    where = reader.text(entry["hazard source"].node, "hazard source")
    return (Hazard(tuple(codes), where, "studio", basis="studio"),) if codes else ()


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
    source = reader.text(entry["source"].node, "source") if "source" in entry else "studio"
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
    oxides: dict[str, Decimal] = {}
    for oxide, at in reader.mapping(entry["analysis"].node, "an analysis").items():
        try:
            _oxide(oxide)
        except ValueRefusedError:
            raise reader.refuse(
                at.key,
                f"'{oxide}' is not an oxide",
                f"{reader.behind_a_comma(oxide, at)}write its formula, such as SiO2, Al2O3 or CaO",
            ) from None
        oxides[oxide] = reader.converted(at.node, oxide, plain_number)
    loss = reader.converted(entry["loss"].node, "loss", plain_number) if "loss" in entry else Decimal(0)
    total = sum(oxides.values()) + loss
    if not Decimal(98) <= total <= Decimal(102):
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
