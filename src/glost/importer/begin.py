"""First pages: a recipe to fill in, and the files that a collection begins with. Pure: texts, no file is touched.

What is written is in the language itself, so that whoever reads it has learnt it; all of it can be read and checked by
glost as it stands, but for a base that is left to be filled in.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from glost.errors import GlostError, ValueRefusedError
from glost.importer.page import stem_of
from glost.language.diagnostics import Diagnostic
from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.fields import FIELDS
from glost.recipe.materials.catalogue import Catalogue, shipped_catalogue
from glost.recipe.recipe import total
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings, read_settings
from glost.weighing.units import read_mass

HANDLING = (
    "P100 or P3 respirator and gloves for dry powder; wet-clean, never sweep. The supplier's safety data sheet comes"
    " first."
)
"""The usual note to begin with: common practice."""

_TO_FILL_IN = """\
base:
    # One material and its parts on each line, 100 in all, such as
    # silica  25
    # What comes on top of the 100 goes below a head  additions:  of its own, in column one.
"""


class PageError(GlostError):
    """What was asked for makes no page; ``diagnostics`` say where in ``source``."""

    def __init__(self, source: Source, diagnostics: Sequence[Diagnostic]) -> None:
        super().__init__(diagnostics[0].message, diagnostics[0].hint)
        self.source = source
        self.diagnostics = tuple(diagnostics)


def file_of(name: str) -> str:
    """The file that a recipe of that name goes into."""
    return f"{stem_of(name)}.glost"


def check_line(line: str) -> None:
    """Raises PageError where that is no line of a base."""
    _read(f'glaze "x"\nbase:\n    {line}\n', "line", shipped_catalogue())


def check_field(key: str, value: str) -> None:
    """Raises ValueRefusedError where a field does not take that value."""
    if len(value.splitlines()) > 1:
        raise ValueRefusedError(f"the {key} is one line", "leave the line break out")
    FIELDS[key].read(value.strip())


def parts_of(lines: Sequence[str], catalogue: Catalogue) -> Decimal:
    """What so many lines of a base come to."""
    text = f'glaze "x"\nbase:\n{"".join(f"    {line}{chr(10)}" for line in lines)}'
    return total(resolve(parse(Source("", text)), catalogue).recipe.base) if lines else Decimal(0)


def recipe_page(
    name: str, kind: str, fields: Mapping[str, str], base: Sequence[str] = (), additions: Sequence[str] = ()
) -> str:
    """The page of a new recipe. ``base`` and ``additions``: lines as a page has them, "silica 25"; without a base the
    page has room for one. Raises PageError."""
    given = [name, *fields.values(), *base, *additions]
    if any(len(text.splitlines()) > 1 for text in given):
        raise ValueRefusedError(
            "a name, a field and a line of a recipe are one line each", "leave line breaks out"
        )
    quoted = name.strip().removeprefix('"').removesuffix('"')
    head = [f'{kind} "{quoted}"', *(f"{key}: {value.strip()}" for key, value in fields.items()), ""]
    handling = ["handling:", f"    all: {HANDLING}"]
    if not base:
        _read("\n".join([*head, "base:", "    silica 100", ""]), file_of(name), shipped_catalogue())
        return "\n".join([*head, _TO_FILL_IN, *handling, ""])
    lines = [*head, "base:", *(f"    {line}" for line in base), ""]
    if additions:
        lines += ["additions:", *(f"    {line}" for line in additions), ""]
    return _read("\n".join([*lines, *handling, ""]), file_of(name), shipped_catalogue())


def _read(text: str, file: str, catalogue: Catalogue) -> str:
    """The text laid out, where all of it can be read. Raises PageError."""
    source = Source(file, text)
    page = parse(source)
    diagnostics = page.diagnostics or resolve(page, catalogue).diagnostics
    if diagnostics:
        raise PageError(source, diagnostics)
    return format_text(page)


# ---- a collection --------------------------------------------------------------------------------------


class NewBalance(NamedTuple):
    """A balance as it was told: its name, and two masses as they are written, such as "300 g"."""

    name: str
    capacity: str
    readability: str


USUAL_BALANCES = (NewBalance("fine", "300 g", "0.01 g"), NewBalance("floor", "6 kg", "0.1 g"))

FIRST_RECIPE = "First Light"


def read_balance(text: str) -> NewBalance:
    """ "fine, 300 g, 0.01 g": name, what it carries, what it reads. Raises ValueRefusedError."""
    words = [word.strip() for word in text.split(",")]
    if len(words) != 3 or not all(words) or len(text.splitlines()) > 1:
        raise ValueRefusedError(
            f"'{text}' is no balance",
            'write its name, what it carries and what it reads: "fine, 300 g, 0.01 g"',
        )
    balance = NewBalance(*words)
    for mass in balance[1:]:
        read_mass(mass)
    return balance


def collection_files(
    name: str, balances: Sequence[NewBalance] = USUAL_BALANCES, batch: str = "100 g", note: str = HANDLING
) -> dict[str, str]:
    """The files that a collection begins with, by name. Raises ConfigError where one of the values cannot stand in
    glost.yaml."""
    texts = {
        "glost.yaml": _settings(name, balances, batch, note),
        "materials.yaml": _MATERIALS,
        file_of(FIRST_RECIPE): _FIRST_PAGE,
        ".gitignore": _IGNORED,
    }
    settings_of(texts["glost.yaml"])
    return texts


def settings_of(text: str) -> Settings:
    """What a new glost.yaml says. Raises ConfigError."""
    return read_settings(Source("glost.yaml", text), frozenset())


def _settings(name: str, balances: Iterable[NewBalance], batch: str, note: str) -> str:
    rows = "\n".join(
        f"  - {{name: {_yaml(one.name)}, capacity: {one.capacity}, readability: {one.readability}}}"
        for one in balances
    )
    notes = "\n".join(f"  {material}: {_yaml(note)}" for material in _DUSTY)
    return _SETTINGS.format(name=_yaml(name), balances=rows, batch=batch, notes=notes)


def _yaml(text: str) -> str:
    """A text in double quotes, as YAML 1.2 and JSON have them alike."""
    return json.dumps(text, ensure_ascii=False)


_DUSTY = ("silica", "kaolin", "ball clay", "nepheline syenite", "whiting")

_SETTINGS = """\
# The settings of this collection. Every key may be left out; docs/collection.md of glost tells of all of them.
name: {name}

