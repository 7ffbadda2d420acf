"""The catalogue: from every spelling of a material's name to the one material it means."""

from __future__ import annotations

import functools
import json
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple, TypeVar

from glost.errors import GlostError
from glost.recipe.names import folded

if TYPE_CHECKING:
    from decimal import Decimal

    from glost.recipe.materials.meant import Names
    from glost.recipe.money import Price

Told = TypeVar("Told")

_DATA = Path(__file__).parent / "data"
_DUSTS = Path(__file__).parent.parent / "safety" / "data" / "carried-dust.json"

ROLES = (
    "clay",
    "feldspar",
    "silica",
    "flux",
    "boron",
    "frit",
    "alumina",
    "silicate",
    "opacifier",
    "colourant",
    "suspender",
    "binder",
    "ash",
    "deflocculant",
)
SOLUBLE = ("no", "slightly", "yes")
BASES = {
    "law": "law",
    "industry": "industry",
    "opinion": "a committee's opinion, not law",
    "studio": "this collection",
}
"""On what a hazard statement rests, and how that is said: a classification of the law, one of suppliers and their
industry, the opinion of a committee that the law has not taken up, or a collection's own materials.yaml."""


def cited(basis: str, source: str, standing: str) -> str:
    """A source with what it is, and how far it was checked where it does not say so itself."""
    if standing == "studio":
        return source
    told = source if source.endswith(standing) else f"{source}, {standing}"
    return f"{BASES[basis]}: {told}" if basis else told


class Hazard(NamedTuple):
    """Hazard statements (H-codes) of a material, with where they stand written and how far that was checked:
    ``standing`` is "read", "second-hand", "from memory" or "studio". ``details``: a code with the organs and the route
    that the source names for it. ``basis``: one of BASES, "" where it is not told. ``carried``: the dust that they are
    of, where it is not the material itself but what it carries, "quartz" or "cristobalite"; else ""."""

    statements: tuple[str, ...]
    source: str
    standing: str
    details: tuple[tuple[str, tuple[str, ...], str], ...] = ()
    basis: str = ""
    carried: str = ""

    def detail_of(self, code: str) -> tuple[tuple[str, ...], str]:
        """The organs and the route that this source names for a statement; () and "" where it names none."""
        return next(((organs, route) for about, organs, route in self.details if about == code), ((), ""))

    @property
    def cited(self) -> str:
        """The source with what it is and how far it was checked."""
        return cited(self.basis, self.source, self.standing)


class Material(NamedTuple):
    """One material under its canonical name. ``soluble`` is "no", "slightly" or "yes": whether it dissolves
    in the glaze water. ``restricted`` names what makes a historical material one to read about, not to use.
    ``hazards_unsaid``: a material of the studio's own whose entry says nothing of hazards, which is not none.
    ``reference``: a pure mineral or a sample, there to calculate with and not to weigh.
    ``composition`` is the record of the data file: kind (formula, analysis, organic, unknown), figures,
    source. ``price`` and ``order_below_g`` are the studio's own: what it charges, and the least that is to be kept."""

    name: str
    role: str
    source: str
    aliases: tuple[str, ...] = ()
    cas: tuple[str, ...] = ()
    soluble: str = "no"
    caustic: bool = False
    restricted: str = ""
    hazards: tuple[Hazard, ...] = ()
    composition: Mapping[str, Any] | None = None
    density: Mapping[str, str] | None = None
    note: str = ""
    hazards_unsaid: bool = False
    reference: bool = False
    price: Price | None = None
    order_below_g: Decimal | None = None

    @property
    def statements(self) -> tuple[str, ...]:
        """All hazard statements, each once, in order."""
        return tuple(sorted({code for hazard in self.hazards for code in hazard.statements}))

    @property
    def own_statements(self) -> tuple[str, ...]:
        """Those of the material itself, without what it only carries: fine quartz is in nearly every natural powder,
        and what is done about it is done about every dust."""
        return tuple(
            sorted({code for hazard in self.hazards if not hazard.carried for code in hazard.statements})
        )

    @property
    def statements_to_note(self) -> tuple[str, ...]:
        """Those that a handling note has to answer: of the material itself, and of a dust that it is for a good part
        (H372). Of some quartz the caution on dust speaks, which stands on every sheet."""
        much = any(hazard.carried and "H372" in hazard.statements for hazard in self.hazards)
        return self.statements if much else self.own_statements

    @property
    def carries(self) -> str:
        """The crystalline silica in its dust, "quartz" or "cristobalite"; "" for none that is known."""
        return next((hazard.carried for hazard in self.hazards if hazard.carried), "")

    def detail_of(self, code: str) -> tuple[tuple[str, ...], str]:
        """The organs and the route that are on record for a statement; () and "" where none are."""
        for hazard in self.hazards:
            detail = hazard.detail_of(code)
            if detail != ((), ""):
                return detail
        return (), ""


_MOST_SAID = 1500
"""Sets of materials; what is kept of one is a few thousand bytes."""


class LibraryError(GlostError, ValueError):
    """The catalogue's data contradicts itself or lacks a source."""


key: Final = folded
"""What two spellings of a material share."""


