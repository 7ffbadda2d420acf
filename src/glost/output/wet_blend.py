"""The plan of a blend that is poured: what to mix of each corner, and how many millilitres go into each cup."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from shlex import quote
from typing import Final

from glost.errors import ValueRefusedError
from glost.output.escape import visible
from glost.recipe.blends import CORNERS, Point
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Test, sets_said
from glost.recipe.settings import Settings
from glost.recipe.water import ASSUMED_GRAVITY, Powder, mixed_with, powder_of
from glost.weighing.rounding import round_to
from glost.weighing.wet_blend import Slip, rounded, shares_of, volumes

STEP_ML: Final = Decimal("0.5")
"""What a syringe or a small cylinder is read to (common practice)."""
MARGIN: Final = Fraction(1, 10)
"""How much more of a corner is mixed than is poured: what stays in bucket, sieve and syringe (common practice)."""


@dataclass(frozen=True, slots=True)
class Bucket:
    """The slip of one corner. ``by``: where its gravity comes from. poured_ml: what all cups take together; mixed_ml:
    with the margin; dry_g, base_g and water_g: of what is mixed. assumed: materials whose density is not on record;
    dissolving: those for which the relation does not hold."""

    letter: str
    test: Test
    slip: Slip
    by: str
    poured_ml: Fraction
    mixed_ml: Fraction
    assumed: tuple[str, ...]
    dissolving: tuple[str, ...]

    @property
    def dry_g(self) -> Fraction:
        return self.mixed_ml * self.slip.dry_g_per_ml

    @property
    def base_g(self) -> Fraction:
        return self.dry_g * self.test.base_exact / self.slip.parts

    @property
    def water_g(self) -> Fraction:
        return self.mixed_ml * self.slip.water_g_per_ml


@dataclass(frozen=True, slots=True)
class Cup:
    """One cup: its volumes exactly and rounded, the shares that the rounded ones give, and those of equal volumes."""

    point: Point
    exact_ml: tuple[Fraction, ...]
    poured_ml: tuple[Decimal, ...]
    given: tuple[Fraction, ...]
    by_equal_volumes: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class WetBlend:
    """The plan of all cups of ``ml`` millilitres. ``tests``: those of the cups."""

    name: str
    file: str
    ml: Decimal
    buckets: tuple[Bucket, ...]
    cups: tuple[Cup, ...]
    tests: tuple[Test, ...]


def wet_blend(
    every: Sequence[Test],
    wanted: Sequence[Test],
    ml: Decimal,
    gravities: Sequence[Decimal],
    settings: Settings,
    catalogue: Catalogue,
    file: str,
) -> WetBlend:
    """``every`` point of one blend, those ``wanted``, and the gravity of each corner's slip where they were measured.
    Raises ValueError in a potter's words: for a gravity that cannot be, and where none is known."""
    corners = sorted(
        (test for test in every if test.point is not None and test.point.corner is not None), key=_column
    )
    if gravities and len(gravities) not in (1, len(corners)):
        raise ValueRefusedError(
            f"{len(gravities)} gravities are given, and the blend has {len(corners)} corners",
            "write one for all, or one for each in the order of the columns",
        )
    measured = list(gravities) * len(corners) if len(gravities) == 1 else list(gravities)
    slips: list[tuple[Slip, str, Powder]] = []
    for at, test in enumerate(corners):
        slip, by, powder = _slip(test, measured[at] if measured else None, settings, catalogue)
        if slip.parts and slip.dry_g_per_ml:
            slips.append((slip, by, powder))
        else:
            raise ValueRefusedError(
                f"corner {CORNERS[at]} of '{test.block_name}' is empty", "give it materials to make a slip of"
            )
    only = [slip for slip, _, _ in slips]
    cups = tuple(_cup(test.point, ml, only) for test in wanted if test.point is not None)
    buckets = []
    for at, (test, (slip, by, powder)) in enumerate(zip(corners, slips, strict=True)):
        poured = sum((Fraction(cup.poured_ml[at]) for cup in cups), Fraction(0))
        buckets.append(
            Bucket(
                CORNERS[at],
                test,
                slip,
                by,
                poured,
                poured * (1 + MARGIN),
                powder.assumed,
                powder.dissolving,
            )
        )
    return WetBlend(
        f"{corners[0].recipe.name}, {corners[0].block_name}", file, ml, tuple(buckets), cups, tuple(wanted)
    )


def _column(test: Test) -> int:
    assert test.point is not None
    return test.point.corner or 0


def _cup(point: Point, ml: Decimal, slips: Sequence[Slip]) -> Cup:
    exact = volumes(point.shares, ml, slips)
    poured = rounded(exact, STEP_ML)
    equal = shares_of([share * Fraction(ml) for share in point.shares], slips)
    return Cup(point, exact, poured, shares_of(poured, slips), equal)


