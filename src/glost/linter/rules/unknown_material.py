"""A material that neither the catalogue nor the collection knows."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language import tree
from glost.language.diagnostics import Choice, Diagnostic
from glost.language.source import Edit
from glost.language.tables import lexicon
from glost.linter.rule import Checked, Expected, Rule

_WATERS = frozenset({"warm", "hot", "cold", "tap", "rain", "distilled", "deionised", "deionized", "boiled"})


def check(checked: Checked) -> Iterator[Diagnostic]:
    for item, material in checked.resolved.places():
        if (
            material is not None or item.name.kind
        ):  # a recipe is looked up by its name, and not among materials
            continue
        recipe = _recipe_of_that_name(checked, item)
        if recipe is not None:
            yield Diagnostic(
                item.name.span,
                f"'{item.name.text}' is no material that is known here, and a recipe is called so",
                f"write  {recipe}  if the recipe is meant",
                choices=(Choice(recipe, Edit(item.name.span, recipe)),),
            )
            continue
        *sort, last = item.name.text.casefold().split() or [""]
        if last == "water" and _WATERS.issuperset(sort):
            yield Diagnostic(
                item.name.span,
                f"'{item.name.text}' is no dry material, and a recipe is a list of these",
                "take the line away, and say how much belongs to the dry powder in a field such as  water: 85 %",
            )
            continue
        from glost.recipe.materials.meant import choices, meant, not_meant  # only a finding needs it

        found = meant(item.name.text, checked.catalogue)
        yield Diagnostic(
            item.name.span, *not_meant(item.name.text, found), choices=choices(found, item.name.span)
        )


def _recipe_of_that_name(checked: Checked, item: tree.Item) -> str | None:
    """How a recipe is written as an ingredient, where one is called as this line says."""
    library = checked.library
    if library is None:
        return None
    kind, _, rest = item.name.text.partition(" ")
    return library.recipe_called(item.name.text) or (
        library.recipe_called(rest) if rest and kind.lower() in lexicon().kinds else None
    )


RULE = Rule(
    name="unknown-material",
    level="error",
    summary="A material that neither the catalogue nor the collection knows.",
    why="""\
A name that nobody can place is a jar that nobody finds. It may be a slip of the pen, a shop's name for a common
powder, or a material that the studio no longer stocks. As long as it is unknown, nothing can be said of its
hazards or its chemistry, and the test cannot be repeated by anyone else.

A short word may mean several jars: iron is red, black or yellow iron oxide, and each gives another glaze. Such a word
is never taken for one of them; what it may be is listed, the usual one in studios first. What is restricted or
poisonous is never offered for the look of its letters: only where the element that harms was written, or the
material's own name.""",
    how_to_fix="""\
Take one of the names that are offered if one of them is meant. If the material is the studio's own, add it to
materials.yaml with its role and where its figures come from; an alias there lets every spelling in use stand.

Letter case, hyphens, the order of the words, a chemical formula and a grain (`silica 325 mesh`) are understood as they
stand.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nephelin syenite       40
    wollastonite           30
    grandfather's clay     25
    frit                    5
""",
    expected=(
        Expected(7, 5, "'nephelin syenite' is no material that is known here"),
        Expected(9, 5, "'grandfather's clay' is no material that is known here"),
        Expected(10, 5, "'frit' does not say which material it is"),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      40
    wollastonite           30
    kaolin                 25
    soda borate frit        5
""",
    check=check,
    doubtful=True,
)
