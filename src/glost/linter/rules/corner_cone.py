"""A recipe among the ingredients that fires at another cone, or in another atmosphere, than this page says."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.cone import Cone, read_cone
from glost.recipe.recipe import Used


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    recipe = resolved.recipe
    if not resolved.complete or not recipe.uses:
        return
    told: set[str] = set()
    for one in checked.weighed:
        used = one.through
        if used is None or used.written in told:
            continue
        told.add(used.written)
        said = [
            *_cones(recipe.fields.get("cone"), used),
            *_atmospheres(recipe.fields.get("atmosphere"), used),
        ]
        if said:
            yield Diagnostic(
                one.item.name.span,
                f"{used.written} is for {' and '.join(theirs for theirs, _ in said)}, and this page for "
                f"{' and '.join(ours for _, ours in said)} ({used.file})",
                "fire one of them where it was made for, or write behind the line  # allow corner-cone: what is looked "
                "for",
            )


def _cones(ours: object, used: Used) -> Iterator[tuple[str, str]]:
    """Both, where there is no cone that both name."""
    text = dict(used.fields).get("cone")
    if not isinstance(ours, Cone) or not ours.known or text is None:
        return
    theirs = read_cone(text)
    if not theirs.known:
        return
    low, high = ours.ranks
    first, last = theirs.ranks
    if last < low or high < first:
        yield f"cone {theirs}", f"cone {ours}"


def _atmospheres(ours: object, used: Used) -> Iterator[tuple[str, str]]:
    theirs = dict(used.fields).get("atmosphere")
    if ours and theirs and str(ours).casefold() != theirs.casefold():
        yield theirs, str(ours)


RULE = Rule(
    name="corner-cone",
    level="warning",
    summary="A recipe among the ingredients is for another cone or atmosphere than the page.",
    why="""\
A recipe brings its materials into a mix and nothing of its firing. A low-fire glaze in one corner of a cone 6
triangle runs off the tile onto the shelf, and a corner from reduction shows in oxidation another colour than the one
it was chosen for. Each recipe among the ingredients, a corner of a blend or a line of a base, is held against the
cone and the atmosphere of the page, where both say them; a range of cones that reaches the other is no finding. The
page of the recipe is named, since that is where its firing stands.""",
    how_to_fix="""\
Correct the field that is wrong, or take a corner that fires with the others. Where melting one with the other is the
very test, say so in an allowance, and put a catch tray below the tile.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 1 kg

base blend "line" by 25 %:
    glaze "Quay Fog"       100, 0
    nepheline syenite        0, 60
    whiting                  0, 40
""",
    beside="""\
glaze "Quay Fog"
cone: 04
atmosphere: reduction
origin: a friend's notebook
batch: 1 kg

base:
    nepheline syenite      70
    whiting                30
""",
    expected=(
        Expected(
            8,
            5,
            'glaze "Quay Fog" is for cone 04 and reduction, and this page for cone 6 and oxidation (beside.glost)',
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 1 kg

base blend "line" by 25 %:
    soda feldspar          100, 0
    nepheline syenite        0, 60
    whiting                  0, 40
""",
    check=check,
)
