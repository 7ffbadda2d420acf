"""Accounts for programs: versioned JSON, described by schema/formula.schema.json.

Rounded to what a float carries without noise: the unity formula to six decimals, percentages and parts of a whole to
four. A test stands on one line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

from glost.chemistry.additive import Estimate
from glost.chemistry.analysis import Analysis
from glost.chemistry.body_fit import CAUTION, SAID, BodyFit
from glost.chemistry.ranges import Ends, Range
from glost.chemistry.unity import COLOURANTS, GROUPS, Unity
from glost.linter.json_text import json_list, json_text
from glost.output.formula.account import Account
from glost.output.formula.granted import granted
from glost.output.origin import revision_data

VERSION = 3


def part(account: Account) -> str:
    """One test as JSON, on one line."""
    return json_text(data(account))


def whole(parts: Iterable[str]) -> Iterator[str]:
    """``{"version": 3, "tests": [...]}``."""
    return json_list(f'{{"version": {VERSION}, "tests": ', parts, "}\n")


def data(account: Account) -> dict[str, Any]:
    """One test as the schema has it."""
    fired = account.fired
    unity = fired.unity
    near = _Near(account)
    equivalents = near.unity()
    return {
        "file": account.file,
        "collection": account.collection,
        "revision": revision_data(account.revision),
        "recipe": account.test.recipe.name,
        "test": account.test.label,
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
        "boron": None if equivalents is None else equivalents.get("B2O3", 0.0),
        "alkali": _six(unity.alkali) if unity else None,
        "fired_weight_percent": near.weight_percent(),
        "mol_percent": near.mol_percent(),
        "batch_weight_percent": near.batch_percent(),
        "loss_on_ignition": _rounded(fired.loss),
        "unknown_percent": _rounded(fired.unknown_percent),
        "unknown": [
            {"name": one.name, "percent": _rounded(one.percent), "reason": one.reason}
            for one in fired.unknown
        ],
        "lines": _lines(account),
        "expansion": _estimate(account.expansion),
        "softening": _estimate(account.softening),
        "body_fit": _body_fit(account.fit),
        "problems": list(fired.problems),
        "remarks": list(account.remarks),
        "taken_for_granted": _granted(account),
        "ranges": _ranges(account),
    }


class _Near:
    """The tables of a test, in the order of print, calculated in float: see ``rounded``."""

    def __init__(self, account: Account) -> None:
        self._account = account
        melt, order = account.fired.melt, account.oxides
        self._grams = {oxide: float(melt.oxides[oxide]) for oxide in order} if melt else {}
        self._mol = {oxide: float(melt.moles[oxide]) for oxide in order} if melt else {}

    def unity(self) -> dict[str, float] | None:
        unity = self._account.fired.unity
        if unity is None:
            return None
        one = sum([self._mol[term.oxide] for term in unity.terms if term.counted])
        return rounded(self._mol, 1 / one, 6, unity.as_mapping)

    def weight_percent(self) -> dict[str, float]:
        return self._percent(self._grams, lambda: self._account.fired_weight)

    def mol_percent(self) -> dict[str, float]:
        return self._percent(self._mol, lambda: self._account.fired_mol)

    def batch_percent(self) -> dict[str, float]:
        return rounded(self._grams, 1.0, 4)

    def _percent(
        self, amounts: Mapping[str, float], exact: Callable[[], Mapping[str, Decimal]]
    ) -> dict[str, float]:
        return rounded(amounts, 100 / sum(amounts.values()), 4, exact) if amounts else {}


_TOO_LONG: Final = 1e9
_HALF: Final = 0.4999


def rounded(
    near: Mapping[str, float],
    times: float,
    decimals: int,
    exact: Callable[[], Mapping[str, Decimal]] | None = None,
) -> dict[str, float]:
    """So many times each of some figures, none of them below 0, to so many decimals: what round() makes of these, or of
    the ``exact`` ones, which are asked for where a float lies too near to a half, or is too long, to tell. That takes a
    fifth of the time of exact figures, of which a test has a hundred."""
    scale: int = 10**decimals
    scaled = times * scale
    found = {}
    for name, figure in near.items():
        shifted = figure * scaled
        whole = int(shifted + 0.5)
        if not -_HALF < shifted - whole < _HALF or whole > _TOO_LONG:
            sure = exact() if exact else {name: figure * times for name, figure in near.items()}
            return {name: round(float(sure[name]), decimals) for name in near}
        found[name] = whole / scale
    return found


def _granted(account: Account) -> dict[str, Any]:
    taken = granted(account)
    return {
        "ideal_minerals": list(taken.ideal),
        "typical_analyses": list(taken.typical),
        "made_up": list(taken.invented),
        "left_out": list(taken.unknown),
        "additions_counted": taken.additions,
        "iron_as": account.choice.iron,
    }


def _ranges(account: Account) -> dict[str, Any] | None:
    """Ends are rounded outwards, so that what lies within a range lies within what is written."""
    found = account.ranges
    if found is None:
        return None
    return {
        "unity": found.unity.outwards(6) if account.fired.unity else None,
        "fired_weight_percent": found.weight_percent.outwards(4),
        "mol_percent": found.mol_percent.outwards(4),
        "silica_to_alumina": None if found.ratio is None else found.ratio.outwards(6),
        "alkali": None if found.alkali is None else found.alkali.outwards(6),
        "loss_on_ignition": found.loss.outwards(4),
        "expansion": _span(account, "expansion"),
        "softening": _span(account, "fusibility"),
    }


def _span(account: Account, what: str) -> Ends | None:
    found = account.spans.get(what)
    return None if found is None else Range(*found.decimals()).outwards(1)


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
        oxides = _in_float(line.analysis) if line.analysis else {}
        out.append(
            {
                "material": line.material,
                "parts": amount,
                "known": line.analysis is not None,
                "oxides": rounded(oxides, share, 4),
            }
        )
    return out


@lru_cache(maxsize=1024)
def _in_float(analysis: Analysis) -> dict[str, float]:
    """Kept, since the same few materials stand in every recipe of a collection."""
    return {oxide: float(percent) for oxide, percent in analysis.oxides.items()}


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
        "held": round(estimate.held, 1),
        "note": estimate.note,
    }


def _body_fit(fit: BodyFit | None) -> dict[str, Any] | None:
    if fit is None:
        return None
    spread = fit.body.plus_or_minus
    return {
        "body": fit.body.name,
        "body_expansion": float(fit.body.expansion),
        "body_plus_or_minus": None if spread is None else float(spread),
        "body_range": fit.body.range,
        "body_source": fit.body.source,
        "glaze_expansion": round(fit.glaze.value, 1),
        "glaze_range": fit.glaze_range,
        "difference": round(fit.difference, 1),
        "low": round(fit.low, 1),
        "high": round(fit.high, 1),
        "unit": fit.glaze.unit,
        "model": fit.glaze.model,
        "leaning": fit.leaning,
        "note": "; ".join((SAID[fit.leaning], *fit.notes, CAUTION)),
    }


def _rounded(figure: Decimal) -> float:
    return round(float(figure), 4)


def _six(figure: Decimal) -> float:
    return round(float(figure), 6)
