"""Invented pages of old notes, and what is expected of each, written by hand beside it."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from glost.importer.import_file import LARGEST, Brought, bring, form_of
from glost.importer.materials import Names
from glost.language.parse import parse
from glost.language.source import DecodeError, Source
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import Ingredient, Recipe
from glost.recipe.resolve import resolve_own
from glost.workspace.files import read_text

PAGES = Path(__file__).parent / "pages"
NAMES = sorted(path.name for path in PAGES.iterdir() if path.suffix != ".expected")
CATALOGUE = shipped_catalogue()
UNITS = ("%", "g", "kg", "oz", "lb")

Line = tuple[str, Decimal, str]


@dataclass
class Expected:
    """What a page comes to: a recipe an entry, and the lines of the report by kind."""

    recipes: list[dict[str, object]] = field(default_factory=list)
    lines: dict[str, set[int]] = field(default_factory=dict)
    refused: str = ""


def brought(name: str) -> Brought:
    form = form_of(name)
    try:
        text = read_text(PAGES / name, LARGEST[form])
    except DecodeError as error:
        return Brought(name, form, refused=error.message)
    return bring(name, text, form, Names(CATALOGUE), set())


def expected(name: str) -> Expected:
    """Reads the file beside a page. A recipe is opened by ``recipe``; ``kind`` stands before it."""
    out, kind = Expected(), "glaze"
    for line in (PAGES / f"{name}.expected").read_text("utf-8").splitlines():
        word, _, rest = line.partition(" ")
        if word == "kind":
            kind = rest
        elif word == "recipe":
            out.recipes.append({"kind": kind, "name": rest, "base": [], "added": [], "variations": {}})
        elif word in ("base", "added"):
            out.recipes[-1][word] = lines_of(rest)
        elif word == "variation":
            label, _, inside = rest.partition(": ")
            out.recipes[-1]["variations"] = {label: lines_of(inside)}
        elif word == "fields":
            pairs = (pair.partition("=") for pair in rest.split())
            out.recipes[-1]["fields"] = {key: value.replace("_", " ") for key, _, value in pairs}
        elif word == "notes":
            out.recipes[-1]["notes"] = rest
        elif word == "refused":
            out.refused = rest
        elif word:
            out.lines[word] = set(map(int, rest.split()))
    return out


def lines_of(text: str) -> list[Line]:
    out = []
    for part in text.split(", "):
        words = part.split(" ")
        unit = words.pop() if words[-1] in UNITS else ""
        out.append((" ".join(words[:-1]), Decimal(words[-1]), unit))
    return out


def lines(ingredients: tuple[Ingredient, ...]) -> list[Line]:
    return [(one.name, one.quantity.amount, one.quantity.unit) for one in ingredients]


def read(text: str) -> Recipe:
    """The recipe on a page, which must be without a diagnostic."""
    page = parse(Source("page", text))
    resolved = resolve_own(page, CATALOGUE)
    assert (page.diagnostics, resolved.diagnostics) == ((), ())
    return resolved.recipe
