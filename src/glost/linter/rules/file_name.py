"""The recipe's name and its file's name differ."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePosixPath

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    title = checked.resolved.title
    if title is None or checked.file in {"", "-"}:
        return
    stem = PurePosixPath(checked.file.replace("\\", "/")).stem
    if bare(stem) != bare(title.name.text):
        yield Diagnostic(
            title.name.span,
            f"the recipe is called '{title.name.text}', and its file '{stem}'",
            f"rename the file to {_as_file(title.name.text)}.glost, or the recipe",
        )


def bare(name: str) -> str:
    """The letters and figures of a name; how the words are joined does not matter."""
    return "".join(character for character in name.casefold() if character.isalnum())


def _as_file(name: str) -> str:
    words = "".join(character if character.isalnum() else " " for character in name.casefold()).split()
    return "-".join(words) or "recipe"


RULE = Rule(
    name="file-name",
    level="hint",
    summary="The recipe's name and its file's name differ.",
    why="""\
A recipe is looked for by its name, in the folder and in the history. The usual cause is a file that was copied to start
a new recipe and kept the old name inside; the sheet on the bench then carries the wrong heading. Letter
case and the signs between the words do not matter.""",
    how_to_fix="""\
Rename the file (`git mv` keeps its history) or the recipe, whichever is wrong.""",
    bad="""\
glaze "Harbour Fog"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(1, 7, "the recipe is called 'Harbour Fog', and its file 'harbour-mist'"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    check=check,
)
