"""A comparison for programs: versioned JSON, described by schema/comparison.schema.json. Amounts on a base of 100 are
given exactly, as whole numbers or n/d in text, and rounded to six decimals."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

from glost.changes.comparison import Change, Rewording
from glost.changes.fired_change import FiredChange
from glost.changes.judgement import Noted
from glost.changes.meaning import THROUGH, Fact, Place, Weighed, Written, fact_text
from glost.changes.report import CollectionChange, Report, Reported
from glost.changes.rounding import PARTS, SHARE
from glost.chemistry.additive import Estimate
from glost.language.exact_json import written

VERSION = 2


def as_json(report: Report) -> str:
    """One document that holds all pairs but those that are the same, of which it has the number."""
    return (
        written(
            {
                "version": VERSION,
                "same": not report.differs,
                "compared": len(report.recipes) + report.same,
                "same_recipes": report.same,
                "tolerance": {"parts_of_100": _rounded(PARTS), "share": _rounded(SHARE)},
                "collections": [_collection(one) for one in report.collections],
                "recipes": [_recipe(one) for one in report.recipes],
            }
        )
        + "\n"
    )


def _collection(one: CollectionChange) -> dict[str, Any]:
    return {
        "old": one.old,
        "new": one.new,
        "recipes": one.recipes,
        "changes": [
            {
                **_place(change.place),
                "old": _side(change.old, None),
                "new": _side(change.new, None),
                "touches": [recipe.new for recipe in touched],
            }
            for change, touched in one.changes
        ],
    }


def _recipe(one: Reported) -> dict[str, Any]:
    comparison = one.comparison
    return {
        "old": one.old,
        "new": one.new,
        "name": one.name,
        "state": one.state,
        "text_differs": one.text_differs,
        "changes": [change_data(change) for change in comparison.changes] if comparison else [],
        "rewordings": [_rewording(rewording) for rewording in comparison.rewordings] if comparison else [],
        "fired": [_fired(change) for change in one.fired],
        "allowed": [
            {"rule": place.what, "within": place.within, "reason": fact_text(reason)}
            for place, reason in one.allowances
        ],
        "hazards": [{"material": name, "said": list(said)} for name, said in one.hazards],
        "findings": {"come": list(map(_finding, one.come)), "gone": list(map(_finding, one.gone))},
    }


def _finding(noted: Noted) -> dict[str, str]:
    return {"level": noted.level, "rule": noted.rule, "within": noted.where, "message": noted.message}


def _place(place: Place) -> dict[str, Any]:
    return {"section": place.section, "within": place.within, "what": place.what}


def change_data(change: Change) -> dict[str, Any]:
    """A change, as every document has it."""
    return {
        **_place(change.place),
        "old": _side(change.old, change.old_written),
        "new": _side(change.new, change.new_written),
        **({"here": _here(change)} if change.place.section == THROUGH else {}),
        "follows": change.follows,
        "rounding": change.rounding,
    }


def _here(change: Change) -> dict[str, Any] | None:
    """How much of it there is by that recipe here; None where it stands in a variation, series or blend alone."""
    sides = (change.old_written, change.new_written)
    if not any(one and one.parts for one in sides):
        return None
    old, new = (_rounded(one.parts[0]) if one and one.parts else None for one in sides)
    return {"old": old, "new": new}


def _side(fact: Fact | None, how: Written | None) -> dict[str, Any] | None:
    return None if fact is None else fact_data(fact, how)


def fact_data(fact: Fact, how: Written | None) -> dict[str, Any]:
    """What a place says, exactly, rounded and as it is written."""
    if isinstance(fact, Weighed):
        return {
            "on_100": [_rounded(amount) for amount in fact.on_100],
            "exact": [str(amount) for amount in fact.on_100],
            "as_written": list(how.amounts) if how else [],
            "names": list(how.names) if how else [],
            "note": fact.note,
        }
    return {"text": how.amounts[0] if how and how.amounts else fact_text(fact)}


def _rewording(rewording: Rewording) -> dict[str, Any]:
    return {
        **_place(rewording.place),
        "how": rewording.how,
        "old": rewording.old,
        "new": rewording.new,
    }


def _fired(change: FiredChange) -> dict[str, Any]:
    return {
        "test": change.label,
        "partial": change.partial,
        "unity": None
        if change.terms is None
        else {term.oxide: _both(_six(term.old), _six(term.new)) for term in change.terms},
        "loss_on_ignition": _both(_six(change.loss[0]), _six(change.loss[1])),
        "expansion": None if change.expansion is None else _expansion(*change.expansion),
    }


def _expansion(old: Estimate, new: Estimate) -> dict[str, Any]:
    return {
        "model": old.model,
        "unit": old.unit,
        **_both(Decimal(f"{old.value:.1f}"), Decimal(f"{new.value:.1f}")),
    }


def _both(old: Decimal, new: Decimal) -> dict[str, Decimal]:
    return {"old": old, "new": new}


def _six(figure: Decimal) -> Decimal:
    shown = figure.quantize(Decimal("0.000001"), ROUND_HALF_EVEN)
    return shown if shown else abs(shown)


def _rounded(amount: Fraction) -> Decimal:
    """Built from the digits, since arithmetic would round to the precision of the context."""
    return Decimal(round(amount * 10**6)).scaleb(-6) if amount.denominator != 1 else Decimal(amount.numerator)
