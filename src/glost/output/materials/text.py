"""Materials for a person: one page, or a listing by role."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Any

from glost.chemistry.analysis import AS_STATED, ORGANIC, Analysis
from glost.chemistry.firing import Unknown
from glost.chemistry.unity import place
from glost.language.width import width
from glost.output import figures
from glost.output.batch_sheet import RESTRICTED
from glost.output.materials.page import MEASURE, Page, Use
from glost.output.model import Column, Heading, Node, Paragraph, Row, Section, Table, Terms
from glost.output.model.text import as_text
from glost.recipe.materials.oxides import OXYGEN
from glost.recipe.safety.cautions import PRECEDENCE
from glost.recipe.safety.statements import plain_text

_COLUMNS = 100
_LABEL = 15
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
    return _shown(page_nodes(page, every_use))


def _shown(nodes: Iterable[Node]) -> str:
    return as_text(nodes, _COLUMNS, margin=2)


def page_nodes(page: Page, every_use: bool = False) -> Iterator[Node]:
    """All that is told of one material."""
    material = page.material
    yield Heading(f"{material.name} ({material.role})", 3)
    yield _terms(_names(page))
    composition = list(_composition(page.composition, page.invented, material.composition))
    more = list(_more(page))
    if isinstance(page.composition, Unknown):
        yield _block(_terms([*composition, *more]))
    else:
        table = Section("", list(_figures(page, page.composition)), inset=True)
        # What burns out whole has hardly any figures; they stand with its kind.
        if page.composition.oxides:
            yield from (_block(_terms(composition)), _block(table))
        else:
            yield _block(_terms(composition), table)
        yield _block(_terms(more))
    if page.relatives is not None:
        yield _relatives(page)
    if page.uses is not None:
        yield _uses(page.uses, every_use)


def _block(*nodes: Node) -> Section:
    """Nodes without an empty line between them."""
    return Section("", nodes, close=True)


def _terms(rows: Iterable[tuple[str, str]]) -> Terms:
    return Terms(list(rows), least=_LABEL)


def _names(page: Page) -> Iterator[tuple[str, str]]:
    material = page.material
    if page.own:
        yield "collection", "its materials.yaml has an entry for this material"
    if material.aliases:
        yield "also called", ", ".join(material.aliases)
    if material.cas:
        yield "CAS", ", ".join(material.cas)
    yield "source", material.source
    if material.note:
        yield "note", material.note


def _composition(
    analysis: Analysis | Unknown, invented: bool, record: Mapping[str, Any] | None
) -> Iterator[tuple[str, str]]:
    if isinstance(analysis, Unknown):
        yield "composition", f"unknown: {analysis.reason}"
        return
    kind = "a made-up formula, of no real material" if invented else _KINDS[analysis.kind]
    yield "composition", f"{kind}: {analysis.formula}" if analysis.formula else kind
    yield "from", _sourced(analysis.source, record.get("standing", "") if record else "")


def _more(page: Page) -> Iterator[tuple[str, str]]:
    material = page.material
    density = material.density
    if density:
        yield "density", f"{density['value']} {density['unit']} ({density['source']})"
    yield "in water", _IN_WATER[material.soluble]
    if material.caustic:
        yield "caustic", "its alkali burns skin and eyes"
    if material.restricted:
        yield "restricted", f"{material.restricted}. {RESTRICTED}"
    yield from _hazards(page)


def _figures(page: Page, analysis: Analysis) -> Iterator[Node]:
    """The oxides and what is lost, with the range of each where the material may be something else too."""
    heads = ("raw wt %", "fired wt %", "raw, may be") if analysis.oxides else ("", "", "")
    columns = [
        Column("", least=17),
        *(Column(head, figures=True, least=least) for head, least in zip(heads, (8, 10, 16), strict=True)),
    ]
    rows = [*_oxides(page, analysis), *_lost(page, analysis)]
    yield Table(columns, rows) if page.corners else Table(columns[:-1], [Row(row.cells[:-1]) for row in rows])
    for of, standing, one in page.members:
        yield Paragraph(f"{of}; {_sourced(one.source, standing)}", "aside", "may be")
    yield from (Paragraph(remark, "aside", "note") for remark in analysis.remarks)


def _oxides(page: Page, analysis: Analysis) -> Iterator[Row]:
    fired = sum(analysis.oxides.values())
    may_be = (analysis, *page.corners)
    names = {oxide for one in may_be for oxide in one.oxides} if analysis.oxides else ()
    for oxide in sorted(names, key=place):
        raw = analysis.oxides.get(oxide, Decimal(0))
        held = [one.oxides.get(oxide, Decimal(0)) for one in may_be]
        ends = figures.between(min(held), max(held), 2)
        yield Row((oxide, figures.percent(raw), figures.percent(raw * 100 / fired), ends))


def _lost(page: Page, analysis: Analysis) -> Iterator[Row]:
    for form, mass in analysis.losses.items():
        if form not in (AS_STATED, ORGANIC):
            yield Row(("oxygen" if form == OXYGEN else f"lost as {form}", figures.percent(mass), "", ""))
    losses = [one.loss for one in (analysis, *page.corners)]
    if any(losses):
        ends = figures.between(min(losses), max(losses), 2)
        yield Row(("loss on ignition", figures.percent(analysis.loss), "", ends))
    if abs(analysis.unaccounted) >= figures.LEAST_PERCENT:
        yield Row(("not accounted for", figures.percent(analysis.unaccounted), "", ""))


def _sourced(source: str, standing: str) -> str:
    """A source and how far it was checked, once."""
    return source if not standing or standing in source else f"{source} ({standing})"


def _hazards(page: Page) -> Iterator[tuple[str, str]]:
    hazards = page.material.hazards
    if not hazards:
        yield "hazards", SILENT
    for at, hazard in enumerate(hazards):
        for code_at, code in enumerate(hazard.statements):
            text = plain_text(code, hazard.detail_of(code)) or "its text is not on record here"
            yield "hazards" if not at and not code_at else "", f"{code}: {text}"
        if hazard.carried:
            yield "", f"of the {hazard.carried} that its dust holds"
        yield "", f"source: {hazard.cited}"
    yield "", PRECEDENCE


def _relatives(page: Page) -> Section:
    found = page.relatives or ()
    if not found:
        if isinstance(page.composition, Unknown):
            why = "not to be told, since the composition is unknown"
        else:
            why = (
                "no other is near" if page.composition.oxides else "not to be told, since all of it burns out"
            )
        return _block(_terms([("relatives", why)]))
    said = f"by {MEASURE}. Near in composition only: each has its own hazards"
    columns = [Column("", figures=True, least=6), Column(""), Column("")]
    rows = [
        Row(
            (
                f"{one.distance:.2f}",
                one.material.name,
                f"restricted: {one.material.restricted}" if one.material.restricted else "",
            )
        )
        for one in found
    ]
    return _block(_terms([("relatives", said)]), Section("", [Table(columns, rows)], inset=True))


def _uses(found: Sequence[Use], every_use: bool) -> Section:
    if not found:
        return _block(_terms([("used in", "no recipe here")]))
    told = f"{len(found)} recipe{'s' if len(found) != 1 else ''} here"
    shown = found if every_use else found[:MOST_USES]
    nodes: list[Node] = [
        Table([Column(""), Column("", unbroken=True)], [Row((use.name, use.file)) for use in shown])
    ]
    if len(shown) < len(found):
        nodes.append(Paragraph(f"and {len(found) - len(shown)} more; --all names them"))
    return _block(_terms([("used in", told)]), Section("", nodes, inset=True))


def listing(pages: Iterable[Page]) -> str:
    """One line a material, by role; the materials stand in that order already."""
    return _shown(listing_nodes(list(pages)))


def listing_nodes(pages: Sequence[Page]) -> Iterator[Node]:
    """The materials, a table a role."""
    widest = max((width(page.material.name) for page in pages), default=0)
    columns = [Column("", least=widest), Column("", unbroken=True)]
    for role, group in groupby(pages, key=lambda page: page.material.role):
        yield Heading(role, 3)
        yield Table(columns, [Row((page.material.name, "; ".join(_marks(page)))) for page in group])


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
