"""A tile of a batch that the log does not have, or that was of another test."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import CheckedFiring, Expected, Rule
from glost.recipe.library import UseError
from glost.recipe.names import folded


def check(checked: CheckedFiring) -> Iterator[Diagnostic]:
    if checked.around is None:
        return
    for (_, said), tile in zip(checked.resolved.entries, checked.resolved.firing.tiles, strict=True):
        if not tile.batch:
            continue
        weighed = checked.around.batch(tile.batch)
        span = said["batch"].value.span
        if weighed is None:
            yield Diagnostic(
                span,
                "the log of this collection holds no such batch",
                "write the name of its file in the log, or take the line away",
            )
            continue
        name = f"{weighed.recipe}, {weighed.test}" if weighed.test else weighed.recipe
        if (
            tile.test is not None
            and folded(tile.test.name) != folded(name)
            and _is_there(checked, tile.test.kind, name)
        ):
            yield Diagnostic(
                span,
                f"this batch was one of '{name}', and the tile is a test of '{tile.test.name}'",
                "write the batch that the tile was dipped in, or the test that it is of",
            )


def _is_there(checked: CheckedFiring, kind: str, name: str) -> bool:
    """Whether the collection has a test of that name now. A recipe may have been given another name since it was
    weighed; the log keeps the one that it had."""
    if checked.library is None:
        return True
    try:
        checked.library.find(kind, name, checked.resolved.page)
    except UseError:
        return False
    return True


RULE = Rule(
    name="unknown-batch",
    level="error",
    summary="A tile of a batch that the log does not have, or that was of another test.",
    why="""\
The batch says what was really in the bucket, by whom it was weighed, and out of which lots. A tile that names a wrong
one puts its result below another recipe.""",
    how_to_fix="""\
Write the name of the record's file in the log, without its ending; `glost firing` begins a page in which it stands. A
tile whose batch was not recorded says only its test. A batch of a recipe that has another name now keeps the old
one, and that is left alone.""",
    bad="""\
firing "Small kiln 41"
date: 2026-05-14

tile "14-C":
    test: glaze "Harbour Mist"
    batch: 2026-05-02T10-22-05-harbour-mist-2b29422a
""",
    expected=(Expected(6, 12, "the log of this collection holds no such batch"),),
    good="""\
firing "Small kiln 41"
date: 2026-05-14

tile "14-C":
    test: glaze "Harbour Mist"
""",
    firing=check,
)
