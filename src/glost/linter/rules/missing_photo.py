"""A tile whose photo is not there."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import CheckedFiring, Expected, Rule


def check(checked: CheckedFiring) -> Iterator[Diagnostic]:
    if checked.around is None:
        return
    for (_, said), tile in zip(checked.resolved.entries, checked.resolved.firing.tiles, strict=True):
        if tile.photo and not checked.around.has_photo(tile.photo):
            yield Diagnostic(
                said["photo"].value.span,
                f"there is no file '{tile.photo}' beside this page",
                "put the picture there, or write where it lies, seen from this page",
            )


RULE = Rule(
    name="missing-photo",
    level="warning",
    summary="A tile whose photo is not there.",
    why="""\
Words for a surface wear out; the picture is what people come back to. One that was never copied from the phone, or was
moved since, is noticed today, while somebody still has it.""",
    how_to_fix="""\
Put the picture where the line says, or write the line anew. Large and small letters count.""",
    bad="""\
firing "Small kiln 41"
date: 2026-05-14

tile "14-C":
    test: glaze "Harbour Mist"
    photo: photos/14-c.jpg
""",
    expected=(Expected(6, 12, "there is no file 'photos/14-c.jpg' beside this page"),),
    good="""\
firing "Small kiln 41"
date: 2026-05-14

tile "14-C":
    test: glaze "Harbour Mist"
""",
    firing=check,
)
