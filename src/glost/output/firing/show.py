"""A firing with its schedule worked out: as text, as a page with its curve, as JSON."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from glost.language.exact_json import written
from glost.output.model import Column, Heading, Node, Paragraph, Row, Table, Terms
from glost.output.model.html import as_html
from glost.output.model.text import as_text
from glost.output.web import document, shown
from glost.recipe.firing import Firing, Tile
from glost.recipe.schedule import Schedule, Timed, duration, in_celsius, rate_in_celsius

VERSION = 1
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:[CF](?:/h)?|h|min|mm|m)\b)")
KIND = "glost firing"


def text(firing: Firing) -> str:
    """For a person."""
    return as_text(list(_nodes(firing)))


def html(firing: Firing) -> str:
    """One page that needs nothing else, with the curve of the schedule."""
    body = ["<main>", *map(_unbroken, as_html(list(_nodes(firing))))]
    if firing.schedule is not None:
        body += [f"<h2>{shown('Curve')}</h2>", curve(firing.schedule)]
    body.append("</main>")
    return document(firing.name, body, ["common.css", "history.css"])


def _unbroken(line: str) -> str:
    """No line is broken between a figure and its unit."""
    return _BEFORE_UNIT.sub("\u00a0", line)


def _nodes(firing: Firing) -> Iterator[Node]:
    yield Heading(firing.name, 1)
    fields = (
        ("date", firing.date),
        ("kiln", firing.kiln),
        ("cone", str(firing.cone or "")),
        ("reached", str(firing.reached or "")),
        ("atmosphere", firing.atmosphere),
        ("body", firing.body),
    )
    yield Terms([field for field in fields if field[1]])
    schedule = firing.schedule
    if schedule is not None:
        yield Heading("Schedule")
        yield _table(schedule)
        if not schedule.start_said:
            yield Paragraph(
                f"The page does not say where the kiln begins; {schedule.start:f} {schedule.unit} is taken.",
                "aside",
            )
        yield Paragraph(schedule.said, "strong", "in all")
    if firing.tiles:
        yield Heading("Tiles")
        yield Table(
            [Column("tile", names=True), Column("test"), Column("place"), Column("faults")],
            [Row([tile.name, _of(tile), tile.place, ", ".join(tile.faults)]) for tile in firing.tiles],
        )
    if firing.notes:
        yield Heading("Notes")
        for line in firing.notes.split("\n"):
            yield Paragraph(line)


def _of(tile: Tile) -> str:
    return tile.test.written if tile.test else tile.batch


def _table(schedule: Schedule) -> Table:
    columns = [
        Column("from"),
        Column("to"),
        Column("rate"),
        Column("takes"),
        Column("hold"),
        Column("done at"),
    ]
    return Table(columns, [Row(list(_cells(timed, schedule.unit))) for timed in schedule.timed()])


def _cells(timed: Timed, unit: str) -> Iterator[str]:
    step = timed.step
    yield f"{timed.start:f} {unit}"
    yield f"{step.target:f} {unit}"
    yield f"{_figure(timed.rate)} {unit}/h" if timed.rate is not None else "freely"
    yield duration(timed.way) if timed.way is not None else "not known"
    yield duration(Fraction(step.hold)) if step.hold else ""
    yield duration(timed.end) if not timed.at_least else f"{duration(timed.end)} at least"


def _figure(value: Fraction) -> str:
    return f"{float(value):.1f}".removesuffix(".0")


# ---- curve ---------------------------------------------------------------------------------------------

_WIDE, _HIGH, _LEFT, _BELOW = 640, 320, 76, 36


def curve(schedule: Schedule) -> str:
    """The schedule as a line over time, up to where the kiln is left to itself."""
    points = list(schedule.points())
    unit = schedule.unit
    last = max(points[-1][0], Fraction(60))
    top = max(temperature for _, temperature in points) * Fraction(21, 20)

    def x(minutes: Fraction) -> str:
        return f"{float(_LEFT + minutes / last * (_WIDE - _LEFT - 16)):.1f}"

    def y(temperature: Fraction) -> str:
        return f"{float(_HIGH - _BELOW - temperature / top * (_HIGH - _BELOW - 16)):.1f}"

    line = " ".join(f"{x(minutes)},{y(temperature)}" for minutes, temperature in points)
    label = f"{schedule.said}; hottest {schedule.top:f} {unit}"
    out = [
        f'<svg class="curve" viewBox="0 0 {_WIDE} {_HIGH}" role="img" aria-label="{shown(label)}" font-size="12">'
    ]
    for temperature in range(0, int(top) + 1, 200 if unit == "C" else 400):
        at = y(Fraction(temperature))
        out.append(f'<line x1="{_LEFT}" x2="{_WIDE - 16}" y1="{at}" y2="{at}"/>')
        out.append(f'<text x="{_LEFT - 6}" y="{at}" text-anchor="end" dy="4">{temperature} {unit}</text>')
    hours = last / 60
    for hour in range(0, int(hours) + 1, max(1, int(hours) // 10 + 1)):
        at = x(Fraction(hour * 60))
        out.append(f'<text x="{at}" y="{_HIGH - 14}" text-anchor="middle">{hour} h</text>')
    out.append(f'<polyline points="{line}"/></svg>')
    return "".join(out)


# ---- JSON ----------------------------------------------------------------------------------------------


def as_json(firing: Firing) -> str:
    """One document, as schema/firing.schema.json has it. Minutes are exact where they end, else to six decimals."""
    document = {
        "version": VERSION,
        "kind": KIND,
        "name": firing.name,
        "date": firing.date,
        "kiln": firing.kiln,
        "cone": str(firing.cone) if firing.cone else None,
        "reached": str(firing.reached) if firing.reached else None,
        "atmosphere": firing.atmosphere,
        "body": firing.body,
        "schedule": None if firing.schedule is None else _schedule(firing.schedule),
        "tiles": [_tile(tile) for tile in firing.tiles],
        "notes": firing.notes,
    }
    return written(document) + "\n"


def _schedule(schedule: Schedule) -> dict[str, Any]:
    unit = schedule.unit
    return {
        "unit": unit,
        "start": schedule.start,
        "start_said": schedule.start_said,
        "minutes": _number(schedule.minutes),
        "said": schedule.said,
        "steps": [
            {
                "target": timed.step.target,
                "target_C": _number(in_celsius(Fraction(timed.step.target), unit)),
                "rate_per_h": None if timed.rate is None else _number(timed.rate),
                "rate_C_per_h": None if timed.rate is None else _number(rate_in_celsius(timed.rate, unit)),
                "minutes": None if timed.way is None else _number(timed.way),
                "hold_min": timed.step.hold,
                "end_min": _number(timed.end),
                "at_least": timed.at_least,
            }
            for timed in schedule.timed()
        ],
    }


def _number(value: Fraction) -> Any:
    from decimal import Decimal

    shown = (Decimal(value.numerator) / Decimal(value.denominator)).quantize(Decimal("0.000001"))
    return Decimal(f"{shown:f}".rstrip("0").rstrip(".") or "0")


def _tile(tile: Tile) -> dict[str, Any]:
    return {
        "name": tile.name,
        "test": tile.test.written if tile.test else "",
        "batch": tile.batch,
        "body": tile.body,
        "place": tile.place,
        "surface": tile.surface,
        "colour": tile.colour,
        "flow_mm": tile.flow,
        "faults": list(tile.faults),
        "photo": tile.photo,
        "remarks": tile.remarks,
    }
