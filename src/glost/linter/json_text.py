"""JSON that any file name can be written in."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import Any

_ALONE = "[\ud800-\udfff]"


def json_rows(name: str, rows: Iterable[dict[str, Any]], **more: Any) -> str:
    """An object with ``more`` and, last, a list called ``name`` of flat objects, laid out as json.dumps() does with an
    indent of 1; that would take several times as long, since it does not use its fast writer for it."""
    # Between the entries of a flat object nothing but this stands; inside a text a line break is written as \\n.
    inner = ",\n  ".join(
        "{\n   " + json.dumps(row, ensure_ascii=False, separators=(",\n   ", ": "))[1:-1] + "\n  }"
        for row in rows
    )
    above = "".join(f" {json.dumps(key)}: {json.dumps(value)},\n" for key, value in more.items())
    listed = f"[\n  {inner}\n ]" if inner else "[]"
    return _escaped(f"{{\n{above} {json.dumps(name)}: {listed}\n}}")


def json_text(value: Any, indent: int | None = None) -> str:
    """``value`` as JSON, with letters as they are. The bytes of a file name that are not UTF-8 come from the system
    as lone surrogates, which no file can hold; JSON's own escape keeps them, and reads back to the same name."""
    return _escaped(json.dumps(value, ensure_ascii=False, indent=indent))


def _escaped(text: str) -> str:
    return re.sub(_ALONE, lambda found: f"\\u{ord(found[0]):04x}", text)
