"""Materials for programs: versioned JSON, described by schema/materials-listing.schema.json."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from glost.chemistry.firing import Unknown
from glost.chemistry.unity import place
from glost.linter.json_text import json_text
from glost.output.materials.page import Page
from glost.recipe.safety.statements import plain_text

VERSION = 1


def as_json(pages: Iterable[Page]) -> str:
    """``{"version": 1, "materials": [...]}``, keys in a fixed order."""
    return json_text({"version": VERSION, "materials": [data(page) for page in pages]}, indent=1) + "\n"


def data(page: Page) -> dict[str, Any]:
    """One material as the schema has it. Relatives and uses are there where they were looked for."""
    material = page.material
    return {
        "name": material.name,
        "role": material.role,
        "aliases": list(material.aliases),
        "cas": list(material.cas),
        "of_the_collection": page.own,
        "soluble": material.soluble,
        "caustic": material.caustic,
        "restricted": material.restricted or None,
        "composition": _composition(page),
        "hazards": [
            {
                "statements": [
                    {"code": code, "text": plain_text(code, hazard.detail_of(code))}
                    for code in hazard.statements
                ],
                "source": hazard.source,
                "standing": hazard.standing,
            }
            for hazard in material.hazards
        ],
        "density": None
        if material.density is None
        else {
            "value": float(material.density["value"]),
            "unit": material.density["unit"],
            "source": material.density["source"],
        },
        "note": material.note,
        "source": material.source,
        **_looked_for(page),
    }


def _composition(page: Page) -> dict[str, Any]:
    record = page.material.composition or {}
    held = {"source": record.get("source", ""), "standing": record.get("standing")}
    if isinstance(page.composition, Unknown):
        return {
            "kind": "unknown",
            "formula": record.get("formula"),
            **held,
            "problem": page.composition.reason,
        }
    analysis = page.composition
    return {
        "kind": analysis.kind,
        "formula": analysis.formula or None,
        **held,
        "problem": None,
        "oxides": _figures({oxide: analysis.oxides[oxide] for oxide in sorted(analysis.oxides, key=place)}),
        "loss_on_ignition": round(float(analysis.loss), 4),
        "losses": _figures(analysis.losses),
        "unaccounted": round(float(analysis.unaccounted), 4) + 0.0,
        "remarks": list(analysis.remarks),
    }


def _figures(figures: Mapping[str, Decimal]) -> dict[str, float]:
    return {name: round(float(figure), 4) for name, figure in figures.items()}


def _looked_for(page: Page) -> dict[str, Any]:
    out: dict[str, Any] = {}
    if page.relatives is not None:
        out["relatives"] = [{"name": one.material.name, "distance": one.distance} for one in page.relatives]
    if page.uses is not None:
        out["used_by"] = [{"file": use.file, "name": use.name} for use in page.uses]
    return out
