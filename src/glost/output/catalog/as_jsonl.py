"""The table for programs: a row a line, described by schema/catalog.schema.json."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any, Final

from glost.language.exact_json import written
from glost.linter.finding import Finding
from glost.output.catalog.rows import NOT_KNOWN, Revision, Row

VERSION: Final = 2
MARK: Final = re.compile(r'\A\{"version": \d+, "file": ".*", "line": \d+, "read": "')
"""What begins every such table, and hardly any other text."""


def as_jsonl(rows: Iterable[Row]) -> Iterator[str]:
    """One line a row, each complete in itself."""
    return (written(data(row), None) + "\n" for row in rows)


def data(row: Row) -> dict[str, Any]:
    about, hazards = row.about, row.hazards
    texts, sources = dict(hazards.texts), row.sources
    return {
        "version": VERSION,
        "file": about.file,
        "line": row.line,
        "read": about.read,
        "kind": about.kind,
        "recipe": about.name,
        "test": row.test,
        "collection": about.collection,
        "sets": row.sets,
        "cone": about.cone,
        "cone_low": about.cone_low,
        "cone_high": about.cone_high,
        "atmosphere": about.atmosphere,
        "surface": about.surface,
        "colour": about.colour,
        "use": about.use,
        "date": about.date,
        "tags": list(about.tags),
        "more": dict(about.others),
        "notes": about.notes,
        "materials": [
            {
                "name": one.name,
                "material": one.material,
                "section": "base" if one.base else "additions",
                "parts": one.parts,
                "on_100": one.on_100,
                "note": one.note,
            }
            for one in row.weighed
        ],
        "hazards_known": row.hazards_known,
        "hazards": [
            {
                "code": code,
                "text": texts.get(code, ""),
                "materials": list(materials),
                "sources": list(sources[code]),
            }
            for code, materials in row.statements.items()
        ],
        "unknown": list(hazards.unknown),
        "silent": list(hazards.silent),
        "restricted": [{"material": name, "for": what} for name, what in hazards.restricted],
        "revision": _revision(row.revision),
        "counts": row.counts,
        "findings": [_finding(finding) for finding in row.findings],
        "fired": None if row.fired is None else row.fired._asdict() | {"faults": list(row.fired.faults)},
    }


def _revision(revision: Revision | None) -> dict[str, Any] | str | None:
    if revision is None or revision == NOT_KNOWN:
        return None if revision is None else revision.short
    return {"name": revision.short, "day": revision.day, "changed": revision.changed}


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "level": finding.level,
        "line": finding.line,
        "message": finding.message,
        "hint": finding.hint,
    }
