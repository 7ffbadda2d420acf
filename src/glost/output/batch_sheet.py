"""What stands on a batch sheet, as data. Every format for the bench shows this and works nothing out by
itself.

Texts are as the recipe has them: whoever shows them makes them fit for the place (see visible).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from glost.output.format import Job, Revision, Use
from glost.output.parts_bar import Slice, slices_of
from glost.output.sheet_slurry import slurry_of
from glost.recipe.blends import Point
from glost.recipe.fields import FIELDS, Quantity, Value
from glost.recipe.materials.catalogue import Catalogue, Material, cited
from glost.recipe.on_top import on_top
from glost.recipe.recipe import Part, Test, batch_g, own_batch_g, sets_said
from glost.recipe.safety.cautions import FOOD_CAUTION, KILN_CAUTION, cautions_for
from glost.recipe.safety.incompatible import clashes
from glost.recipe.safety.statements import batch_text
from glost.weighing.balance import ASSUMED_BALANCE, Balance
from glost.weighing.batch import Line, Plan, Planner, Weighing
from glost.weighing.rounding import count_of, multiple, plain, round_to, significant
from glost.weighing.sieve import opening_um
from glost.weighing.units import show_mass
from glost.weighing.vessels import Fill
from glost.weighing.weighable import MOST_PORTIONS, Flaw, standard_on

if TYPE_CHECKING:
    from glost.weighing.ways import Way

READ_FIRST = "Handling and cautions stand below: read them before a jar is opened."
ERRORS_FIRST = (
    "The page of this recipe has errors: fix them before anything is weighed (glost lint says how)."
)
RESTRICTED = (
    "It is known here so that old recipes can be read; do not weigh it out before the law of the place has"
    " been looked up."
)
UNKNOWN = "Not in the catalogue, so that nothing is known here of their hazards"
LISTED = "Hazard statements on record here; the supplier's sheet may list more"
MATERIAL_NOTES = "Notes on the materials"
SILENT = "No hazard statement on record here, which does not mean no hazard"
WATER_HINT = "about half the dry mass to wet a test: common practice"
WEIGHABLE_HINT = (
    "What helps: a larger batch, a finer balance, a premix, which glost batch works out, or for what dissolves a stock"
    " solution."
)
SHOWN_FIELDS = tuple(key for key in FIELDS if key not in ("tags", "batch", "water", "gravity", "sieve"))
"""Fields that a sheet lists under the name; the others have their own place on it, or none."""

_ASSUMED = (
    f"No balance is listed in glost.yaml: one of {show_mass(ASSUMED_BALANCE.capacity_g)} that reads"
    f" {show_mass(ASSUMED_BALANCE.readability_g)} is assumed."
)

CHECKED = ("date", "weighed by", "balance", "checked by")
FIRED = ("date fired", "kiln", "cone reached")
"""What is filled in by hand, besides the lots, the masses and the remarks."""


class SheetLine(NamedTuple):
    """One material to weigh. ``canonical`` is the catalogue's name where the recipe writes another, else "".
    ``grams`` and ``running`` stand on the division of the balance; ``balance`` is its name. ``running`` is what the
    display then shows in a running total; None for what is weighed apart, and where nothing carries the batch.
    ``within``: it can be weighed within the tolerance; a warning speaks of each that cannot. A line that no balance
    carries at once is several of these, ``portion`` of ``portions``, each with the parts of the whole line. ``vessel``
    is the number of the one it goes into, 0 where it stands in no running total. ``how``: what else there is to do,
    in words. ``on_top``: of an addition whose material is in the base as well, how much that makes; else ""."""

    name: str
    canonical: str
    parts: Decimal
    grams: Decimal
    running: Decimal | None
    balance: str
    note: str
    within: bool
    vessel: int
    portion: int
    portions: int
    how: str
    on_top: str = ""

    @property
    def remarks(self) -> tuple[str, ...]:
        """What stands with the name: the catalogue's, what to do, how much it makes with the base, and the recipe's
        note."""
        if not (self.canonical or self.how or self.on_top or self.note):  # most lines
            return ()
        canonical = f"in the catalogue: {self.canonical}" if self.canonical else ""
        return tuple(filter(None, (canonical, self.how, self.on_top, self.note)))

    @property
    def remark(self) -> str:
        """The remarks in one line."""
        return "; ".join(self.remarks)


class Note(NamedTuple):
    """A handling note: of which materials, the text, and whether it is the collection's rather than the
    recipe's."""

    names: tuple[str, ...]
    text: str
    house: bool