def _slip(
    test: Test, measured: Decimal | None, settings: Settings, catalogue: Catalogue
) -> tuple[Slip, str, Powder]:
    """The slip of a corner, and where its gravity comes from."""
    parts = test.base_exact + test.added_exact
    if measured is not None:
        powder = powder_of(test, catalogue)
        return Slip(measured, powder.gravity, parts), "measured", powder
    mixed = mixed_with(test, settings, catalogue)
    if mixed is None:
        raise ValueRefusedError(
            "nothing says how dense the slips are, so that volumes cannot be worked out",
            'weigh 100 ml of each and write such as  --gravity "1.45, 1.50"  (145 g are 1.45), or write  gravity:  or'
            "  water:  into the page",
        )
    said = mixed.said
    if mixed.by_gravity:
        by = f'that of "{said.of}"' if said.of else "as the page has it"
    else:
        by = f"calculated, water {said.value:f} %" + (f' as "{said.of}" has it' if said.of else "")
    return Slip(mixed.gravity, mixed.powder.gravity, parts), by, mixed.powder


# ---- as text -------------------------------------------------------------------------------------------


def as_text(made: WetBlend) -> str:
    """The plan for the bench."""
    return "\n".join(_lines(made)) + "\n"


def _lines(made: WetBlend) -> Iterable[str]:
    yield visible(poured_as(made))
    yield f"  {visible(made.file)}"
    yield ""
    yield "Mix these first (10 % more than is poured), and sieve them"
    for bucket in made.buckets:
        if not bucket.poured_ml:
            yield f"  {bucket.letter}  {visible(sets_said(bucket.test))}: no cup takes any of it"
            continue
        yield f"  {bucket.letter}  {visible(sets_said(bucket.test))}"
        yield (
            f"     {_to(bucket.mixed_ml, '0.1')} ml: {_to(bucket.dry_g, '0.1')} g dry, of that"
            f" {_to(bucket.base_g, '0.1')} g base; {_to(bucket.water_g, '0.1')} g water"
        )
        yield (
            f"     gravity {_to(Fraction(bucket.slip.gravity), '0.001')} ({bucket.by}); dry material"
            f" {_to(Fraction(bucket.slip.dry_gravity), '0.01')}, {_to(bucket.slip.dry_g_per_ml, '0.001')} g dry in 1 ml"
        )
        assert bucket.test.point is not None
        yield (
            f"     weigh it as point {bucket.test.point.number}: glost batch {quote(made.file)} --points"
            f' {bucket.test.point.number} --batch "{_to(bucket.base_g, "0.1")} g"'
        )
    yield ""
    letters = "".join(f"{bucket.letter + ' ml':>8}" for bucket in made.buckets)
    wide = max(len(cup.point.label) for cup in made.cups)
    given = max(len(_shares(cup.given)) for cup in made.cups)
    yield f"Pour, to {STEP_ML} ml; stir each bucket before every pour"
    yield f"   no  {'shares':<{wide}}{letters}   {'which gives':<{max(given, 11)}}   equal volumes would give"
    for cup in made.cups:
        poured = "".join(f"{one:>8}" for one in cup.poured_ml)
        same = cup.point.corner is not None
        yield (
            f"[ ] {cup.point.number:<3}{cup.point.label:<{wide}}{poured}   {_shares(cup.given):<{max(given, 11)}}   "
            f"{'the same' if same else _shares(cup.by_equal_volumes)}"
        ).rstrip()
    yield ""
    yield from remarks(made)


def poured_as(made: WetBlend) -> str:
    """What is planned, in one line."""
    count = len(made.cups)
    return f"{made.name}: {count} cup{'' if count == 1 else 's'} of {made.ml:f} ml, poured by volume"


def remarks(made: WetBlend) -> Iterable[str]:
    """What is to be known of these figures."""
    if any(bucket.by.startswith("calculated") for bucket in made.buckets):
        yield (
            "A calculated gravity is a guess: weigh 100 ml of each slip and give what it says with --gravity"
            ' "1.45, 1.50".'
        )
    assumed = dict.fromkeys(name for bucket in made.buckets for name in bucket.assumed)
    if assumed:
        yield f"Density not on record, taken as {ASSUMED_GRAVITY}: {', '.join(assumed)}."
    dissolving = dict.fromkeys(name for bucket in made.buckets for name in bucket.dissolving)
    if dissolving:
        yield f"The volumes do not hold for what dissolves in the water: {', '.join(dissolving)}."
    numbers = ", ".join(
        str(bucket.test.point.number) for bucket in made.buckets if bucket.test.point is not None
    )
    yield (
        f"Handling notes and cautions stand on the sheets of the corners: glost convert {quote(made.file)} --to sheet"
        f' --points "{numbers}". Read them first; local codes and the supplier\'s safety data sheet come before them.'
    )


def _shares(shares: Sequence[Fraction]) -> str:
    return "/".join(f"{round_to(share * 100, Decimal('0.1')):f}" for share in shares)


def _to(value: Fraction, division: str) -> str:
    return f"{round_to(value, Decimal(division)):f}"
