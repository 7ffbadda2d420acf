"""Many cups for programs: JSON as schema/session.schema.json has it, and a table for a spreadsheet."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from glost.language.csv_cells import guarded, record_of
from glost.language.exact_json import written
from glost.output.batch.figures import to_places
from glost.output.session.session import BenchSession, Jar, Numbered
from glost.recipe.blends import Point
from glost.weighing.batch import Weighing
from glost.weighing.rounding import to_decimal
from glost.weighing.session import Pour, SharedBase
from glost.weighing.vessels import Fill, Vessel

VERSION: Final = 1
_COLUMNS: Final = (
    "order",
    "material",
    "cup",
    "test",
    "file",
    "target_g",
    "running_total_g",
    "balance",
    "division_g",
    "within",
    "toxic",
    "colouring",
    "sets",
    "vessel",
    "portion",
    "portions",
)


def as_csv(made: BenchSession) -> str:
    """A row for everything that is weighed, jar by jar. Line ends are CR LF."""
    rows = [record_of(_COLUMNS)]
    files = {cup.number: cup.file for cup in made.cups}
    order = 0
    for jar in made.jars:
        for pour in jar.opening.pours:
            order += 1
            number = made.number_of(pour.label)
            rows.append(
                record_of(
                    (
                        f"{order}",
                        guarded(jar.opening.material),
                        f"{number}",
                        guarded(pour.label),
                        guarded(files[number]),
                        f"{pour.target_g:f}",
                        _cell(_then(made, pour)),
                        guarded(pour.balance.name) if pour.balance else "",
                        f"{pour.division_g:f}",
                        _yes(pour.within),
                        _yes(jar.toxic),
                        _yes(jar.opening.colouring),
                        guarded(made.cup_of(pour.label).sets),
                        f"{pour.vessel}" if pour.vessel else "",
                        f"{pour.number}",
                        f"{pour.of}",
                    )
                )
            )
    return "".join(rows)


def _then(made: BenchSession, pour: Pour) -> Decimal | None:
    """What the vessel holds then, or the cup of its own that it is weighed in; None where nothing carries it."""
    if pour.vessel:
        return pour.running_total_g
    return pour.target_g if made.cup_of(pour.label).vessels else None


def _cell(mass: Decimal | None) -> str:
    return "" if mass is None else f"{mass:f}"


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"


def as_json(made: BenchSession) -> str:
    return written(data(made)) + "\n"


def data(made: BenchSession) -> dict[str, Any]:
    """The whole as the schema has it."""
    hazards = made.hazards
    return {
        "version": VERSION,
        "findings": [{"file": file, **error.data} for file, error in made.attention],
        "margin_percent": to_places(Fraction(made.margin) * 100, 6),
        "tolerance_percent": to_places(Fraction(made.tolerance) * 100, 6),
        "set_out": {
            "cups": len(made.cups),
            "largest_g": made.largest_g,
            "balances": [
                {
                    "name": one.name,
                    "capacity_g": one.capacity_g,
                    "division_g": one.readability_g,
                    "cup_g": one.cup_g,
                }
                for one in made.balances
            ],
            "balances_assumed": made.assumed,
            "sieves": [{"sieve": sieve or None, "cups": list(those)} for sieve, those in made.sieves],
            "water_g": made.water_g,
            "water_open": list(made.open_water),
            "over_capacity": list(made.crowded),
        },
        "pull": [
            {
                "material": jar.pull.material,
                "total_g": jar.pull.total_g,
                "with_margin_g": jar.pull.with_margin_g,
                "cups": jar.pull.cups,
                "on_hand_g": (made.on_hand or {}).get(jar.pull.material),
                "short": jar in made.short,
            }
            for jar in made.jars
        ],
        "cups": [_cup(cup) for cup in made.cups],
        "jars": [_jar(made, jar) for jar in made.jars],
        "shared_bases": [_shared(made, base) for base in (*made.shared, *made.costly)],
        "cautions": [{"text": one.text, "materials": list(one.materials)} for one in made.cautions],
        "handling": [
            {"materials": list(note.names), "text": note.text, "recipe": recipe or None, "house": note.house}
            for note, recipe in made.handling
        ],
        "hazards": {
            "listed": [
                {
                    "material": one.material,
                    "codes": list(one.codes),
                    "basis": one.basis,
                    "source": one.cited,
                    "carried": one.carried or None,
                }
                for one in hazards.listed
            ],
            "texts": [{"code": code, "text": said} for code, said in hazards.texts],
            "silent": list(hazards.silent),
            "unknown": list(hazards.unknown),
            "restricted": [{"material": name, "what": what} for name, what in hazards.restricted],
            "notes": [{"material": name, "text": text} for name, text in hazards.notes],
        },
    }


def _cup(cup: Numbered) -> dict[str, Any]:
    plan = cup.planned.plan
    return {
        "number": cup.number,
        "name": cup.name,
        "file": cup.file,
        "recipe": cup.test.recipe.name,
        "label": cup.test.label,
        "sets": cup.sets,
        **point_data(cup.test.point),
        "same_mix_as": cup.twin or None,
        "base_mass_g": plan.base_mass_g,
        "base_target_g": plan.base_target_g,
        "total_target_g": plan.total_target_g,
        "water_g": cup.planned.water_g,
        "carried": plan.carried,
        "vessels": [vessel_data(one) for one in plan.vessels],
        "lines": [_line(line) for line in plan.lines if line.exact_g],
    }


def _line(line: Weighing) -> dict[str, Any]:
    return {
        "material": line.material,
        "base": line.base,
        "target_g": line.target_g,
        "running_total_g": line.running_total_g,
        "balance": line.balance.name if line.balance else None,
        "division_g": line.division_g,
        "within": line.within,
        "apart": line.apart,
        "weighings": [weighing_data(one, one.running_g) for one in line.fills],
    }


def point_data(point: Point | None) -> dict[str, Any]:
    """Of the point of a blend its number on the board and its shares in per cent; of any other test nothing."""
    if point is None:
        return {}
    return {"point": {"number": point.number, "shares": [to_decimal(share * 100) for share in point.shares]}}


def vessel_data(vessel: Vessel) -> dict[str, Any]:
    """One vessel, as both schemas have it."""
    return {
        "number": vessel.number,
        "balance": vessel.balance.name if vessel.balance else None,
        "total_g": vessel.total_g,
    }


def weighing_data(one: Fill, display: Decimal | None) -> dict[str, Any]:
    """One portion of a line, as both schemas have it. display: what the display shows when it is in."""
    return {
        "portion": one.number,
        "of": one.of,
        "target_g": one.target_g,
        "vessel": one.vessel or None,
        "display_g": display,
        "running_total_g": one.running_g,
    }


def _jar(made: BenchSession, jar: Jar) -> dict[str, Any]:
    return {
        "material": jar.opening.material,
        "also_written": list(jar.also),
        "toxic": jar.toxic,
        "colouring": jar.opening.colouring,
        "in_catalogue": jar.known,
        "total_g": jar.opening.total_g,
        "pours": [
            {
                "cup": made.number_of(pour.label),
                "target_g": pour.target_g,
                "vessel": pour.vessel or None,
                "portion": pour.number,
                "of": pour.of,
                "running_total_g": _then(made, pour),
                "balance": pour.balance.name if pour.balance else None,
                "division_g": pour.division_g,
                "within": pour.within,
            }
            for pour in jar.opening.pours
        ],
    }


def _shared(made: BenchSession, base: SharedBase) -> dict[str, Any]:
    return {
        "mix_g": base.mix.total_target_g,
        "needed_g": base.needed_g,
        "weighings_saved": base.weighings_saved,
        "vessels": [vessel_data(one) for one in base.mix.vessels],
        "lines": [_line(line) for line in base.mix.lines],
        "portions": [
            {
                "cup": made.number_of(one.label),
                "mass_g": one.mass_g,
                "balance": one.balance.name if one.balance else None,
                "error_percent": to_places(Fraction(one.error) * 100, 6),
            }
            for one in base.portions
        ],
    }
