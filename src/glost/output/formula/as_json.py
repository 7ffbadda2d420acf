"""Accounts for programs: versioned JSON, described by schema/formula.schema.json.

Rounded to what a float carries without noise: the unity formula to six decimals, percentages and parts of a whole to
four. A test stands on one line.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from glost.chemistry.additive import Estimate
from glost.chemistry.unity import COLOURANTS, GROUPS, Unity
from glost.linter.json_text import json_text
from glost.output.formula.account import Account

VERSION = 1


def part(account: Account) -> str:
    """One test as JSON, on one line."""
    return json_text(data(account))


def whole(parts: Iterable[str]) -> str:
    """``{"version": 1, "tests": [...]}``."""
    rows = ",\n".join(parts)
    return (
        f'{{"version": {VERSION}, "tests": [\n{rows}\n]}}\n'
        if rows
        else f'{{"version": {VERSION}, "tests": []}}\n'
    )


def data(account: Account) -> dict[str, Any]:
    """One test as the schema has it."""
    fired = account.fired
    unity = fired.unity
    batch = fired.melt.oxides if fired.melt else {}
    equivalents = {term.oxide: round(float(term.equivalents), 6) for term in unity.terms} if unity else None
    return {
        "file": account.file,
        "name": account.test.name,
        "label": account.test.label,
        "kind": account.test.recipe.kind,
        "partial": fired.partial,
        "convention": _convention(account),
        "unity": equivalents,
        "groups": {
            group: {term.oxide: equivalents[term.oxide] for term in unity.group(group)} for group in GROUPS
        }
        if unity and equivalents
        else None,
        "silica_to_alumina": _ratio(unity),
        "boron": _six(unity.boron) if unity else None,
        "alkali": _six(unity.alkali) if unity else None,
        "fired_weight_percent": _four(account.fired_weight, account.oxides),
        "mol_percent": _four(account.fired_mol, account.oxides),
        "batch_weight_percent": _four(batch, account.oxides),
        "loss_on_ignition": _rounded(fired.loss),
        "unknown_percent": _rounded(fired.unknown_percent),
        "unknown": [
            {"name": one.name, "percent": _rounded(one.percent), "reason": one.reason}
            for one in fired.unknown
        ],
        "lines": _lines(account),
        "expansion": _estimate(account.expansion),
        "softening": _estimate(account.softening),
        "problems": list(fired.problems),
        "remarks": list(account.remarks),
    }


def _convention(account: Account) -> dict[str, Any]:
    choice = account.choice
    unity = account.fired.unity
    return {
        "on": choice.on,
        "counting_colourants": choice.counting_colourants,
        "counted": [term.oxide for term in unity.terms if term.counted] if unity else [],
        "not_counted": [
            term.oxide
            for term in (unity.terms if unity else ())
            if term.oxide in COLOURANTS and not term.counted
        ],
    }


def _ratio(unity: Unity | None) -> float | None:
    ratio = unity.silica_to_alumina if unity else None
    return None if ratio is None else _six(ratio)


def _lines(account: Account) -> list[dict[str, Any]]:
    """What each line brings, in floats from here on: four decimals are kept."""
    melt = account.fired.melt
    if melt is None:
        return []
    whole = float(melt.total_parts)
    out = []
    for line in melt.lines:
        amount = float(line.parts)
        share = amount / whole
        oxides = line.analysis.oxides if line.analysis else {}
        out.append(
            {
                "material": line.material,
                "parts": amount,
                "known": line.analysis is not None,
                "oxides": {oxide: round(share * float(percent), 4) for oxide, percent in oxides.items()},
            }
        )
    return out


def _estimate(estimate: Estimate | None) -> dict[str, Any] | None:
    if estimate is None:
        return None
    return {
        "value": round(estimate.value, 1),
        "low": round(estimate.low, 1),
        "high": round(estimate.high, 1),
        "model": estimate.model,
        "unit": estimate.unit,
        "outside": list(estimate.outside),
        "note": estimate.note,
    }


def _four(figures: Mapping[str, Decimal], order: Sequence[str]) -> dict[str, float]:
    return {oxide: round(float(figures[oxide]), 4) for oxide in order}


def _rounded(figure: Decimal) -> float:
    return round(float(figure), 4)


def _six(figure: Decimal) -> float:
    return round(float(figure), 6)
