"""Materials for a person: one page, or a listing by role."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Any

from glost.chemistry.analysis import AS_STATED, ORGANIC, Analysis
from glost.chemistry.firing import Unknown
from glost.chemistry.unity import place
from glost.language.width import padded
from glost.output import figures
from glost.output.batch_sheet import RESTRICTED
from glost.output.escape import visible
from glost.output.materials.page import MEASURE, Page, Use
from glost.recipe.materials.oxides import OXYGEN
from glost.recipe.safety.cautions import PRECEDENCE
from glost.recipe.safety.statements import plain_text

_COLUMNS = 100
_LABEL = 16
SILENT = "none on record here, which does not mean that there is no hazard"
_IN_WATER = {"no": "not counted as soluble", "slightly": "dissolves slightly", "yes": "dissolves"}
_KINDS = {
    "formula": "formula, with its theoretical composition",
    "analysis": "analysis",
    "organic": "organic; it burns out",
}


MOST_USES = 20
"""Recipes that the page of a material names unasked."""


def page_text(page: Page, every_use: bool = False) -> str:
    """The page of one material. ``every_use``: all recipes that use it are named, not the first few."""
    return "".join(f"{line}\n" for line in _page(page, every_use))


def _page(page: Page, every_use: bool) -> Iterator[str]:
    material = page.material
    yield f"{visible(material.name)} ({material.role})"
    if page.own:
        yield from _row("collection", "its materials.yaml has an entry for this material")
    if material.aliases:
        yield from _row("also called", ", ".join(material.aliases))
    if material.cas:
        yield from _row("CAS", ", ".join(material.cas))
    yield from _row("source", material.source)
    if material.note:
        yield from _row("note", material.note)
    yield ""
    yield from _composition(page, page.composition, material.composition)
    density = material.density
    if density:
        yield from _row("density", f"{density['value']} {density['unit']} ({density['source']})")
    yield from _row("in water", _IN_WATER[material.soluble])
    if material.caustic:
        yield from _row("caustic", "its alkali burns skin and eyes")
    if material.restricted:
        yield from _row("restricted", f"{material.restricted}. {RESTRICTED}")
    yield from _hazards(page)
    if page.relatives is not None:
        yield ""
        yield from _relatives(page)
    if page.uses is not None:
        yield ""
        yield from _uses(page.uses, every_use)


def _composition(page: Page, analysis: Analysis | Unknown, record: Mapping[str, Any] | None) -> Iterator[str]:
    if isinstance(analysis, Unknown):
        yield from _row("composition", f"unknown: {analysis.reason}")
        return
    kind = "a made-up formula, of no real material" if page.invented else _KINDS[analysis.kind]
    yield from _row("composition", f"{kind}: {analysis.formula}" if analysis.formula else kind)
    yield from _row("from", _sourced(analysis.source, record.get("standing", "") if record else ""))
    if analysis.oxides:
        yield ""
        yield from _oxides(page, analysis)
    for form, mass in analysis.losses.items():
        if form not in (AS_STATED, ORGANIC):
            name = "oxygen" if form == OXYGEN else f"lost as {form}"
            yield f"    {name:<18}{figures.percent(mass):>9}"
    losses = [one.loss for one in (analysis, *page.corners)]
    if any(losses):
        ends = f"{'':>12}{figures.between(min(losses), max(losses), 2):>18}" if page.corners else ""
        yield f"    {'loss on ignition':<18}{figures.percent(analysis.loss):>9}{ends}"
    if abs(analysis.unaccounted) >= figures.LEAST_PERCENT:
        yield f"    {'not accounted for':<18}{figures.percent(analysis.unaccounted):>9}"
    for of, standing, one in page.members:
        yield from _wrapped(f"may be: {visible(of)}; {visible(_sourced(one.source, standing))}", 4, 12)
    for remark in analysis.remarks:
        yield from _wrapped(f"note: {remark}", 4, 10)
    yield ""


def _oxides(page: Page, analysis: Analysis) -> Iterator[str]:
    """The oxides, with the range of each where the material may be something else too."""
    fired = sum(analysis.oxides.values())
    may_be = (analysis, *page.corners)
    names = {oxide for one in may_be for oxide in one.oxides}
    yield f"    {'':<18}{'raw wt %':>9}{'fired wt %':>12}{'raw, may be' if page.corners else '':>18}".rstrip()
    for oxide in sorted(names, key=place):
        raw = analysis.oxides.get(oxide, Decimal(0))
        held = [one.oxides.get(oxide, Decimal(0)) for one in may_be]
        ends = f"{figures.between(min(held), max(held), 2):>18}" if page.corners else ""
        yield f"    {oxide:<18}{figures.percent(raw):>9}{figures.percent(raw * 100 / fired):>12}{ends}"


def _sourced(source: str, standing: str) -> str:
    """A source and how far it was checked, once."""
    return source if not standing or standing in source else f"{source} ({standing})"


def _hazards(page: Page) -> Iterator[str]:
    hazards = page.material.hazards
    if not hazards:
        yield from _row("hazards", SILENT)
    for at, hazard in enumerate(hazards):
        for code_at, code in enumerate(hazard.statements):
            label = "hazards" if not at and not code_at else ""
            text = plain_text(code, hazard.detail_of(code))
            yield from _row(label, f"{code}: {text or 'its text is not on record here'}")
        if hazard.carried:
            yield from _row("", f"of the {hazard.carried} that its dust holds")
        yield from _row("", f"source: {hazard.cited}")
    yield from _row("", PRECEDENCE)


def _relatives(page: Page) -> Iterator[str]:
    found = page.relatives or ()
    if not found:
        if isinstance(page.composition, Unknown):
            why = "not to be told, since the composition is unknown"
        else:
            why = (
                "no other is near" if page.composition.oxides else "not to be told, since all of it burns out"
            )
        yield from _row("relatives", why)
        return
    yield from _row("relatives", f"by {MEASURE}. Near in composition only: each has its own hazards")
    for one in found:
        restricted = f"  restricted: {one.material.restricted}" if one.material.restricted else ""
        yield f"    {one.distance:>6.2f}  {visible(one.material.name)}{restricted}"


def _uses(found: Sequence[Use], every_use: bool) -> Iterator[str]:
    if not found:
        yield from _row("used in", "no recipe here")
        return
    yield from _row("used in", f"{len(found)} recipe{'s' if len(found) != 1 else ''} here")
    shown = found if every_use else found[:MOST_USES]
    widest = max(len(visible(use.name)) for use in shown)
    for use in shown:
        yield f"    {padded(visible(use.name), widest)}  {visible(use.file)}"
    if len(shown) < len(found):
        yield f"    and {len(found) - len(shown)} more; --all names them"


def listing(pages: Iterable[Page]) -> str:
    """One line a material, by role; the materials stand in that order already."""
    rows = list(pages)
    widest = max((len(visible(row.material.name)) for row in rows), default=0)
    blocks = []
    for role, group in groupby(rows, key=lambda row: row.material.role):
        lines = [f"{role}\n"]
        for row in group:
            marks = "; ".join(_marks(row))
            lines.append(f"  {padded(visible(row.material.name), widest)}  {marks}".rstrip() + "\n")
        blocks.append("".join(lines))
    return "\n".join(blocks)


def _marks(page: Page) -> Iterator[str]:
    material, analysis = page.material, page.composition
    if isinstance(analysis, Unknown):
        yield "composition unknown"
    else:
        yield analysis.formula or {"organic": "burns out"}.get(analysis.kind, analysis.kind)
    if page.invented:
        yield "made up"
    if page.own:
        yield "of the collection"
    if material.soluble != "no":
        yield "soluble" if material.soluble == "yes" else "slightly soluble"
    if material.caustic:
        yield "caustic"
    if material.restricted:
        yield f"restricted: {material.restricted}"
    if material.statements:
        yield " ".join(material.statements)


def _row(label: str, text: str) -> Iterator[str]:
    yield from _wrapped(f"{label:<{_LABEL}}{visible(text)}", 2, 2 + _LABEL)


def _wrapped(text: str, indent: int, below: int) -> list[str]:
    return textwrap.wrap(
        text,
        _COLUMNS,
        initial_indent=" " * indent,
        subsequent_indent=" " * below,
        break_long_words=False,
        break_on_hyphens=False,
    )