class Listed(NamedTuple):
    """Hazard statements of one material from one source; ``standing`` says how far that was checked, ``basis`` what it
    is (catalogue.BASES). ``carried``: the dust that they are of, where the material only carries it, else ""."""

    material: str
    codes: tuple[str, ...]
    source: str
    standing: str
    basis: str = ""
    carried: str = ""

    @property
    def cited(self) -> str:
        """The source with what it is and how far it was checked."""
        return cited(self.basis, self.source, self.standing)


class Caution(NamedTuple):
    """A usual caution, and the materials that call for it; none of them where it always stands there."""

    text: str
    materials: tuple[str, ...]


class Hazards(NamedTuple):
    """What is known here of the hazards of a test's materials. ``texts``: each code and its text, organ and
    route named where they are known. ``silent``: materials of the catalogue without a statement on record. ``unknown``:
    names that the catalogue does not hold. ``restricted``: materials with what makes them so.
    ``notes``: what the catalogue or materials.yaml notes on a material."""

    listed: tuple[Listed, ...]
    texts: tuple[tuple[str, str], ...]
    silent: tuple[str, ...]
    unknown: tuple[str, ...]
    restricted: tuple[tuple[str, str], ...]
    notes: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """The sheet of one test. ``label`` is "" for the recipe itself; ``number`` of ``count`` sheets of the recipe.
    ``sets`` says what the test sets, "" for the recipe itself. ``mass`` says base, additions and sum in one line,
    "" where nothing can be weighed. ``water``, ``sieve`` are "" where they are left to be filled in; ``gravity`` is
    "" where none is asked for. ``warnings`` stand under the table. ``attention``: the errors of the page, to stand
    above all else, with a word on them first; none where there are none. ``plan`` is what the figures come from, its
    lines in the order of base and additions, and None where nothing can be weighed; ``water_percent`` is of the dry
    mass, None where it is left open; ``water_said`` is as it is shown, ``water_by`` what it is calculated from, and
    ``water_remarks`` what else is to be known of it. ``point``: where it
    stands on the board of its blend. ``uses``: the recipes among its ingredients."""

    recipe: str
    label: str
    sets: str
    kind: str
    number: int
    count: int
    fields: tuple[tuple[str, str], ...]
    file: str
    revision: str
    mass: str
    base: tuple[SheetLine, ...]
    additions: tuple[SheetLine, ...]
    total: Decimal
    plan: Plan | None
    balances: tuple[str, ...]
    balance_note: str
    warnings: tuple[str, ...]
    water: str
    water_percent: Decimal | None
    water_said: str
    water_by: str
    water_remarks: tuple[str, ...]
    gravity: str
    sieve: str
    handling: tuple[Note, ...]
    hazards: Hazards
    cautions: tuple[Caution, ...]
    notes: str
    test: Test
    catalogue: Catalogue
    attention: tuple[str, ...] = ()
    point: Point | None = None
    uses: tuple[Use, ...] = ()

    @property
    def name(self) -> str:
        """Recipe and test, as a tile is labelled."""
        return f"{self.recipe}, {self.label}" if self.label else self.recipe

    @property
    def bar(self) -> tuple[Slice, ...]:
        """What the test is made of, for a picture; plain text shows none."""
        return slices_of(self.test.base, self.test.additions, self.catalogue)

    @property
    def step(self) -> str:
        """The test with what it sets: "cobalt steps 2: cobalt carbonate 0.5"; "" for the recipe itself."""
        return f"{self.label}: {self.sets}" if self.label and self.sets else self.label

    @property
    def together(self) -> bool:
        """Whether one display shows the total: all of it in one vessel, nothing apart."""
        return self.plan is None or (
            len(self.plan.vessels) == 1 and not any(w.apart for w in self.plan.lines)
        )

    @property
    def total_word(self) -> str:
        """What the total of all lines is called."""
        return "total on the balance" if self.together else "all tipped together"

    def vessel_head(self, before: int, line: SheetLine) -> str:
        """What stands above a line that begins a vessel of several, "" above any other. before: the vessel of the
        lines so far, 0 for none."""
        if self.plan is None or len(self.plan.vessels) < 2 or not line.vessel or line.vessel == before:
            return ""
        vessel = self.plan.vessels[line.vessel - 1]
        return (
            f"vessel {vessel.number} of {len(self.plan.vessels)}: tare it empty; it holds {vessel.total_g:f} g in the"
            " end"
        )


