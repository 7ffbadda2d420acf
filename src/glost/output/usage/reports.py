"""Usage as text for people, as a table for whoever writes the bill, and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Any

from glost.language.csv_cells import guarded, record_of
from glost.language.exact_json import written
from glost.language.width import padded, width
from glost.recipe.money import told_sums
from glost.recipe.safety.cautions import PRECEDENCE
from glost.records.prices import Bill
from glost.records.text import shown
from glost.records.usage import Amount, Hazardous, Row, Usage
from glost.weighing.rounding import exact_sum

VERSION = 1
KIND = "glost usage"
_WIDTH = 80
_NOBODY = "(no name written down)"
_MARK = "* "
PLANNED = "Planned: the target of a line for which no weighed mass was written down."


# ---- text ----------------------------------------------------------------------------------------------


def as_text(usage: Usage) -> str:
    """Tables, one a group, then what is known of the hazards and who used what carries them."""
    out = [_title(usage)]
    marked = usage.hazardous_names
    if usage.asked.by == "material":
        out += ["", *_table(usage.rows, marked)] if usage.rows else []
        out += [line for _, bill in usage.bills for line in _billed(bill)]
    else:
        bills = dict(usage.bills)
        for group, rows in groupby(usage.rows, key=lambda row: row.group):
            out += ["", _name(group), *_table(tuple(rows), marked)]
            out += _billed(bills[group]) if group in bills else []
    if any(row.amount.planned_g for row in usage.rows):
        out += ["", PLANNED]
    if usage.rows:
        out += _hazards(usage)
    return "\n".join(out) + "\n"


def _title(usage: Usage) -> str:
    asked = usage.asked
    period = f"{f' from {asked.start}' if asked.start else ''}{f' to {asked.end}' if asked.end else ''}"
    whose = f" by {_name(asked.person)}" if asked.person is not None else ""
    what = f" for {shown(asked.project)}" if asked.project is not None else ""
    count = f"{usage.records} batch{'es' if usage.records != 1 else ''}"
    return f"Used{whose}{what}{period or ', all of the log'}: {count}"


def _name(text: str) -> str:
    return shown(text) or _NOBODY


def _table(rows: Sequence[Row], marked: frozenset[str]) -> list[str]:
    names = [
        "  material",
        *(f"{_MARK if row.material in marked else '  '}{shown(row.material)}" for row in rows),
        "  together",
    ]
    sums = [exact_sum(row.amount.weighed_g for row in rows), exact_sum(row.amount.planned_g for row in rows)]
    weighed = _aligned("weighed g", [*(row.amount.weighed_g for row in rows), sums[0]])
    planned = _aligned("planned g", [*(row.amount.planned_g for row in rows), sums[1]])
    batches = ["batches", *(str(row.amount.batches) for row in rows), ""]
    if not sums[1]:
        planned = [""] * len(names)
    wide = max(map(width, names))
    lines = [
        f"{padded(name, wide)}  {first}{f'  {second}' if second else ''}  {count:>7}{cost}".rstrip(" ")
        for name, first, second, count, cost in zip(
            names, weighed, planned, batches, _costs(rows), strict=True
        )
    ]
    return lines if len(rows) > 1 else lines[:-1]


def _costs(rows: Sequence[Row]) -> list[str]:
    """The column of what each row cost, empty where nobody asked."""
    if all(row.bill is None for row in rows):
        return [""] * (len(rows) + 2)
    told = [_cost(row.bill) for row in rows if row.bill is not None]
    size = max(len("cost"), *map(len, told))
    return [f"  {text.rjust(size)}" for text in ("cost", *told, "")]


def _cost(bill: Bill) -> str:
    if not bill.unpriced:
        return told_sums(bill.money)
    return f"{told_sums(bill.money)} and more" if bill.money else "no price"


def _billed(bill: Bill) -> list[str]:
    """What a group cost, and what is not in it. Each figure is rounded by itself, once."""
    told = told_sums(bill.money)
    if not bill.unpriced:
        return _wrapped(f"Cost: {told}", "  ")
    lacking = ", ".join(f"{shown(name)} ({grams:f} g)" for name, grams in bill.unpriced)
    return [
        *_wrapped(f"Cost, incomplete: {told or 'not known'}", "  "),
        *_wrapped(f"No price is on record for {lacking}.", "  "),
    ]


def _aligned(head: str, masses: Sequence[Decimal]) -> list[str]:
    """Masses below their head with the points below each other; a mass of nothing is a dash."""
    parts = [f"{mass:f}".partition(".") for mass in masses]
    decimals = max(len(point + behind) for _, point, behind in parts)
    texts = [
        f"{whole}{(point + behind).ljust(decimals)}" if mass else "-".ljust(decimals + 1)
        for mass, (whole, point, behind) in zip(masses, parts, strict=True)
    ]
    size = max(len(head), *map(len, texts))
    return [text.rjust(size) for text in (head, *texts)]


def _hazards(usage: Usage) -> list[str]:
    out = ["", "Hazards", *_wrapped(PRECEDENCE, "  ")]
    for entry in usage.hazardous:
        out += ["", f"{_MARK}{shown(entry.material)}: {_used(entry.amount)}"]
        out += _wrapped(f"used by {', '.join(map(_name, entry.people))}", "    ")
        out += _wrapped(" ".join(code for code, _ in entry.statements), "    ")
        out += [line for source in entry.sources for line in _wrapped(f"source: {source}", "    ")]
    texts = {code: text for entry in usage.hazardous for code, text in entry.statements}
    if texts:
        out += ["", f"  {_LISTED}:"]
        out += [line for code in sorted(texts) for line in _wrapped(f"{code} {texts[code]}".rstrip(), "    ")]
    if usage.silent:
        out += ["", *_wrapped(f"{_SILENT}: {', '.join(map(shown, usage.silent))}.", "  ")]
    if usage.unknown:
        out += ["", *_wrapped(f"{_UNKNOWN}: {', '.join(map(shown, usage.unknown))}.", "  ")]
    return out


_LISTED = "What the statements say; the supplier's sheet may list more"
_SILENT = "No hazard statement on record here, which does not mean no hazard"
_UNKNOWN = "Not in the catalogue, so that nothing is known here of their hazards"


def _used(amount: Amount) -> str:
    weighed = f"{amount.weighed_g:f} g weighed" if amount.weighed_g else ""
    planned = f"{amount.planned_g:f} g planned" if amount.planned_g else ""
    lots = f"; lot {', '.join(map(shown, amount.lots))}" if amount.lots else ""
    return f"{' and '.join(part for part in (weighed, planned) if part)}{lots}"


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=indent, subsequent_indent=indent + "  ", break_on_hyphens=False
    )


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


def _rows_by_currency(rows: Sequence[Row]) -> Iterator[tuple[Row, tuple[str, str, str]]]:
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
