"""Usage as text for people, as a table for whoever writes the bill, and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Any

from glost.language.csv_cells import guarded, record_of
from glost.language.exact_json import written
from glost.output.model import Column, Heading, Node, Paragraph, Row, Section, Table
from glost.output.model.text import as_text as nodes_as_text
from glost.recipe.money import told_sums
from glost.recipe.safety.cautions import PRECEDENCE
from glost.records import usage as used
from glost.records.prices import Bill
from glost.records.text import shown
from glost.records.usage import Amount, Hazardous, Usage
from glost.weighing.rounding import exact_sum

VERSION = 1
KIND = "glost usage"
_NOBODY = "(no name written down)"
_MARK = "* "
PLANNED = "Planned: the target of a line for which no weighed mass was written down."


# ---- text ----------------------------------------------------------------------------------------------


def as_text(usage: Usage) -> str:
    """Tables, one a group, then what is known of the hazards and who used what carries them."""
    return nodes_as_text(nodes_of(usage))


def nodes_of(usage: Usage) -> Iterator[Node]:
    """All that is told of what was used."""
    yield Heading(_title(usage), 3)
    marked = usage.hazardous_names
    if usage.asked.by == "material":
        table = _table(usage.rows, marked)
        yield _block([table, *(fact for _, bill in usage.bills for fact in _billed(bill))])
    else:
        bills = dict(usage.bills)
        for group, rows in groupby(usage.rows, key=lambda row: row.group):
            billed = _billed(bills[group]) if group in bills else ()
            yield _block([Heading(_name(group), 3), _table(tuple(rows), marked), *billed])
    if any(row.amount.planned_g for row in usage.rows):
        yield Paragraph(PLANNED)
    if usage.rows:
        yield from _hazards(usage)


def _block(nodes: Iterable[Node]) -> Section:
    """Nodes without an empty line between them."""
    return Section("", list(nodes), close=True)


def _title(usage: Usage) -> str:
    asked = usage.asked
    period = f"{f' from {asked.start}' if asked.start else ''}{f' to {asked.end}' if asked.end else ''}"
    whose = f" by {_name(asked.person)}" if asked.person is not None else ""
    what = f" for {shown(asked.project)}" if asked.project is not None else ""
    count = f"{usage.records} batch{'es' if usage.records != 1 else ''}"
    return f"Used{whose}{what}{period or ', all of the log'}: {count}"


def _name(text: str) -> str:
    return shown(text) or _NOBODY


def _table(rows: Sequence[used.Row], marked: frozenset[str]) -> Table:
    """What was used of each material. A mark stands before what carries a hazard."""
    costs = any(row.bill is not None for row in rows)
    columns = [
        Column("  material"),
        Column("weighed g", figures=True),
        Column("planned g", figures=True),
        Column("batches", figures=True),
        *([Column("cost", figures=True)] if costs else []),
    ]
    weighed, planned = (
        exact_sum(getattr(row.amount, kind) for row in rows) for kind in ("weighed_g", "planned_g")
    )

    def line(name: str, amounts: tuple[Decimal, Decimal], batches: str, cost: str) -> Row:
        first, second = (f"{mass:f}" if mass else "-" for mass in amounts)
        return Row((name, first, second if planned else "", batches, *([cost] if costs else [])))

    lines = [
        line(
            f"{_MARK if row.material in marked else '  '}{shown(row.material)}",
            (row.amount.weighed_g, row.amount.planned_g),
            f"{row.amount.batches}",
            "" if row.bill is None else _cost(row.bill),
        )
        for row in rows
    ]
    together = [line("  together", (weighed, planned), "", "")] if len(rows) > 1 else []
    return Table(columns, [*lines, *together])


def _cost(bill: Bill) -> str:
    if not bill.unpriced:
        return told_sums(bill.money)
    return f"{told_sums(bill.money)} and more" if bill.money else "no price"


def _billed(bill: Bill) -> Iterator[Paragraph]:
    """What a group cost, and what is not in it. Each figure is rounded by itself, once."""
    told = told_sums(bill.money)
    if not bill.unpriced:
        yield Paragraph(told, "fact", "Cost")
        return
    lacking = ", ".join(f"{shown(name)} ({grams:f} g)" for name, grams in bill.unpriced)
    yield Paragraph(told or "not known", "fact", "Cost, incomplete")
    yield Paragraph(f"No price is on record for {lacking}.", "fact")


def _hazards(usage: Usage) -> Iterator[Node]:
    yield _block([Heading("Hazards", 3), Paragraph(PRECEDENCE, "fact")])
    for entry in usage.hazardous:
        yield _block(
            [
                Paragraph(f"{_MARK}{shown(entry.material)}: {_used(entry.amount)}"),
                _inset(_who_and_what(entry)),
            ]
        )
    texts = {code: text for entry in usage.hazardous for code, text in entry.statements}
    if texts:
        yield _block(
            [
                Paragraph(f"{_LISTED}:", "fact"),
                _inset(f"{code} {texts[code]}".rstrip() for code in sorted(texts)),
            ]
        )
    for lead, names in ((_SILENT, usage.silent), (_UNKNOWN, usage.unknown)):
        if names:
            yield _block([Paragraph(f"{', '.join(map(shown, names))}.", "fact", lead)])


def _who_and_what(entry: Hazardous) -> Iterator[str]:
    yield f"used by {', '.join(map(_name, entry.people))}"
    yield " ".join(code for code, _ in entry.statements)
    yield from (f"source: {source}" for source in entry.sources)


def _inset(texts: Iterable[str]) -> Section:
    return Section("", [Paragraph(text, "fact") for text in texts], inset=True)


_LISTED = "What the statements say; the supplier's sheet may list more"
_SILENT = "No hazard statement on record here, which does not mean no hazard"
_UNKNOWN = "Not in the catalogue, so that nothing is known here of their hazards"


def _used(amount: Amount) -> str:
    weighed = f"{amount.weighed_g:f} g weighed" if amount.weighed_g else ""
    planned = f"{amount.planned_g:f} g planned" if amount.planned_g else ""
    lots = f"; lot {', '.join(map(shown, amount.lots))}" if amount.lots else ""
    return f"{' and '.join(part for part in (weighed, planned) if part)}{lots}"


# ---- table ---------------------------------------------------------------------------------------------


def as_csv(usage: Usage) -> str:
    """A row a material and group, by RFC 4180 with CR LF; every row says its period, so that tables of several
    months can be put together. Numbers stand as they are, in grams."""
    asked = usage.asked
    group = () if asked.by == "material" else (asked.by,)
    costs = ("cost", "currency", "unpriced_g") if usage.bills else ()
    codes = {entry.material: " ".join(code for code, _ in entry.statements) for entry in usage.hazardous}
    out = [
        record_of(
            ("from", "to", *group, "material", "weighed_g", "planned_g", "batches", "lots", "hazards", *costs)
        )
    ]
    for row, cost in _rows_by_currency(usage.rows):
        amount = row.amount
        out.append(
            record_of(
                (
                    str(asked.start or ""),
                    str(asked.end or ""),
                    *((guarded(row.group),) if group else ()),
                    guarded(row.material),
                    f"{amount.weighed_g:f}",
                    f"{amount.planned_g:f}",
                    str(amount.batches),
                    guarded("; ".join(amount.lots)),
                    codes.get(row.material, ""),
                    *(cost if costs else ()),
                )
            )
        )
    return "".join(out)


def _rows_by_currency(rows: Sequence[used.Row]) -> Iterator[tuple[used.Row, tuple[str, str, str]]]:
    """Each row with what it cost, the currency, and grams without a price; once more for each further currency, with
    masses of 0, so that columns can be added up. Without a price its cells are empty, never 0."""
    for row in rows:
        bill = row.bill or Bill((), ())
        lacking = exact_sum(grams for _, grams in bill.unpriced)
        first, *others = bill.money or (None,)
        yield (
            row,
            ("" if first is None else f"{first.rounded:f}", first.currency if first else "", f"{lacking:f}"),
        )
        for money in others:
            nothing = row.amount._replace(weighed_g=Decimal(0), planned_g=Decimal(0))
            yield row._replace(amount=nothing), (f"{money.rounded:f}", money.currency, "0")


# ---- JSON ----------------------------------------------------------------------------------------------


def as_json(usage: Usage) -> str:
    """One document, as schema/usage.schema.json has it. Numbers are written with every digit."""
    asked = usage.asked
    document = {
        "version": VERSION,
        "kind": KIND,
        "from": None if asked.start is None else str(asked.start),
        "to": None if asked.end is None else str(asked.end),
        "by": asked.by,
        "person": asked.person,
        "project": asked.project,
        "batches": usage.records,
        "rows": [
            {"group": row.group, "material": row.material, **_amount(row.amount), **_row_cost(row.bill)}
            for row in usage.rows
        ],
        "hazardous": [_entry(entry) for entry in usage.hazardous],
        "silent": list(usage.silent),
        "unknown": list(usage.unknown),
    }
    if usage.bills:
        document["bills"] = [
            {
                "group": group,
                "cost": _money(bill),
                "complete": not bill.unpriced,
                "unpriced": [{"material": name, "mass_g": grams} for name, grams in bill.unpriced],
            }
            for group, bill in usage.bills
        ]
    return written(document) + "\n"


def _money(bill: Bill) -> list[dict[str, Any]]:
    return [{"amount": one.rounded, "currency": one.currency} for one in bill.money]


def _row_cost(bill: Bill | None) -> dict[str, Any]:
    if bill is None:
        return {}
    return {"cost": _money(bill), "unpriced_g": exact_sum(grams for _, grams in bill.unpriced)}


def _amount(amount: Amount) -> dict[str, Any]:
    return {
        "weighed_g": amount.weighed_g,
        "planned_g": amount.planned_g,
        "batches": amount.batches,
        "lots": list(amount.lots),
    }


def _entry(entry: Hazardous) -> dict[str, Any]:
    return {
        "material": entry.material,
        **_amount(entry.amount),
        "people": list(entry.people),
        "statements": [{"code": code, "text": text} for code, text in entry.statements],
        "sources": list(entry.sources),
    }