def batch_sheets(job: Job) -> tuple[BatchSheet, ...]:
    """The sheets of a recipe, one a test that is asked for, in the order of the page."""
    shared = _Shared(job)
    return tuple(shared.sheet(test, number, len(job.asked)) for number, test in enumerate(job.asked, 1))


def batch_sheet(job: Job, test: Test) -> BatchSheet:
    """The sheet of one test."""
    return _Shared(job).sheet(test)


class _Shared:
    """What the sheets of one recipe share, worked out once: what its page and the collection say, and the base of most
    of its tests."""

    def __init__(self, job: Job) -> None:
        fields, settings = job.recipe.fields, job.settings
        self._job = job
        self._told = {key: _said(fields[key]) for key in SHOWN_FIELDS if key in fields}
        self._food = fields.get("use") == "food"
        self._fired = tuple(str(fields[key]) for key in ("atmosphere", "firing") if key in fields)
        self._sieve = _sieve(fields.get("sieve"), settings.sieve)
        self._revision = revision_said(job.revision)
        self._attention = attention_of(job)
        self._balances = settings.balances or (ASSUMED_BALANCE,)
        self._batch_g = batch_g(job.recipe)
        self._handling = job.recipe.every_handling
        self._house = tuple(settings.handling.items())
        self._planners: dict[tuple[tuple[Part, ...], Decimal], Planner] = {}
        self._weighed: tuple[tuple[Part, ...], tuple[Weighing, ...]] = ((), ())
        self._shown: list[tuple[SheetLine, Weighing]] = []

    def sheet(self, test: Test, number: int = 1, count: int = 1) -> BatchSheet:
        """The sheet of one of the tests."""
        job, recipe = self._job, self._job.recipe
        base_parts = test.base_exact
        additions = [part for part in test.additions if part.parts]
        planned = None
        if base_parts:
            own_g = own_batch_g(test) if test.base_sets else self._batch_g
            base_g = job.batch_g or own_g or job.settings.batch_g or job.settings.USUAL_BATCH_G
            planned = self._planner(test.base, base_parts, base_g).plan(_asked(additions, base=False))
        shown: list[tuple[SheetLine, Weighing]] = []
        if planned:
            own = [(part, on_top(part, test)) for part in additions]
            shown = [
                *self._base_lines(test.base, planned.lines[: len(test.base)]),
                *_lines(own, planned.lines[len(test.base) :]),
            ]
        materials = _materials(job, (*test.base, *additions))
        names = tuple(materials)
        slurry = slurry_of(test, planned, job.settings, job.catalogue)
        return BatchSheet(
            recipe=recipe.name,
            label=test.label,
            sets=sets_said(test),
            kind=recipe.kind,
            number=number,
            count=count,
            fields=self._fields(test),
            file=job.file,
            revision=self._revision,
            mass=_mass(planned, base_parts, test.added_exact, bool(job.settings.balances)),
            base=tuple(line for line, weighing in shown if weighing.base),
            additions=tuple(line for line, weighing in shown if not weighing.base),
            total=planned.total_target_g if planned else Decimal(0),
            plan=planned,
            balances=tuple(dict.fromkeys(line.balance for line, _ in shown)),
            balance_note="" if job.settings.balances else _ASSUMED,
            warnings=tuple(_warnings(planned, shown, self._balances)),
            water=slurry.water,
            water_percent=slurry.percent,
            water_said=slurry.said,
            water_by=slurry.by,
            water_remarks=slurry.remarks,
            gravity=slurry.gravity,
            sieve=self._sieve,
            handling=self._notes(materials, names),
            hazards=job.catalogue.say(("hazards", names), lambda: hazards_of(materials)),
            cautions=job.catalogue.say(
                ("cautions", names, self._food, self._fired),
                lambda: tuple(cautions_of(materials, job.catalogue, self._food, self._fired)),
            ),
            notes=recipe.notes,
            test=test,
            catalogue=job.catalogue,
            attention=self._attention,
            point=test.point,
            uses=tuple(job.uses_of(test)),
        )

    def _base_lines(
        self, base: tuple[Part, ...], weighings: tuple[Weighing, ...]
    ) -> list[tuple[SheetLine, Weighing]]:
        """Those of the test before, where they are the same: most tests of a recipe differ in what is added."""
        if (base, weighings) != self._weighed:
            self._weighed = base, weighings
            self._shown = _lines([(part, "") for part in base], weighings)
        return self._shown

    def _planner(self, base: tuple[Part, ...], base_parts: Fraction, base_g: Decimal) -> Planner:
        found = self._planners.get((base, base_g))
        if found is None:
            tolerance = self._job.settings.weighing_tolerance
            found = Planner(_asked(base, base=True), base_parts, base_g, self._balances, tolerance)
            self._planners[base, base_g] = found
        return found

    def _fields(self, test: Test) -> tuple[tuple[str, str], ...]:
        """The fields that a sheet shows; what a test says of itself stands in the place of what its recipe says."""
        if not test.fields:
            return tuple(self._told.items())
        told = self._told | dict(test.fields)
        return tuple((key, told[key]) for key in SHOWN_FIELDS if key in told)

    def _notes(self, used: Mapping[str, Material | None], names: tuple[str, ...]) -> tuple[Note, ...]:
        """The recipe's notes, then the house's. A note of the recipe is left out only where all it speaks of is
        in the recipe and in another test; a name that nothing in the recipe answers to is shown, to be on the
        safe side."""
        called = self._job.catalogue.called

        def of_house() -> tuple[Note, ...]:
            return tuple(
                Note((name,), text, house=True)
                for name, text in self._house
                if name == "all" or called(name) in used
            )

        house = self._job.catalogue.say(("house notes", self._house, names), of_house)
        if not self._handling:
            return house
        elsewhere = self._job.called - set(used)
        own = (
            Note(one.names, one.text, house=False)
            for one in self._handling
            if not one.names or any(called(name) not in elsewhere for name in one.names)
        )
        return (*own, *house)