class Catalogue:
    """Materials by every spelling of their names. Immutable."""

    def __init__(self, materials: Iterable[Material]) -> None:
        by_key: dict[str, Material] = {}
        own: dict[str, Material] = {}
        for material in materials:
            if material.name in own:
                raise LibraryError(f"'{material.name}' has two entries", "put both into one")
            for spelling in (material.name, *material.aliases):
                at = key(spelling)
                if at in by_key and by_key[at].name != material.name:
                    raise LibraryError(f"'{spelling}' stands for {by_key[at].name} and for {material.name}")
                by_key[at] = material
            own[material.name] = material
        self._by_key = by_key
        self._by_name = own
        self._names: Names | None = None
        self._told: dict[Any, dict[str, Any]] = {}
        self._said: dict[Hashable, Any] = {}

    def __iter__(self) -> Iterator[Material]:
        return iter(self._by_name.values())

    def __len__(self) -> int:
        return len(self._by_name)

    def spelled(self, name: str) -> Material | None:
        """The material that has ``name`` among its spellings, letter by letter but for case and blanks, or None."""
        found = self._by_key.get(name)
        return found if found is not None else self._by_key.get(key(name))

    def find(self, name: str) -> Material | None:
        """The one material meant by a name, in any spelling that is certain (see materials.meant), or None."""
        found = self.spelled(name)
        if found is not None:
            return found
        # Kept: a house note on "all" is asked for with each page, which took a thirtieth of a lint.
        return self.say(("meant", name), lambda: self.names().meant(name, near=False).material)

    def called(self, name: str) -> str:
        """The canonical name of the material meant, or ``name`` itself where the catalogue has none."""
        found = self.find(name)
        return found.name if found else name

    def told_of(self, material: Material, tell: Callable[[Material], Told]) -> Told:
        """What a function tells of a material of this catalogue. It is asked once for each: a collection has thousands
        of lines, and a hundred materials."""
        told = self._told.setdefault(tell, {})
        if material.name not in told:
            told[material.name] = tell(material)
        answer: Told = told[material.name]
        return answer

    def say(self, asked: Hashable, say: Callable[[], Told]) -> Told:
        """What is said of several materials of this catalogue together. It is worked out once for all tests that
        ask the same: those of a recipe are mostly made of the same materials. The last thousand or so are kept."""
        if asked not in self._said:
            if len(self._said) >= _MOST_SAID:
                self._said.clear()
            self._said[asked] = say()
        answer: Told = self._said[asked]
        return answer

    def names(self) -> Names:
        """The spellings read word by word. Few runs need them, and a run that does needs them once."""
        if self._names is None:
            from glost.recipe.materials.meant import Names

            self._names = Names(self)
        return self._names

    def nearest(self, name: str, most: int = 3) -> list[str]:
        """Canonical names that ``name`` may be meant for, the likeliest first."""
        from glost.recipe.materials.meant import meant

        found = meant(name, self)
        likely = (found.material,) if found.material else found.candidates
        return [one.name for one in likely[:most]]

    def with_own(self, entries: Iterable[Material]) -> Catalogue:
        """This catalogue with a collection's own materials. One that carries the name of a material here
        takes its place; an alias of the collection's goes before one of the catalogue's."""
        own = list(entries)
        taken = {key(spelling) for material in own for spelling in (material.name, *material.aliases)}
        names = {material.name for material in own}
        met = {self._by_key[spelling].name for spelling in taken if spelling in self._by_key}
        kept = []
        for material in self:
            if material.name in names:
                continue
            if material.name not in met:  # nearly all: they are not spelled out again at every start
                kept.append(material)
                continue
            if key(material.name) in taken:
                raise LibraryError(
                    f"'{material.name}' is a material of the catalogue", "it cannot be another's alias"
                )
            aliases = tuple(alias for alias in material.aliases if key(alias) not in taken)
            kept.append(
                material if len(aliases) == len(material.aliases) else material._replace(aliases=aliases)
            )
        return Catalogue([*own, *kept])


@functools.cache
def shipped_catalogue() -> Catalogue:
    """The catalogue that comes with glost."""
    return Catalogue(_read(path) for group in sorted(_DATA.glob("*.json")) for path in _entries(group))


def _entries(path: Path) -> list[dict[str, Any]]:
    entries: list[dict[str, Any]] = json.loads(path.read_text("utf-8"))["materials"]
    return entries


def _read(entry: dict[str, Any]) -> Material:
    name = entry["name"]
    if not entry["source"] or any(not hazard["source"] for hazard in entry["hazards"]):
        raise LibraryError(f"{name}: a value without a source")
    carried = entry.get("carries")
    if carried is not None and carried not in _dusts():
        raise LibraryError(f"{name}: nothing is held of the dust '{carried}'")
    soluble = entry["soluble"]
    return Material(
        name=name,
        role=entry["role"],
        source=entry["source"],
        aliases=tuple(entry["aliases"]),
        cas=tuple(entry["cas"]),
        soluble=soluble if isinstance(soluble, str) else "yes" if soluble else "no",
        caustic=entry.get("caustic", False),
        restricted=entry.get("restricted") or "",
        hazards=(
            *(_hazard(hazard) for hazard in entry["hazards"]),
            *(() if carried is None else _dusts()[carried]),
        ),
        composition=entry["composition"],
        density=entry["density"],
        note=entry.get("note", ""),
        reference=entry.get("reference", False),
    )


@functools.cache
def _dusts() -> Mapping[str, tuple[Hazard, ...]]:
    """The statements of each dust that a material may carry."""
    held: dict[str, Any] = json.loads(_DUSTS.read_text("utf-8"))["dusts"]
    return {
        name: tuple(_hazard(hazard, dust["of"]) for hazard in dust["hazards"]) for name, dust in held.items()
    }


def _hazard(entry: dict[str, Any], carried: str = "") -> Hazard:
    details = tuple(
        (said["statement"], tuple(said["organs"]), said["route"]) for said in entry.get("details", ())
    )
    return Hazard(
        tuple(entry["statements"]), entry["source"], entry["standing"], details, entry["basis"], carried
    )
