"""What is said of many cups in every form alike, in sentences and short cells. Texts are as the recipes have them:
whoever shows them makes them fit for the place."""

from __future__ import annotations

from collections.abc import Iterator

from glost.bench.cups import UNKNOWN, BenchSession, Jar, Numbered, numbers
from glost.bench.figures import percent, poured, significant, to_places
from glost.convert.batch_sheet import WATER_HINT
from glost.weighing.balance import ASSUMED_BALANCE
from glost.weighing.session import SharedBase
from glost.weighing.units import show_mass

JARS = "Jar by jar"
JARS_SAID = (
    "Each jar is opened once and goes round the cups; what colours strongly or is toxic comes last. Set the cup on the"
    " balance, tare, add. 'Then' is what the cup holds after it, in this order."
)
ERRORS_FIRST = (
    "The pages of these recipes have errors: fix them before anything is weighed (glost lint says how)."
)
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
        + (f"; no balance carries {cups(made.crowded)} at once" if made.crowded else ""),
    )
    for balance in made.balances:
        cup = f", cup {show_mass(balance.cup_g)}" if balance.cup_g is not None else ""
        yield (
            "balance",
            f"{balance.name}: carries {show_mass(balance.capacity_g)}, reads {show_mass(balance.readability_g)}{cup}",
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
