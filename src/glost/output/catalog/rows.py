"""The rows of the table, and how a row is made out of a recipe, its findings and its revision.

Texts are as the recipe has them: whoever shows them makes them fit for the place.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal, NamedTuple

from glost.linter.finding import LEVELS, Finding
from glost.output.batch_sheet import Caution, Hazards, cautions_of, hazards_of
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.cone import Cone
from glost.recipe.fields import FIELDS, text_of
from glost.recipe.materials.catalogue import Catalogue, Material
from glost.recipe.recipe import Part, Test, sets_said, tests
from glost.weighing.rounding import plain, round_to

How = Literal["whole", "in part", "not at all"]
_RUNS_ON: Final = re.compile(r"[0-9]$|[:;,()#]")
_OWN: Final = ("cone", "atmosphere", "surface", "colour", "use", "date", "tags")
OTHERS: Final = tuple(key for key in FIELDS if key not in _OWN)
"""The fields that are told of a row as they are written; those that have a place of their own are not among them."""
_STEP: Final = Decimal("0.000001")
"""Amounts on a base of 100 are rounded to this, as fine as an amount can be written."""


class Weighed(NamedTuple):
    """A material of a test, of its base or of its additions. ``name`` is as the recipe writes it, ``material`` the
    canonical name, or None where the catalogue does not know it. ``parts`` are exact, in the parts of the base as it
    is written (in grams for a base in masses); ``on_100`` is for 100 of the base, and None where the base has no
    total to go by: it is empty, or a line of the page could not be read."""

    name: str
    material: str | None
    base: bool
    parts: Decimal
    on_100: Decimal | None
    note: str

    @property
    def called(self) -> str:
        return self.material or self.name

    @property
    def told(self) -> str:
        """The name as a list tells it: in quotes, as a recipe has it, where it would run into an amount or a comma."""
        return f'"{self.called}"' if _RUNS_ON.search(self.called) else self.called


@dataclass(frozen=True, slots=True)
class About:
    """What the rows of one recipe have in common. ``read`` says how far its file could be read; of one that could
    not be read at all only ``file`` is known. A field that the recipe does not have is "". ``cone_low`` and
    ``cone_high`` are Cone.numbers, None without a known cone; ``others`` are the fields of OTHERS that are there."""

    file: str
    read: How
    collection: str = ""
    kind: str = ""
    name: str = ""
    cone: str = ""
    cone_low: Decimal | None = None
    cone_high: Decimal | None = None
    atmosphere: str = ""
    surface: str = ""
    colour: str = ""
    use: str = ""
    date: str = ""
    tags: tuple[str, ...] = ()
    others: tuple[tuple[str, str], ...] = ()
    notes: str = ""


class Revision(NamedTuple):
    """The last commit that touched a file: its short name, its day, and whether the file has changed since."""

    short: str
    day: str
    changed: bool


NOT_KNOWN: Final = Revision("not known", "", changed=False)
"""For a file that may be in a commit, where git does not say so."""


class Fired(NamedTuple):
    """What came of the newest tile of a test: the day and the name of its firing, the tile, the cone that was reached,
    or else meant; what is said of it, and where its picture lies, "" where there is none."""

    date: str
    firing: str
    tile: str
    cone: str
    surface: str
    colour: str
    faults: tuple[str, ...]
    remarks: str
    photo: str


NEVER: Final = "never fired"

NOTHING: Final = Hazards((), (), (), (), ())


@dataclass(frozen=True, slots=True)
class Row:
    """A test of a recipe. ``test`` is "" for the recipe itself, else the name of the variation, or of the series
    with the number of the step, and ``sets`` what that sets; ``line`` is where it begins. ``findings`` are those of
    the whole file, and ``revision`` is None where no commit holds it. ``fired`` is the newest tile of this test, None
    where it was never fired."""

    about: About
    line: int = 1
    test: str = ""
    weighed: tuple[Weighed, ...] = ()
    hazards: Hazards = NOTHING
    cautions: tuple[Caution, ...] = ()
    findings: tuple[Finding, ...] = ()
    revision: Revision | None = None
    sets: str = ""
    fired: Fired | None = None

    @property
    def test_name(self) -> str:
        """The test, as a tile names it, without the kind."""
        return f"{self.about.name}, {self.test}" if self.test else self.about.name

    @property
    def hazards_known(self) -> bool:
        """Whether the catalogue has an entry for every material of the test, and no line was left unread: only then
        can anything be said of what is not on record."""
        return self.about.read == "whole" and not self.hazards.unknown

    @property
    def statements(self) -> dict[str, tuple[str, ...]]:
        """Each hazard statement on record, with the materials that it comes from."""
        found: dict[str, dict[str, None]] = {}
        for listed in self.hazards.listed:
            for code in listed.codes:
                found.setdefault(code, {})[listed.material] = None
        return {code: tuple(found[code]) for code in sorted(found)}

    @property
    def sources(self) -> dict[str, tuple[str, ...]]:
        """Each hazard statement on record, with what it rests on, where it stands and how far that was checked."""
        found: dict[str, dict[str, None]] = {}
        for listed in self.hazards.listed:
            for code in listed.codes:
                found.setdefault(code, {})[listed.cited] = None
        return {code: tuple(found[code]) for code in sorted(found)}

    @property
    def counts(self) -> dict[str, int]:
        """Findings by level, every level once."""
        counted = Counter(finding.level for finding in self.findings)
        return {level: counted[level] for level in LEVELS}


class RowBuilder:
    """Makes rows out of recipes that were read with one catalogue; ``collection`` is what it is called."""

    def __init__(self, catalogue: Catalogue, collection: str = "") -> None:
        self._catalogue = catalogue
        self._collection = collection
        # Tests of one recipe, and of its copies, most often hold the same materials.
        self._met: dict[
            tuple[bool, tuple[str, ...], tuple[str, ...]], tuple[Hazards, tuple[Caution, ...]]
        ] = {}

    def rows(self, resolved: AnalysedRecipe) -> tuple[Row, ...]:
        """A row for each test of a recipe, without findings and revision. Of a page that is not all in its recipe the
        rows say so."""
        faulty = not resolved.complete
        about = _about(resolved, "in part" if faulty else "whole", self._collection)
        source = resolved.page.source
        rows = []
        own: tuple[Weighed, ...] | None = None
        for test in tests(resolved.recipe):
            total = Fraction(0) if faulty else test.base_exact
            base = own
            if base is None or test.base_sets or test.point is not None:
                base = tuple(_weighed(part, True, total) for part in test.base if part.parts)
                if not (test.base_sets or test.point is not None):
                    own = base  # the same in all tests that leave the base alone
            head = resolved.head_of(test) if test.block else resolved.title
            line = source.position(head.span.start).line if head else 1
            rows.append(self._row(_of_test(about, test), line, test, base, total))
        return tuple(rows)

    def _row(self, about: About, line: int, test: Test, base: tuple[Weighed, ...], total: Fraction) -> Row:
        weighed = base + tuple(_weighed(part, False, total) for part in test.additions if part.parts)
        names = tuple(dict.fromkeys(one.called for one in weighed))
        hazards, cautions = self._harm(
            names,
            about.use == "food",
            (about.atmosphere, *(said for key, said in about.others if key == "firing")),
        )
        return Row(about, line, test.label, weighed, hazards, cautions, sets=sets_said(test))

    def _harm(
        self, names: tuple[str, ...], food: bool, fired: tuple[str, ...]
    ) -> tuple[Hazards, tuple[Caution, ...]]:
        asked = food, fired, names
        if asked not in self._met:
            used: Mapping[str, Material | None] = {name: self._catalogue.find(name) for name in names}
            self._met[asked] = hazards_of(used), tuple(cautions_of(used, self._catalogue, food, fired))
        return self._met[asked]


def unread(file: str, collection: str = "") -> Row:
    """The row of a file that could not be read at all."""
    return Row(About(file, "not at all", collection))


def _of_test(about: About, test: Test) -> About:
    """What holds for one test. Surface and colour are what was seen on a tile: those of the recipe as it stands. Any
    other test has what it says of itself, and nothing where it says nothing."""
    if not test.label:
        return about
    own = dict(test.fields)
    return replace(about, surface=own.get("surface", ""), colour=own.get("colour", ""))


def _about(resolved: AnalysedRecipe, read: How, collection: str) -> About:
    recipe = resolved.recipe
    said = {key: text_of(value) for key, value in recipe.fields.items()}
    cone, tags = recipe.fields.get("cone"), recipe.fields.get("tags", ())
    low, high = (cone.numbers if isinstance(cone, Cone) else None) or (None, None)
    return About(
        file=resolved.page.source.path,
        read=read,
        collection=collection,
        kind=recipe.kind,
        name=recipe.name,
        cone=said.get("cone", ""),
        cone_low=low,
        cone_high=high,
        atmosphere=said.get("atmosphere", ""),
        surface=said.get("surface", ""),
        colour=said.get("colour", ""),
        use=said.get("use", ""),
        date=said.get("date", ""),
        tags=tuple(map(str, tags)) if isinstance(tags, tuple) else (),
        others=tuple((key, said[key]) for key in OTHERS if key in said),
        notes=recipe.notes,
    )


def _weighed(part: Part, base: bool, total: Fraction) -> Weighed:
    parts = plain(part.parts) if part.fraction is None else plain(round_to(part.fraction, _STEP))
    on_100 = None
    if total:
        on_100 = parts if total == 100 else plain(round_to(part.exact * 100 / total, _STEP))
    return Weighed(part.name, part.material, base, parts, on_100, part.note)


def amount_text(weighed: Weighed, decimals: int = 4) -> str:
    """How much of it, for reading: on a base of 100, to so many decimals; as it is written where there is no such base.
    What would round to nothing is shown in full."""
    amount = weighed.parts if weighed.on_100 is None else weighed.on_100
    exponent = amount.as_tuple().exponent
    if isinstance(exponent, int) and exponent >= -decimals:
        return f"{amount:f}"
    short = round_to(amount, Decimal(1).scaleb(-decimals))
    return f"{plain(short if short else amount):f}"