def _asked(parts: Iterable[Part], *, base: bool) -> list[Line]:
    return [Line(part.called, part.parts, base, part.note, part.fraction) for part in parts]


def attention_of(job: Job) -> tuple[str, ...]:
    """The errors of a page as they stand on what is taken to the bench."""
    return (ERRORS_FIRST, *(one.text for one in job.attention)) if job.attention else ()


def _materials(job: Job, parts: Iterable[Part]) -> dict[str, Material | None]:
    """The materials of a test by canonical name, or by the name as written where the catalogue has none."""
    used: dict[str, Material | None] = {}
    for part in parts:
        if part.parts:
            found = job.catalogue.find(part.called)
            used.setdefault(found.name if found else part.called, found)
    return used


def hazards_of_all(jobs: Iterable[Job]) -> Hazards:
    """What is known of the materials of all tests that are asked for, each material once."""
    jobs = list(jobs)
    if len(jobs) == 1:
        job = jobs[0]
        parts = (part for test in job.asked for part in (*test.base, *test.additions))
        materials = _materials(job, parts)
        return job.catalogue.say(("hazards", tuple(materials)), lambda: hazards_of(materials))
    used: dict[str, list[Material | None]] = {}
    for job in jobs:
        for test in job.asked:
            for name, found in _materials(job, (*test.base, *test.additions)).items():
                if found not in used.setdefault(name, []):
                    used[name].append(found)
    # Two collections may each have a material of their own of one name: both are told.
    return hazards_of(
        {
            f"{name}\0{at}" if at and found else name: found
            for name, every in used.items()
            for at, found in enumerate(every)
        }
    )


def _said(value: Value) -> str:
    return ", ".join(value) if isinstance(value, tuple) and not isinstance(value, Quantity) else str(value)


def revision_said(revision: Revision | None) -> str:
    """Where a file stands in version control, in words."""
    return "not under version control" if revision is None else revision.told


# ---- weighing ------------------------------------------------------------------------------------------


def _lines(
    parts: Iterable[tuple[Part, str]], weighings: Iterable[Weighing]
) -> list[tuple[SheetLine, Weighing]]:
    return [
        (
            SheetLine(
                name=part.name,
                canonical=part.called if _differ(part) else "",
                parts=part.shown,
                grams=fill.target_g,
                running=fill.running_g if fill.vessel else None,
                balance=weighing.balance.name if weighing.balance else "",
                note=part.note,
                within=weighing.within,
                vessel=fill.vessel,
                portion=fill.number,
                portions=fill.of,
                how=_how(weighing, fill),
                on_top=said,
            ),
            weighing,
        )
        for (part, said), weighing in zip(parts, weighings, strict=True)
        for fill in weighing.fills
    ]


