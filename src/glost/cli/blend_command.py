"""glost blend."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.entries import Entries
from glost.cli.errors import sentence, show_error
from glost.cli.outputs import beginning
from glost.cli.streams import note, put_text, say
from glost.cli.tests_option import check_points, points_option
from glost.importer.page import stem_of
from glost.language.parse import parse
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.blend import BlendError, blend_page, house_notes, point_page, usual_label, usual_name
from glost.recipe.blends import count_of_points, divisions, steps_near
from glost.recipe.labels import labels_of
from glost.recipe.library import UseError
from glost.recipe.points import Points
from glost.recipe.recipe import Handling, Test, tests
from glost.recipe.resolve import resolve
from glost.weighing.units import read_volume
from glost.workspace.collection import Collections
from glost.workspace.load import Usable, job_of
from glost.workspace.outputs import write_new
from glost.workspace.paths import ENDING

if TYPE_CHECKING:
    from glost.output.format import Job
    from glost.output.wet_blend import WetBlend


class StepType(click.ParamType[Decimal]):
    """A step in per cent."""

    name = "step"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Decimal:
        if isinstance(value, Decimal):
            return value
        number = str(value).strip().removesuffix("%").rstrip()
        if not number.replace(".", "", 1).isdecimal() or not number.isascii():
            self.fail(f"'{plain.visible(str(value))}' is no step: write such as 25 %.", param, context)
        step = Decimal(number)
        if divisions(step) is None:
            near = " or ".join(f"{one} %" for one in steps_near(step)) or "25 %"
            self.fail(f"a step of {step:f} % does not divide 100: write {near}.", param, context)
        return step


class VolumeType(click.ParamType[Decimal]):
    """A volume in millilitres."""

    name = "volume"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Decimal:
        if isinstance(value, Decimal):
            return value
        try:
            return read_volume(str(value))
        except ValueError as error:
            self.fail(sentence(error), param, context)


class GravitiesType(click.ParamType[tuple[Decimal, ...]]):
    """Gravities of slips."""

    name = "gravities"

    def convert(
        self, value: object, param: click.Parameter | None, context: click.Context | None
    ) -> tuple[Decimal, ...]:
        words = [word.strip() for word in str(value).split(",")]
        for word in words:
            if not re.fullmatch(r"[1-9](?:\.[0-9]{1,6})?", word):
                self.fail(f"'{plain.visible(word)}' is no gravity: write such as 1.45, 1.50.", param, context)
        return tuple(map(Decimal, words))


EXAMPLES = (
    'glost blend corpus/studio/raku/{petrol-film,ember-crackle}.glost --by "50 %" --out blend.glost',
    "glost blend corpus/studio/blends/mist-to-ebb.glost --point 75/25 --out point.glost",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(), metavar="RECIPE...")
@click.option("--by", type=StepType(), metavar="STEP", help='How far two points lie apart, as "20 %".')
@click.option(
    "--test",
    "labels",
    multiple=True,
    metavar="LABEL",
    help="Which test of a recipe is the corner, if not itself.",
)
@click.option("--point", metavar="POINT", help="Write this point, as 75/25 or by its number, as a recipe.")
@click.option("--name", metavar="NAME", help="What the new recipe is called.")
@click.option(
    "--wet", type=VolumeType(), metavar="VOLUME", help='Plan cups poured by volume, each of this, as "60 ml".'
)
@click.option(
    "--gravity",
    "gravities",
    type=GravitiesType(),
    metavar="LIST",
    help='With --wet: what the slip of each corner weighs a millilitre, as "1.45, 1.50".',
)
@points_option
@click.option(
    "--output",
    type=click.Choice(("text", "markdown", "html", "json")),
    help="With --wet: text or a page for the bench, or JSON for a program.",
)
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE", help="The file to write.")
def command(
    files: Sequence[str],
    by: Decimal | None,
    labels: Sequence[str],
    point: str | None,
    name: str | None,
    wet: Decimal | None,
    gravities: tuple[Decimal, ...] | None,
    points: Points | None,
    output: str | None,
    out: Path | None,
) -> int:
    """Write a page that blends two, three or four recipes, or one point of a blend as a recipe.

    With several RECIPEs and --by: a line, a triangle or a square between them. With one RECIPE and --point: that
    point in raw materials, its base exactly 100. No file is ever written over. With one RECIPE and --wet: what to mix
    of each corner, and how many millilitres of each go into every cup.
    """
    if wet is not None:
        if by is not None or point is not None or name is not None or out is not None:
            raise click.UsageError("--wet prints a plan: leave --by, --point, --name and --out out.")
        return _wet(files, wet, gravities or (), points, labels, output or "text")
    if gravities is not None or points is not None or output is not None:
        raise click.UsageError(
            '--gravity, --points and --output belong to a blend that is poured: write --wet "60 ml" too.'
        )
    if out is None:
        raise click.UsageError("say with --out which file to write.")
    if not out.name.endswith(ENDING):
        raise click.UsageError(
            f"'{plain.visible(str(out))}' does not end in {ENDING}, so it would be no recipe."
        )
    with beginning(out):
        if out.exists():  # said before its name stands in the way of a recipe that it takes
            raise FileExistsError
    if (by is None) == (point is None):
        raise click.UsageError(
            "write  --by STEP  to blend recipes, or  --point POINT  to write one of its points."
        )
    if name is not None and ('"' in name or not name.strip() or "\n" in name):
        raise click.UsageError("a name holds no double quote and no line break, and is not empty.")
    entries = [
        Entries([file], "not blended") for file in files
    ]  # each by itself: their order is that of the corners
    try:
        found = [entry for one in entries for entry in one]
        status = max(one.status for one in entries)
        if status != CLEAN:
            return status
        if point is not None:
            text, told = _point(found, point, labels, name, out, entries[0].collections)
        else:
            assert by is not None
            text, told = _blend(found, by, labels, name, out)
        with beginning(out):
            write_new(out, text)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    except (BlendError, UseError) as error:
        raise click.UsageError(plain.visible(f"{error.message}; {error.hint}.")) from None
    note(f"{plain.visible(str(out))}: {told}\n")
    return CLEAN


def _blend(
    found: Sequence[Usable], by: Decimal, labels: Sequence[str], name: str | None, out: Path
) -> tuple[str, str]:
    if not 2 <= len(found) <= 4:
        raise click.UsageError(f"a blend has 2, 3 or 4 corners, and {len(found)} recipes are named here.")
    corners = _corners(found, labels)
    twice = [
        corner.name for at, corner in enumerate(corners) if corner.name in [c.name for c in corners[:at]]
    ]
    if twice:
        raise click.UsageError(
            f"'{plain.visible(twice[0])}' is the corner twice: name another recipe or --test."
        )
    wanted = " ".join((name or _name(out, usual_name(corners))).split())
    house = [
        note for entry, corner in zip(found, corners, strict=True) for note in _house(entry, corner, out)
    ]
    text = blend_page(wanted, corners, by, usual_label(len(corners)), house)
    library = Collections().library(out)
    for entry, corner in zip(found, corners, strict=True):
        used = library.find(corner.recipe.kind, corner.name, entry.page)
        if Path(used.file).resolve() != Path(entry.file).resolve():
            raise BlendError(
                f"'{corner.name}' is the name of {used.file} in the collection of {out}, and not of {entry.file}",
                "write the page into the collection of its recipes",
            )
    count = count_of_points(len(corners), by)
    resolved = resolve(parse(Source(str(out), text)), Collections().of(out).catalogue, library)
    if not resolved.complete:
        wrong = next(iter((*resolved.page.diagnostics, *resolved.diagnostics)))
        raise BlendError(
            f"a page of {count} points could not be read: {wrong.message}",
            "take a larger step or fewer corners",
        )
    return text, f"{count} points between {len(corners)} corners"


def _corners(found: Sequence[Usable], labels: Sequence[str]) -> list[Test]:
    """The corner of each recipe: itself, or the test that one of the labels means."""
    left = list(labels)
    corners = []
    for entry in found:
        every = list(tests(entry.recipe))
        asked = [test for test in every if labels_of(test, left)]
        if len(asked) > 1:
            raise click.UsageError(
                f"'{plain.visible(entry.file)}' has several of these tests: name one for each recipe."
            )
        if asked:
            for label in labels_of(asked[0], left):
                left.remove(label)
        elif every[0].label:
            raise click.UsageError(
                f"'{plain.visible(entry.file)}' has no base of its own: say with --test which of its tests is meant."
            )
        corners.append((asked or every)[0])
    if left:
        raise click.UsageError(f"no recipe here has a test '{plain.visible(left[0])}'.")
    return corners


def _point(
    found: Sequence[Usable],
    point: str,
    labels: Sequence[str],
    name: str | None,
    out: Path,
    collections: Collections,
) -> tuple[str, str]:
    if len(found) != 1:
        raise click.UsageError("--point takes one recipe, the page of the blend.")
    try:
        points = Points(point)
    except ValueError as error:
        raise click.UsageError(plain.visible(f"{error}.")) from None
    recipe = found[0].recipe
    every = [test for test in tests(recipe) if test.point is not None]
    if not every:
        raise click.UsageError(f"'{plain.visible(found[0].file)}' holds no blend.")
    if labels:
        every = [test for test in every if test.block_name in labels]
    meant = list(points.of(every))
    if len(meant) != 1:
        shown = ", ".join(test.label for test in (meant or every[:8]))
        many = f"{len(meant)} points" if meant else "no point"
        raise click.UsageError(
            plain.visible(
                f"'{point}' means {many} here; with  --test BLEND  those of one blend. There are: {shown}."
            )
        )
    test = meant[0]
    text = point_page(
        test,
        " ".join((name or _name(out, test.name)).split()),
        _revision(found[0], collections),
        _house(found[0], test, out),
    )
    return text, f'{test.label} of "{recipe.name}" as a recipe, its base exactly 100'


def _house(entry: Usable, test: Test, out: Path) -> list[Handling]:
    """The notes of the house of a recipe that hold for a test, where the new page is to stand outside of it: they would
    be lost on the way."""
    collection = entry.collection
    if Collections().root_of(out) == collection.root:
        return []
    return list(house_notes([test], collection.settings, collection.catalogue))


def _wet(
    files: Sequence[str],
    ml: Decimal,
    gravities: Sequence[Decimal],
    wanted: Points | None,
    labels: Sequence[str],
    output: str,
) -> int:
    from glost.output.wet_blend import wet_blend

    if len(files) != 1:
        raise click.UsageError("--wet takes one recipe, the page of the blend.")
    entries = Entries(files, "not planned")
    try:
        entry = entries.one()
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if entry is None:
        return entries.status
    blends: dict[str, list[Test]] = {}
    for test in tests(entry.recipe):
        if test.point is not None and (not labels or test.block_name in labels):
            blends.setdefault(test.block_name, []).append(test)
    if not blends:
        raise click.UsageError(
            f"'{plain.visible(entry.file)}' holds no blend{' of that name' if labels else ''}."
        )
    if len(blends) > 1:
        raise click.UsageError(
            f"'{plain.visible(entry.file)}' holds several blends: name one with --test, "
            f"{plain.visible(', '.join(blends))}."
        )
    (every,) = blends.values()
    chosen = every if wanted is None else list(wanted.of(every))
    check_points(wanted)
    collection = entry.collection
    try:
        made = wet_blend(every, chosen, ml, gravities, collection.settings, collection.catalogue, entry.file)
    except ValueError as error:
        show_error(error, f"{plain.visible(entry.file)}: not planned")
        return FINDINGS
    _put(made, job_of(entry), output)
    return CLEAN


def _put(made: WetBlend, job: Job, output: str) -> None:
    from glost.output.model.markdown import as_markdown
    from glost.output.wet_blend import as_text
    from glost.output.wet_data import as_json
    from glost.output.wet_page import as_page, content

    match output:
        case "html":
            put_text(as_page(made, job))
        case "json":
            put_text(as_json(made))
        case "markdown":
            put_text(as_markdown(content(made, job)))
        case _:
            say(as_text(made))


def _name(out: Path, usual: str) -> str:
    """What the recipe in a new file is called: as usual where the file is called so, else as the file is, so that the
    two agree."""
    stem = out.name.removesuffix(ENDING)
    if stem_of(usual) == stem_of(stem) or '"' in stem or not stem.isprintable():
        return usual
    words = stem.replace("-", " ").replace("_", " ").split()
    return " ".join(word[0].upper() + word[1:] for word in words) or usual


def _revision(entry: Usable, collections: Collections) -> str:
    """The revision of a page, as the origin of what is made of it says it."""
    from glost.workspace.git.last_commit import NotKnown, last_commits

    found = last_commits([entry.path], collections.root_of).get(entry.path)
    if found is None or isinstance(found, NotKnown):
        return ""
    return f"revision {found.short}{', changed since' if found.changed else ''}"
