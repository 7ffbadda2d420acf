"""What became of old notes, told to a person or a program."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any, Final

from glost.importer.draft import Kind, Remark
from glost.importer.import_file import Brought
from glost.importer.written import Page
from glost.language.exact_json import written
from glost.output.escape import visible

_MANY: Final = 3
"""Lines of which the same is said, from which on it is said once."""
_WIDTH: Final = 118
_HEADS: Final[Mapping[Kind, str]] = {
    "understood": "understood",
    "guessed": "guessed; look at each",
    "unknown": "materials that are not known",
    "wrong": "what the notes contradict",
    "left": "in no line of a recipe",
    "unwritten": "not written",
}


def text(brought: Sequence[Brought], fate: Mapping[Page, str]) -> str:
    """The report. ``fate`` says of each page where it was written, or why not."""
    return "\n".join("".join(line + "\n" for line in _file(one, fate)) for one in brought)


def _file(one: Brought, fate: Mapping[Page, str]) -> list[str]:
    if one.refused:
        return [f"{visible(one.file)}: not read: {visible(one.refused)}"]
    count = len(one.pages)
    lines = [f"{visible(one.file)}, as {_FORMS[one.form]}: {count} recipe{'s' if count != 1 else ''}"]
    for page in one.pages:
        added = f", {page.additions} added" if page.additions else ""
        lines.append(f"    {visible(page.name)}: {_materials(page.base)}{added}; {visible(fate[page])}")
    for kind, head in _HEADS.items():
        remarks = [remark for remark in one.remarks if remark.kind == kind]
        if remarks:
            lines.append(f"  {head}:")
            lines += _remarks(remarks)
    return lines


_FORMS: Final = {"csv": "a table", "json": "data", "text": "plain text"}


def _materials(count: int) -> str:
    return f"{count} material{'s' if count != 1 else ''}"


def _remarks(remarks: Sequence[Remark]) -> list[str]:
    """The remarks of one kind; what is said of many lines is said once, above them."""
    alike: dict[str, list[Remark]] = {}
    for remark in remarks:
        alike.setdefault(remark.said, []).append(remark)
    lines: list[str] = []
    for remark in remarks:
        found = alike[remark.said]
        if len(found) < _MANY:
            lines += _remark(remark)
        elif remark is found[0]:
            lines += [*_wrapped(f"{visible(remark.said)}:"), *map(_below, found)]
    return lines


def _remark(remark: Remark) -> list[str]:
    where = f"line {remark.line}: " if remark.line else ""
    shown = _wrapped(visible(remark.text), "        | ", "        | ")
    return [*_wrapped(f"{where}{visible(remark.said)}"), *shown]


def _below(remark: Remark) -> str:
    lines = _wrapped(visible(remark.text), f"        line {remark.line}  | ", "        | ")
    return "\n".join(lines) or f"        line {remark.line}"


def _wrapped(text: str, first: str = "    ", then: str = "        ") -> list[str]:
    return textwrap.wrap(
        text,
        _WIDTH,
        initial_indent=first,
        subsequent_indent=then,
        break_long_words=False,
        break_on_hyphens=False,
    )


def as_json(brought: Sequence[Brought], fate: Mapping[Page, str], into: Mapping[Page, str]) -> str:
    """The report as schema/import.schema.json says. ``into`` is the path of each page that was written, or would
    be."""
    return written({"version": 1, "files": [_data(one, fate, into) for one in brought]}) + "\n"


def _data(one: Brought, fate: Mapping[Page, str], into: Mapping[Page, str]) -> dict[str, Any]:
    return {
        "file": one.file,
        "form": one.form,
        "refused": one.refused or None,
        "recipes": [
            {
                "name": page.name,
                "line": page.line,
                "file": into.get(page),
                "said": fate[page],
                "text": page.text,
            }
            for page in one.pages
        ],
        "remarks": [
            {"kind": remark.kind, "line": remark.line, "said": remark.said, "text": remark.text}
            for remark in one.remarks
        ],
    }
