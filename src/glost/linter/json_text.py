"""JSON that any file name can be written in, and that steers no terminal."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any, Final

from glost.language.tables import json_escape, steering, steers_nothing


def json_rows(name: str, rows: Iterable[dict[str, Any]], **more: Any) -> Iterator[str]:
    """An object with ``more`` and, last, a list called ``name`` of flat objects, laid out as json.dumps() does with an
    indent of 1; that would take several times as long, since it does not use its fast writer for it."""
    above = "".join(f" {json.dumps(key)}: {json.dumps(value)},\n" for key, value in more.items())
    yield from json_list(f"{{\n{above} {json.dumps(name)}: ", map(_flat, rows), "\n}", "\n  ", "\n ")


def json_list(
    before: str, rows: Iterable[str], after: str, above_row: str = "\n", below_rows: str = "\n"
) -> Iterator[str]:
    """The text of a list, row by row, with what stands before and after it."""
    yield f"{before}["
    between = ""
    for row in rows:
        yield f"{between}{above_row}{row}"
        between = ","
    yield f"{below_rows if between else ''}]{after}"


def _flat(row: dict[str, Any]) -> str:
    # Between the entries of a flat object nothing but this stands; inside a text a line break is written as \\n.
    text = json.dumps(row, ensure_ascii=False, separators=(",\n   ", ": "))
    return _escaped(f"{{\n   {text[1:-1]}\n  }}")


def json_text(value: Any, indent: int | None = None) -> str:
    """``value`` as JSON, with letters as they are. The bytes of a file name that are not UTF-8 come from the system
    as lone surrogates, which no file can hold, and others may turn the direction of what is shown; JSON's own escape
    keeps them all, and reads back to the same name."""
    # An encoder that is kept, and looks for no circles, takes an eighth less: a formula is written for every test.
    return _escaped(
        _ENCODE(value) if indent is None else json.dumps(value, ensure_ascii=False, indent=indent)
    )


_ENCODE = json.JSONEncoder(ensure_ascii=False, check_circular=False).encode


_DELETE: Final = "\x7f"


def _escaped(text: str) -> str:
    # The encoder has escaped all that may stand in plain letters, but for one; most rows hold no others.
    if (text.isascii() and _DELETE not in text) or steers_nothing(text):
        return text
    return steering().sub(json_escape, text)