def _how(weighing: Weighing, fill: Fill) -> str:
    if fill.of == 1 and not weighing.apart:  # nearly every line
        return ""
    said = [f"portion {fill.number} of {fill.of}"] if fill.of > 1 else []
    if weighing.apart and weighing.balance is not None:
        said.append(f"weigh apart on '{weighing.balance.name}', tip in")
    return "; ".join(said)


def _differ(part: Part) -> bool:
    return (
        part.material is not None
        and part.material != part.name
        and part.material.casefold() != part.name.casefold()
    )


def _mass(planned: Plan | None, base_parts: Fraction, added: Fraction, listed: bool) -> str:
    """Base, additions and their sum. ``base_parts``, ``added``: the parts of each. ``listed``: the balances are the
    collection's, not the assumed one; where the whole batch is weighed on one of them, it is named here."""
    if planned is None:
        return ""
    base = show_mass(planned.base_mass_g)
    names = {weighing.balance.name for weighing in planned.lines if weighing.balance}
    on = f" '{names.pop()}'" if listed and len(names) == 1 else ""
    together = len(planned.vessels) == 1 and not any(weighing.apart for weighing in planned.lines)
    total = f"{planned.total_target_g:f} g {f'on the balance{on}' if together else 'in all'}"
    if not added:
        return f"base {base}, no additions: {total}"
    # One fraction and not three: this is asked for of each test.
    share = Fraction(added.numerator * 100 * base_parts.denominator, added.denominator * base_parts.numerator)
    percent = round_to(share, Decimal("0.0001"))
    return f"base {base} + {plain(percent):f} % additions = {total}"


def _warnings(
    planned: Plan | None, shown: list[tuple[SheetLine, Weighing]], balances: tuple[Balance, ...]
) -> Iterable[str]:
    if planned is None:
        yield "The base of this recipe is empty: there is nothing to weigh."
        return
    outside = [(line, weighing) for line, weighing in shown if not weighing.within and line.portion == 1]
    for line, weighing in outside:
        if weighing.flaw is not Flaw.CARRIED:
            yield _outside(line, weighing, balances)
    if any(weighing.flaw is not Flaw.CARRIED for _, weighing in outside):
        yield WEIGHABLE_HINT
    yield from carrying_said(planned)
    if planned.base_target_g != planned.base_mass_g:
        asked = show_mass(planned.base_mass_g)
        yield f"On the balance the base comes to {planned.base_target_g:f} g, not {asked}."


def carrying_said(planned: Plan | Way) -> Iterable[str]:
    """What there is to say where the main balance does not carry the whole batch at once."""
    main = planned.main
    if main is None:
        return
    room = show_mass(main.room_g)
    if not planned.carried:
        yield (
            f"This batch cannot be weighed: '{main.name}' has room for {room} at a time, and not even"
            f" {MOST_PORTIONS} vessels or portions will do. Weigh a smaller batch, or list a larger balance in"
            " glost.yaml."
        )
    elif len(planned.vessels) > 1:
        yield (
            f"The whole batch is more than the balance '{main.name}' carries ({room}): weigh it into"
            f" {len(planned.vessels)} vessels, each with a running total of its own, and tip them all together."
        )
    elif not main.carries(planned.total_target_g):
        yield (
            f"Take the vessel off '{main.name}' before the rest is tipped in: all together is more than it carries"
            f" ({room})."
        )


