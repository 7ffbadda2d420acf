"""Plans for programs: JSON as schema/batch.schema.json has it, and a table for a spreadsheet.

Masses are exact decimals, to 28 figures where they do not end; percentages and uncertainties have six decimals.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from glost.language.csv_cells import guarded, record_of
from glost.language.exact_json import written
from glost.output.batch.amount import Amount, BaseMass, SlipMass, SlipVolume, TotalMass
from glost.output.batch.figures import to_places
from glost.output.batch.plan import WORDS, BenchLine, BenchPlan, Help, remarks, settled, tarings
from glost.output.session.data import point_data, vessel_data, weighing_data
from glost.weighing.balance import Balance
from glost.weighing.premix import NoPremix, Premix
from glost.weighing.rounding import Mass, to_decimal
from glost.weighing.ways import Way
from glost.weighing.weighable import Flaw

VERSION: Final = 1
_FLAWS: Final = {
    Flaw.CARRIED: "not carried",
    Flaw.NOTHING: "reads nothing",
    Flaw.MINIMUM: "below minimum",
    Flaw.ROUNDING: "rounding",
    Flaw.UNSURE: "unsure",
}
_COLUMNS: Final = (
    "file",
    "recipe",
    "test",
    "base_mass_g",
    "way",
    "part",
    "material",
    "as_written",
    "parts",
    "exact_g",
    "balance",
    "division_g",
    "target_g",
    "display_g",
    "running_total_g",
    "rounding_error_percent",
    "standard_uncertainty_g",
    "relative_uncertainty_percent",
    "within",
    "smallest_batch_g",
    "note",
    "sets",
    "vessel",
    "portion",
    "portions",
)


def as_json(plans: Iterable[BenchPlan]) -> str:
    return written({"version": VERSION, "tests": [data(made) for made in plans]}) + "\n"


def as_csv(plans: Iterable[BenchPlan]) -> str:
    """A row a line, or a portion of one, in the way that is taken. Line ends are CR LF."""
    return record_of(_COLUMNS) + "".join(record_of(row) for made in plans for row in _rows(made))


def _rows(made: BenchPlan) -> Iterable[list[str]]:
    for line in made.lines:
        one = _line(line)
        one |= {
            "file": made.file,
            "recipe": made.test.recipe.name,
            "test": made.test.label,
            "base_mass_g": made.amount.base_g,
            "way": WORDS[made.way.manner],
            "part": "base" if line.way.base else "addition",
            "sets": made.sheet.sets,
        }
        for fill in line.way.fills:
            share = (
                Fraction(fill.target_g) / Fraction(line.way.target_g) if line.way.target_g else Fraction(1)
            )
            one |= {
                "exact_g": to_decimal(line.way.exact_g * share),
                "target_g": fill.target_g,
                "display_g": line.way.display_of(fill),
                "running_total_g": fill.running_g,
                "vessel": Decimal(fill.vessel) if fill.vessel else None,
                "portion": Decimal(fill.number),
                "portions": Decimal(fill.of),
            }
            yield [_cell(one[column]) for column in _COLUMNS]


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    return f"{value:f}" if isinstance(value, Decimal) else guarded(str(value))


def data(made: BenchPlan) -> dict[str, Any]:
    """One test as the schema has it."""
    way = made.way
    return {
        "name": made.test.name,
        "file": made.file,
        "recipe": made.test.recipe.name,
        "label": made.test.label,
        "sets": made.sheet.sets,
        **point_data(made.test.point),
        "kind": made.test.recipe.kind,
        "asked": _asked(made.amount),
        "base_mass_g": made.amount.base_g,
        "total_mass_g": settled(way.total_g),
        "base_target_g": way.base_target_g,
        "total_target_g": way.total_target_g,
        "base_off_g": settled(way.base_off_g),
        "total_off_g": settled(way.total_off_g),
        "tolerance_percent": to_places(Fraction(made.tolerance) * 100, 6),
        "balances": [_balance(one) for one in made.balances],
        "balances_assumed": made.assumed,
        "within": way.within,
        "carried": way.carried,
        "vessels": [vessel_data(one) for one in way.vessels],
        "slip": _slip(made.amount),
        "way": WORDS[way.manner],
        "ways": [_way(one) for one in made.ways],
        "lines": [_line(line) for line in made.lines],
        "remarks": list(remarks(made)),
        "findings": [one.data for one in made.attention],
    }


def _asked(amount: Amount) -> dict[str, Any]:
    asked = amount.asked
    if isinstance(asked, SlipVolume):
        return {"as": "slip", "ml": asked.ml}
    word = {BaseMass: "base", TotalMass: "total", SlipMass: "slip"}
    if asked is None:
        return {"as": "usual", "g": amount.base_g}
    return {"as": word[type(asked)], "g": asked.grams}


def _balance(balance: Balance) -> dict[str, Any]:
    return {
        "name": balance.name,
        "capacity_g": balance.capacity_g,
        "division_g": balance.readability_g,
        "cup_g": balance.cup_g,
    }


def _slip(amount: Amount) -> dict[str, Any] | None:
    slip = amount.slip
    if slip is None:
        return None
    return {
        "volume_ml": slip.volume_ml,
        "mass_g": slip.mass_g,
        "dry_g": slip.dry_g,
        "water_g": slip.water_g,
        "water_percent": slip.water_percent,
        "gravity": slip.gravity,
        "gravity_measured": slip.measured,
        "dry_gravity": slip.dry_gravity,
        "gravity_assumed_for": list(slip.assumed),
        "dissolving": list(slip.dissolving),
        "gravity_by_water": slip.by_water,
    }


def _way(way: Way) -> dict[str, Any]:
    return {
        "way": WORDS[way.manner],
        "description": str(way.manner),
        "main_balance": way.main.name if way.main else None,
        "lines_outside": sum(not line.within for line in way.lines),
        "tarings": tarings(way),
        "total_target_g": way.total_target_g,
        "total_standard_uncertainty_g": _six(way.standard_g),
        "loaded_g": way.loaded_g,
        "capacity_g": way.main.capacity_g if way.main else None,
        "cup_counted": way.main is not None and way.main.cup_g is not None,
        "under_capacity": way.under_capacity,
        "vessels": len(way.vessels),
        "carried": way.carried,
    }


def _line(line: BenchLine) -> dict[str, Any]:
    one, helps = line.way, line.help
    return {
        "material": one.material,
        "as_written": line.part.name,
        "base": one.base,
        "note": one.note,
        "parts": one.parts,
        "exact_g": to_decimal(one.exact_g),
        "balance": one.balance.name if one.balance else None,
        "division_g": one.division_g,
        "target_g": one.target_g,
        "tared": one.tared,
        "display_g": one.display_g,
        "running_total_g": one.running_total_g,
        "portions": one.portions,
        "apart": one.apart,
        "weighings": [weighing_data(fill, one.display_of(fill)) for fill in one.fills],
        "rounding_error_percent": _percent(one.rounding),
        "standard_uncertainty_g": _six(one.standard_g),
        "relative_uncertainty_percent": _percent(one.relative),
        "weighed_parts": one.weighed_parts,
        "parts_off_percent": _percent(one.parts_off),
        "parts_uncertainty_percent": _percent(one.parts_uncertainty),
        "within": one.within,
        "why_not": _FLAWS[one.flaw] if one.flaw else None,
        "smallest_batch_g": helps.smallest_batch_g if helps else None,
        "finer_balance": _finer(helps) if helps else None,
        "premix": _premix(helps.premix) if helps and isinstance(helps.premix, Premix) else None,
        "no_premix": helps.premix.why if helps and isinstance(helps.premix, NoPremix) else None,
    }


def _finer(helps: Help) -> dict[str, Any] | None:
    if helps.finer is None:
        return None
    there = helps.finer.there
    return {"division_g": helps.finer.division_g, "balance": there.name if there else None}


def _premix(mix: Premix) -> dict[str, Any]:
    return {
        "carrier": mix.carrier,
        "one_in": mix.one_in,
        "small_g": mix.small_g,
        "with_g": mix.with_g,
        "mix_g": mix.mix_g,
        "take_g": mix.take_g,
        "left_over_g": mix.left_over_g,
        "brings_g": to_decimal(mix.brings_g),
        "brings_carrier_g": to_decimal(mix.brings_carrier_g),
        "balance": mix.balance.name if mix.balance else None,
        "division_g": mix.division_g,
        "carrier_target_g": mix.carrier_target_g,
        "carrier_less_g": mix.carrier_less_g,
        "carrier_division_g": mix.carrier_division_g,
        "error_percent": _percent(mix.error),
        "carrier_error_percent": _percent(mix.carrier_error),
        "uncertainty_percent": _percent(mix.uncertainty),
    }


def _six(value: Mass) -> Decimal:
    return to_places(value, 6)


def _percent(fraction: Mass) -> Decimal:
    return to_places(Fraction(fraction) * 100, 6)
