"""A material under another name than its canonical one."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.language.source import Edit
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.materials.catalogue import key


def check(checked: Checked) -> Iterator[Diagnostic]:
    for item, material in checked.resolved.places():
        if material is None or item.name.text == material:
            continue
        written = item.name.text
        from glost.recipe.materials.meant import meant  # only a finding needs it

        found = meant(written, checked.catalogue)
        if found.grade and key(_without(written, found.grade)) == key(material):
            continue  # the canonical name, with its grain
        if key(written) == key(material):
            message = f"'{written}' differs from {material} in letter case or blanks"
        elif found.how == "spelling":
            message = f"'{written}' is {material} in another spelling"
        else:
            message = f"'{written}' is {material} by another name"
        name = f"{material} {found.grade}" if found.grade else material
        yield Diagnostic(
            item.name.span,
            message,
            f"write {name}; glost lint --fix writes it",
            (Edit(item.name.span, _written(name)),),
        )


def _without(name: str, grade: str) -> str:
    """A name without its grade and the signs that set it off."""
    return name.replace(grade, " ").strip(" ,;-()[]")


def _written(name: str) -> str:
    """The name as a recipe writes it: in quotes where it ends in a figure or holds a sign with a meaning."""
    last = name.rsplit(" ", 1)[-1]
    plain = not (set(name) & set('#%(),:;=|"')) and not last[:1].isdigit() and not last.startswith(".")
    return name if plain and all(word[:1].isalnum() for word in name.split(" ")) else f'"{name}"'


RULE = Rule(
    name="other-name",
    level="hint",
    summary="A material under another name than its canonical one.",
    why="""\
Every spelling in the catalogue is understood, and the studio's names are its own. But one name for one jar makes a
shelf, a pull list and a comparison of two recipes easier to read, and a search finds every recipe that uses the
material. A collection whose people prefer their names sets this rule to off.""",
    how_to_fix="""\
`glost lint --fix` writes the canonical name; a grain behind it (325 mesh) is kept as written. Or make your name the
canonical one: an entry in materials.yaml with that name and the others as aliases.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    calcium carbonate      40
""",
    expected=(Expected(8, 5, "'calcium carbonate' is whiting by another name"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting      40
""",
    fixed="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting      40
""",
    check=check,
)
