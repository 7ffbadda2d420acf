"""A match for a program: versioned JSON, described by schema/match.schema.json. Amounts are exact; mol are rounded to
six decimals and percentages to four."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from glost.chemistry.additive import Estimate
from glost.chemistry.matching import WITHIN
from glost.chemistry.substitution import Difference, Line, Matched, Swap
from glost.language.exact_json import written

VERSION = 2


def as_json(matched: Matched, file: str, out: str | None) -> str:
    """``file`` is the old recipe's, ``out`` the one that was written, as they are shown."""
    target = matched.target.test
    return (
        written(
            {
                "version": VERSION,
                "file": file,
                "recipe": target.recipe.name,
                "test": target.label,
                "kind": target.recipe.kind,
                "without": list(matched.without),
                "taken_as_1": matched.basis,
                "within": WITHIN,
                "reached": not matched.missed,
                "possible": matched.possible,
                "base": [_line(line) for line in matched.base],
                "additions": [_line(line) for line in matched.additions],
                "oxides": [_difference(one) for one in matched.oxides],
                "loss_on_ignition": {
                    "wanted": _rounded(matched.target.loss, 4),
                    "reached": _rounded(matched.fired.loss, 4),
                },
                "left_out": list(matched.left_out),
                "remarks": list(matched.remarks),
                "alkalis_together": list(matched.alkalis),
                "made_up": list(dict.fromkeys((*matched.target.invented, *matched.fired.invented))),
                "expansion": _expansion(matched.expansion),
                "swap": _swap(matched.swap),
                "out": out,
            }
        )
        + "\n"
    )


def _expansion(both: tuple[Estimate, Estimate] | None) -> dict[str, Any] | None:
    if both is None:
        return None
    sides = {
        side: {name: _rounded(Decimal(getattr(one, name)), 1) for name in ("value", "low", "high")}
        for side, one in zip(("wanted", "reached"), both, strict=True)
    }
    return {**sides, "unit": both[0].unit, "model": both[0].model}


def _swap(swap: Swap | None) -> dict[str, Any] | None:
    if swap is None:
        return None
    return {
        "without": swap.gone,
        "material": swap.material,
        "base": [_line(line) for line in swap.base],
        "oxides": [_difference(one) for one in swap.oxides],
        "expansion": _expansion(swap.expansion),
    }


def _line(line: Line) -> dict[str, Any]:
    before = None if line.before is None else _rounded(line.before, 4)
    return {
        "material": line.material,
        "parts": line.parts,
        "before": before,
        "kept": line.kept,
        "note": line.note,
    }


def _difference(one: Difference) -> dict[str, Any]:
    return {
        "oxide": one.oxide,
        "wanted": _rounded(one.wanted, 6),
        "reached": _rounded(one.reached, 6),
        "difference": _rounded(one.off, 6),
        "wanted_percent": _rounded(one.wanted_percent, 4),
        "reached_percent": _rounded(one.reached_percent, 4),
        "difference_percent": _rounded(one.off_percent, 4),
        "within": one.within,
        "why": one.why,
    }


def _rounded(value: Decimal, decimals: int) -> Decimal:
    rounded = value.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
    return rounded if rounded else abs(rounded)