def _outside(line: SheetLine, weighing: Weighing, balances: tuple[Balance, ...]) -> str:
    division, exact = weighing.division_g, weighing.exact_g
    mass = _rounded(exact)
    balance = weighing.balance
    on = "this balance" if len(balances) == 1 else f"'{line.balance}'"
    if weighing.flaw is Flaw.MINIMUM and balance is not None and balance.minimum_g is not None:
        least = show_mass(balance.minimum_g)
        said = f"{mass} g is less than the {least} that '{balance.name}' is to be used from"
    elif weighing.flaw is Flaw.UNSURE:
        standard = standard_on(balance, weighing.portions)
        share = significant(Fraction(standard) * 100 / exact, 2)
        said = f"{mass} g is sure to ± {significant(standard, 2):f} g on {on}, which is {share:f} % of it"
    else:
        half = count_of(exact, division / 2) if balance is not None else None
        count = exact // Fraction(division)
        low, high = multiple(count, division), multiple(count + 1, division)
        # Half way between two steps the display may settle on either.
        reads = f"{low:f} or {high:f}" if half is not None and half % 2 else f"{weighing.target_g:f}"
        off = round_to(Fraction(weighing.error) * 100, Decimal("0.1"))
        said = f"{mass} g reads {reads} on {on}, {plain(off):f} % off"
    if weighing.smallest_batch_g is None:
        return f"{line.name}: {said}; no batch will do on these balances"
    return f"{line.name}: {said}; smallest batch that would do: {show_mass(weighing.smallest_batch_g)}"


def _rounded(mass: Fraction) -> str:
    """A mass to at most six decimals, for reading."""
    return f"{plain(round_to(mass, Decimal('0.000001'))):f}"


def _sieve(own: Value | None, usual: int | None) -> str:
    mesh = int(own.amount) if isinstance(own, Quantity) else usual
    if mesh is None:
        return ""
    opening = opening_um(mesh)
    return f"{mesh} mesh ({opening} µm opening, ASTM E11)" if opening else f"{mesh} mesh"


# ---- handling and hazards ------------------------------------------------------------------------------


def hazards_of(used: Mapping[str, Material | None]) -> Hazards:
    """What is known of the materials of a test; None stands for one that the catalogue does not hold."""
    known = [material for material in used.values() if material]
    stated = {material.name: (material, material.statements) for material in known}
    codes = sorted({code for _, own in stated.values() for code in own})
    return Hazards(
        listed=tuple(
            Listed(
                material.name,
                hazard.statements,
                hazard.source,
                hazard.standing,
                hazard.basis,
                hazard.carried,
            )
            for material in known
            for hazard in material.hazards
            if hazard.statements
        ),
        texts=tuple(
            (
                code,
                _statement(code, stated) or "text not on record here; see the supplier's safety data sheet",
            )
            for code in codes
        ),
        silent=tuple(
            material.name for material in known if not (material.statements or material.hazards_unsaid)
        ),
        unknown=tuple(name for name, material in used.items() if material is None or material.hazards_unsaid),
        restricted=tuple((material.name, material.restricted) for material in known if material.restricted),
        notes=tuple((material.name, material.note) for material in known if material.note),
    )


def _statement(code: str, stated: Mapping[str, tuple[Material, tuple[str, ...]]]) -> str | None:
    return batch_text(
        code, {name: material.detail_of(code) for name, (material, own) in stated.items() if code in own}
    )


def _cautions_of_one(material: Material) -> tuple[str, ...]:
    return cautions_for(
        material.own_statements, material.soluble != "no", material.caustic, bool(material.carries)
    )


def cautions_of(
    used: Mapping[str, Material | None], catalogue: Catalogue, food: bool, fired: Iterable[str] = ()
) -> Iterable[Caution]:
    """The usual cautions for a test of these materials of a catalogue. ``food``: the recipe says that it is for food.
    ``fired``: what the page says of its atmosphere and its firing."""
    fired = tuple(fired)
    known = [material for material in used.values() if material]
    always = cautions_for((), soluble=False, caustic=False, fired=fired)
    by_material = {material.name: catalogue.told_of(material, _cautions_of_one) for material in known}
    every = cautions_for(
        (code for material in known for code in material.own_statements),
        soluble=any(material.soluble != "no" for material in known),
        caustic=any(material.caustic for material in known),
        quartz=any(material.carries for material in known),
        fired=fired,
    )
    for text in every:
        if text == KILN_CAUTION:
            for clash in clashes(used, catalogue):
                yield Caution(clash.text, clash.first + clash.second)
        if text in always:
            yield Caution(text, ())
        else:
            yield Caution(text, tuple(name for name, texts in by_material.items() if text in texts))
    # A sheet cannot know where the pot will end, whatever the recipe says of its use.
    yield Caution(FOOD_CAUTION, ())
    limited = tuple(material.name for material in known if material.restricted in ("lead", "cadmium"))
    if food or limited:
        # Imported here: few sheets look up a limit.
        from glost.recipe.safety.limits import leaching_caution

        yield Caution(leaching_caution(), limited)
