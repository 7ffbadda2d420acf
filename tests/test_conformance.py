"""The conformance corpus: pages of any bytes, and what each must give. Its README describes the form."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.parse import parse
from glost.language.source import DecodeError, Edit, Source, Span, apply, decode
from glost.language.tables import field_words
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.fields import FIELDS, Value
from glost.recipe.library import Kept, Library, Read
from glost.recipe.materials.catalogue import Catalogue, Material
from glost.recipe.recipe import Blend, Ingredient, Part, Recipe, Series, Step, part_of
from glost.recipe.recipe import tests as every_test
from glost.recipe.resolve import resolve, resolve_own

CORPUS = Path(__file__).parents[1] / "corpus" / "conformance"
ACCEPT = sorted((CORPUS / "accept").glob("*.glost"))
REJECT = sorted((CORPUS / "reject").glob("*.glost"))


def catalogue() -> Catalogue:
    """The few materials that the corpus knows, so that no case depends on the shipped catalogue."""
    entries = json.loads((CORPUS / "materials.json").read_text("utf-8"))["materials"]
    return Catalogue(Material(e["name"], "flux", "conformance", tuple(e["aliases"])) for e in entries)


MATERIALS = catalogue()
OF_THE_FILE = ("the file begins", "a line ends in CR LF")
"""Findings of the file rather than of the line they are shown on, which may hold another."""


def own(page: tree.Page) -> Read:
    resolved = resolve_own(page, MATERIALS)
    return Read(page, resolved.recipe, resolved.complete)


BESIDE = Library(
    lambda: [
        Kept(path.name, partial(path.read_text, "utf-8"))
        for path in sorted((CORPUS / "beside").glob("*.glost"))
    ],
    own,
)
"""The recipes that every case may use, and no others."""


def read(data: bytes) -> AnalysedRecipe:
    """What a file means. Raises DecodeError."""
    return resolve(parse(Source("page.glost", decode(data))), MATERIALS, BESIDE)


# ---- what was read, as plain data -------------------------------------------------------------------------


def figure(value: Decimal) -> str:
    """A number without idle zeros, never with an exponent."""
    text = f"{value:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


def field_text(value: Value) -> str:
    return ", ".join(value) if isinstance(value, tuple) and not hasattr(value, "unit") else str(value)


def ingredient(line: Ingredient) -> dict[str, Any]:
    said = {
        "name": line.name,
        "amount": figure(line.quantity.amount),
        "unit": line.quantity.unit,
        "note": line.note,
        "material": line.material,
    }
    return {key: value for key, value in said.items() if value or key in ("name", "amount", "unit")}


def comments(page: tree.Page) -> Iterator[str]:
    """Every comment with its #, in the order of the page."""
    for line in (*page.lead, *(line for block in page.blocks for line in (block.head, *block.lines))):
        match line:
            case tree.Remark(text):
                yield text
            case tree.Title() | tree.Field() | tree.Head() | tree.Item() | tree.Instruction() | tree.Own():
                if line.comment is not None:
                    yield line.comment.text


def meaning(resolved: AnalysedRecipe) -> dict[str, Any]:
    """The recipe, without what it does not hold."""
    recipe = resolved.recipe
    said = {
        "kind": recipe.kind if resolved.title else "",
        "name": recipe.name,
        "fields": {key: field_text(value) for key, value in recipe.fields.items()},
        "base": [ingredient(line) for line in recipe.base],
        "additions": [ingredient(line) for line in recipe.additions],
        "handling": [{"names": list(line.names), "text": line.text} for line in recipe.handling],
        "variations": [
            {"name": v.name, "additions": [ingredient(line) for line in v.additions]}
            | ({"base": [ingredient(line) for line in v.base]} if v.base else {})
            | ({"fields": dict(v.fields)} if v.fields else {})
            for v in recipe.variations
        ],
        "series": [{"name": s.name} | lines_of(s) for s in recipe.series],
        "blends": [{"name": b.name, "by": f"{figure(b.by)} %"} | lines_of(b) for b in recipe.blends],
        "uses": [
            {
                "name": name,
                "parts": [{"name": part.called, "share": fraction(part.exact)} for part in used.parts],
            }
            for name, used in recipe.uses.items()
        ],
        "notes": recipe.notes,
        "comments": list(comments(resolved.page)),
        "unknown fields": [key.text for key in resolved.unknown_fields],
    }
    return {key: value for key, value in said.items() if value}


def lines_of(block: Series | Blend) -> dict[str, Any]:
    said = {"base": [step(line) for line in block.base], "steps": [step(line) for line in block.steps]}
    return {key: value for key, value in said.items() if value or (key == "steps" and not block.base)}


def fraction(value: Fraction) -> str:
    """A number without idle zeros; one whose figures do not end, as a fraction in lowest terms."""
    shown = part_of("", None, value)
    return str(value) if shown.fraction is not None else figure(shown.parts)


def step(line: Step) -> dict[str, Any]:
    amounts = [f"{figure(quantity.amount)} {quantity.unit}".rstrip() for quantity in line.quantities]
    said = {"name": line.name, "amounts": amounts, "note": line.note, "material": line.material}
    return {key: value for key, value in said.items() if value}