# The mass of the base where neither the recipe nor the command says one.
batch: {batch}

# The balances: what each carries and what it reads. glost picks the surest one for each line, and says what is
# too small to weigh. Weigh your empty cup as well, and write  cup: 85 g  behind the readability.
balances:
{balances}

# Materials of your own: an ash, a clay from the bank.
materials: materials.yaml

# House notes: printed on every sheet that uses the material, and an answer to the rule missing-handling-note for
# all recipes at once. Write what your studio really does; the supplier's safety data sheet and local codes come first.
handling:
{notes}
"""

_MATERIALS = """\
# Materials that glost's own catalogue does not hold (glost materials lists what it does hold). An entry looks like
# this one; the ash, its source and its figures are invented. Take away the signs # in front to write your own.
#
#  - name: orchard ash
#    aliases: [apple ash]
#    role: ash
#    source: prunings of the orchard, washed twice, 80 mesh
#    hazards: [H315, H319]
#    hazard source: supplier's safety data sheet
#    analysis: {SiO2: 14.6, Al2O3: 3.1, CaO: 38.9, MgO: 5.4, K2O: 4.1, P2O5: 3.8}
#    loss: 30.1
materials: []
"""

_FIRST_PAGE = """\
glaze "First Light"
cone: 6
atmosphere: oxidation
origin: an invented example to begin with; never fired
use: test

base:
    nepheline syenite      40
    silica                 25
    whiting                20
    kaolin                 15

notes:
    Nobody has fired this. It shows how a page is written: change it, or take it away.
"""

_IGNORED = """\
# Made anew from the recipes at any time.
sheets/
*.html
*.part
"""
