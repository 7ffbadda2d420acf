"""What is said of many cups in every form alike, in sentences and short cells. Texts are as the recipes have them:
whoever shows them makes them fit for the place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from glost.output.batch.figures import percent, poured, to_places
from glost.output.batch_sheet import WATER_HINT
from glost.output.session.session import UNKNOWN, BenchSession, Jar, Numbered, numbers
from glost.weighing.balance import ASSUMED_BALANCE
from glost.weighing.batch import Weighing
from glost.weighing.rounding import significant
from glost.weighing.session import SharedBase
from glost.weighing.units import show_mass
from glost.weighing.vessels import Fill
from glost.weighing.weighable import MOST_PORTIONS

JARS = "Jar by jar"
JARS_SAID = (
    "Each jar is opened once and goes round the cups; what colours strongly or is toxic comes last. Set the cup on the"
    " balance, tare, add. 'Then' is what the cup, or its vessel of that number, holds after it, in this order; what is"
    " weighed apart goes into a cup of its own and is tipped in at the end."
)
ERRORS_FIRST = (
    "The pages of these recipes have errors: fix them before anything is weighed (glost lint says how)."
)
CUPS = "Cup by cup"
CUPS_SAID = "The other order: one cup after the other, as on the batch sheets."
SHARED_SAID = (
    "Mix each of these once, blend it well, and weigh the portions out of it; only the additions are then weighed cup"
    " by cup. The list of what to fetch is for cups weighed one by one: a base mixed once takes what stands here."
)
NOT_NAMED = "not named by the recipe"


def title(made: BenchSession) -> str:
    each = "base by its recipe" if made.batch_g is None else f"base {to_places(made.batch_g, 4):f} g each"
    return f"{count(len(made.cups), 'test')} to weigh, {each}"


def errors(made: BenchSession) -> Iterator[str]:
    """The errors on the pages, to stand above all else."""
    if made.attention:
        yield ERRORS_FIRST
    for file, error in made.attention:
        yield f"{file}, {error.text}"


def on_top(made: BenchSession) -> Iterator[str]:
    """Additions whose material is in the base of their cup as well."""
    for cup in made.cups:
        for line in cup.sheet.additions:
            if line.on_top:
                yield f"Cup {cup.number}: {line.name} {line.on_top}."


def set_out(made: BenchSession) -> Iterator[tuple[str, str]]:
    """What to put on the bench: a word and what it says."""
    yield (
        "cups",
        f"{len(made.cups)}, numbered; the fullest holds {made.largest_g:f} g dry"
        + (f"; their balance does not carry {cups(made.crowded)} at once" if made.crowded else ""),
    )
    for cup in made.cups:
        if cup.vessels != 1:
            yield "", vessels_said(cup)
    for balance in made.balances:
        empty = f", cup {show_mass(balance.cup_g)}" if balance.cup_g is not None else ""
        yield (
            "balance",
            f"{balance.name}: carries {show_mass(balance.capacity_g)}, reads {show_mass(balance.readability_g)}{empty}",
        )
    if made.assumed:
        said = (
            "none is listed in glost.yaml, so that one is assumed that carries "
            f"{show_mass(ASSUMED_BALANCE.capacity_g)} and reads {show_mass(ASSUMED_BALANCE.readability_g)}"
        )
        yield "", said
    for sieve, those in made.sieves:
        yield "sieve", f"{sieve or NOT_NAMED}: {all_or(made, those)}"
    if made.water_g is not None:
        yield "water", f"{poured(made.water_g)} g in all, shared out below"
        by = tuple(cup.number for cup in made.cups if cup.sheet.gravity and cup.planned.water_g is not None)
        if by:
            yield "", f"calculated from the gravity of the page: {all_or(made, by)}"
    if made.open_water:
        yield (
            "water" if made.water_g is None else "",
            f"left open: {all_or(made, made.open_water)} ({WATER_HINT})",
        )


def twins(made: BenchSession) -> Iterator[str]:
    """Cups that hold the same mix as an earlier one."""
    for cup in made.cups:
        if cup.twin:
            yield f"Cup {cup.number} is the same mix as cup {cup.twin}: one of them will do."


def outside(made: BenchSession) -> Iterator[str]:
    """Lines that no balance here weighs within tolerance."""
    for cup in made.cups:
        if found := made.outside(cup):
            yield (
                f"Cup {cup.number}: {', '.join(found)} cannot be weighed to {percent(made.tolerance)} % here; glost"
                " batch says what helps."
            )


def vessels_said(cup: Numbered) -> str:
    """Into how many vessels a cup goes that its balance does not carry at once."""
    plan = cup.planned.plan
    if not cup.vessels:
        return f"cup {cup.number} cannot be weighed: no balance here carries it, not even in {MOST_PORTIONS} vessels"
    shares = ", ".join(f"{one.total_g:f} g" for one in plan.vessels)
    on = f" on '{plan.main.name}'" if plan.main else ""
    return f"cup {cup.number} is {cup.vessels} vessels{on}, of {shares}, tipped together in the end"


def into(made: BenchSession, label: str, vessel: int, number: int, of: int) -> str:
    """Where a weighing goes, as short as it can be: "", "vessel 2", "apart", "portion 1 of 2, vessel 1"."""
    said = [f"portion {number} of {of}"] if of > 1 else []
    cup = made.cup_of(label)
    if not vessel:
        said.append("apart, tip in" if cup.vessels else "not carried")
    elif cup.vessels > 1:
        said.append(f"vessel {vessel}")
    return ", ".join(said)


def pours_of(lines: Iterable[Weighing]) -> Iterator[tuple[Weighing, Fill, str]]:
    """Every weighing of a list, with where it goes in words: "" where there is one vessel alone."""
    lines = list(lines)
    several = len({one.vessel for line in lines for one in line.fills if one.vessel}) > 1
    for line in lines:
        for one in line.fills:
            said = [f"portion {one.number} of {one.of}"] if one.of > 1 else []
            if not one.vessel:
                said.append("apart, tip in" if one.running_g is not None else "not carried")
            elif several:
                said.append(f"vessel {one.vessel}")
            yield line, one, ", ".join(said)


def running(one: Fill) -> str:
    """What the vessel holds then; "" for what stands in none."""
    return f"{one.running_g:f}" if one.vessel and one.running_g is not None else ""


def jar_said(jar: Jar) -> str:
    """What stands behind the name of a jar."""
    said = list(jar.why_last)
    if UNKNOWN in said:
        said[said.index(UNKNOWN)] = f"{UNKNOWN}: nothing is known here of its hazards"
    if jar.also:
        said.append(f"also written {', '.join(jar.also)}")
    return "; ".join(said)


def shared_said(made: BenchSession, base: SharedBase) -> str:
    """One sentence on a base that is mixed once."""
    those = [made.number_of(portion.label) for portion in base.portions]
    named = cups(those)
    return (
        f"{named[:1].upper()}{named[1:]}: mix {base.mix.total_target_g:f} g, of which {base.needed_g:f} g are needed;"
        f" {count(base.weighings_saved, 'weighing')} fewer."
    )


def divide(made: BenchSession, base: SharedBase) -> str:
    """What each cup gets of a base that is mixed once; cups that get the same are named together."""
    by_mass: dict[str, list[int]] = {}
    for portion in base.portions:
        by_mass.setdefault(f"{portion.mass_g:f} g", []).append(made.number_of(portion.label))
    return "; ".join(
        f"{mass} into {'each of ' if len(those) > 1 else ''}{cups(those)}" for mass, those in by_mass.items()
    )


def water_of(cup: Numbered) -> str:
    return "open" if cup.planned.water_g is None else f"{poured(cup.planned.water_g)} g"


def all_or(made: BenchSession, those: tuple[int, ...]) -> str:
    return "all cups" if len(those) == len(made.cups) else cups(those)


def cups(those: tuple[int, ...] | list[int]) -> str:
    return f"cup{'s' if len(those) != 1 else ''} {numbers(those)}"


def count(number: int, what: str) -> str:
    return f"{number} {what}{'s' if number != 1 else ''}"


def margin(made: BenchSession) -> str:
    return f"{significant(made.margin * 100, 3):f}"


def on_hand(made: BenchSession, jar: Jar) -> str:
    """What the stock has of a jar; "" where the collection counts nothing."""
    if made.on_hand is None:
        return ""
    held = made.on_hand.get(jar.pull.material)
    return "not counted" if held is None else f"{held:f} g"


def short(made: BenchSession) -> Iterator[str]:
    """What there is too little of, by the last count and what came and went since."""
    for jar in made.short:
        held = (made.on_hand or {})[jar.pull.material]
        told = "none is left" if held <= 0 else f"only {held:f} g are on hand"
        enough = (
            ", enough for the sum and not for what is fetched beyond it" if held >= jar.pull.total_g else ""
        )
        yield f"{jar.pull.material} is short: {told}, and {jar.pull.with_margin_g:f} g are to be fetched{enough}"