def weighed(recipe: Recipe) -> list[dict[str, Any]]:
    """Every test of the recipe, its additions in parts; its base too, where that is not the recipe's own."""
    return [
        {"label": test.label}
        | ({"base": lines(test.base)} if recipe.uses or test.base_sets or test.point else {})
        | {"additions": lines(test.additions)}
        for test in every_test(recipe)
    ]


def lines(parts: Iterable[Part]) -> list[dict[str, str]]:
    return [{"name": part.called, "parts": fraction(part.exact)} for part in parts]


def diagnostics(resolved: AnalysedRecipe) -> list[Diagnostic]:
    return [*resolved.page.diagnostics, *resolved.diagnostics]


def finding(source: Source, diagnostic: Diagnostic) -> dict[str, Any]:
    start, end = source.position(diagnostic.span.start), source.position(diagnostic.span.end)
    assert end.line == start.line, "a finding stands on one line"
    found: dict[str, Any] = {
        "line": start.line,
        "column": start.column,
        "end_column": end.column,
        "message": diagnostic.message,
    }
    if diagnostic.edits:
        found["becomes"] = fixed_line(source, start.line, diagnostic)
    return found


def fixed_line(source: Source, number: int, diagnostic: Diagnostic) -> str:
    start = source.line_span(number).start
    after = source.text.find("\n", start)
    line = source.text[start : after if after >= 0 else len(source.text)]
    edits = [
        Edit(Span(e.span.start - start, e.span.end - start), e.text)
        for e in diagnostic.edits
        if start <= e.span.start and e.span.end <= start + len(line)
    ]
    return apply(line, edits)


def findings(data: bytes) -> list[dict[str, Any]]:
    """Every finding of a file, in the order of the page."""
    try:
        resolved = read(data)
    except DecodeError as error:
        line, column = error.position
        return [{"line": line, "column": column, "end_column": column, "message": error.message}]
    found = [finding(resolved.page.source, diagnostic) for diagnostic in diagnostics(resolved)]
    return sorted(found, key=lambda f: (f["line"], f["column"], f["message"]))


# ---- the cases --------------------------------------------------------------------------------------------


def case(path: Path) -> tuple[bytes, dict[str, Any]]:
    expected: dict[str, Any] = json.loads(path.with_suffix(".json").read_text("utf-8"))
    return path.read_bytes(), expected


@pytest.mark.parametrize("path", ACCEPT, ids=lambda path: path.stem)
def test_an_accepted_page_gives_exactly_its_recipe(path: Path) -> None:
    data, expected = case(path)
    resolved = read(data)
    assert diagnostics(resolved) == []
    assert resolved.complete is expected.get("usable", True)
    assert meaning(resolved) == expected["recipe"]
    assert figure(resolved.recipe.base_total) == expected["base total"]
    assert weighed(resolved.recipe) == expected["tests"]


@pytest.mark.parametrize("path", REJECT, ids=lambda path: path.stem)
def test_a_rejected_page_gives_exactly_its_findings_and_keeps_its_good_lines(path: Path) -> None:
    data, expected = case(path)
    assert findings(data) == expected["findings"]
    if expected["decodes"]:
        assert not read(data).complete
        assert meaning(read(data)) == expected["keeps"]


@pytest.mark.parametrize("path", REJECT, ids=lambda path: path.stem)
def test_a_fix_gives_a_line_that_reads(path: Path) -> None:
    data, expected = case(path)
    if not expected["decodes"]:
        return
    source = read(data).page.source
    fixed = [diagnostic for diagnostic in diagnostics(read(data)) if diagnostic.edits]
    # All together, since one line may stand right only when the line above it does.
    after = read(apply(source.text, [edit for diagnostic in fixed for edit in diagnostic.edits]).encode())
    left = diagnostics(after)
    lines = {after.page.source.position(diagnostic.span.start).line for diagnostic in after.page.diagnostics}
    for diagnostic in fixed:
        assert diagnostic not in left
        if not diagnostic.message.startswith(OF_THE_FILE):
            assert source.position(diagnostic.span.start).line not in lines


@pytest.mark.parametrize("path", [*ACCEPT, *REJECT], ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_the_bytes_are_those_described(path: Path) -> None:
    data, expected = case(path)
    assert len(data) == expected["bytes"], "run: python -m tests.generate conformance"
    assert expected["says"], "read what the page gives, and say what the case is about"
    try:
        decode(data)
    except DecodeError:
        assert not expected["decodes"]
    else:
        assert expected["decodes"]


def test_the_corpus_is_whole() -> None:
    assert len(ACCEPT) >= 300
    assert len(REJECT) >= 520
    for folder, pages in (("accept", ACCEPT), ("reject", REJECT)):
        described = {path.stem for path in (CORPUS / folder).glob("*.json")}
        assert described == {path.stem for path in pages}


def test_git_leaves_the_bytes_alone() -> None:
    assert (CORPUS / ".gitattributes").read_text("utf-8") == "* -text\n"


def test_the_words_that_a_missing_colon_is_told_by_are_the_fields() -> None:
    assert field_words() == tuple(FIELDS)
