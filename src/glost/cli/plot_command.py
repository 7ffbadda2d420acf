"""glost plot."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import click

from glost.chemistry.firing import Calculator
from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import files, keep_recipes, number_of, show_undone
from glost.cli.entries import Entries
from glost.cli.errors import show_error, usage_error
from glost.cli.lineage import Version, versions_in
from glost.cli.outputs import force_option, refusing
from glost.cli.progress import counted
from glost.cli.streams import note
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.plot.chart import Chart, chart, path_chart
from glost.output.plot.page import page
from glost.output.plot.path import Past, stops_of
from glost.output.plot.points import FIGURES, Axes, Given, Wanted, points, wanted_cones
from glost.output.plot.svg import DRAWN, svg
from glost.output.web import GENERATED
from glost.recipe.cone import read_cone
from glost.recipe.fields import ATMOSPHERES
from glost.recipe.materials.catalogue import Catalogue
from glost.workspace.collection import Collections
from glost.workspace.git.folders import Places
from glost.workspace.git.run import GitError
from glost.workspace.load import Usable, usable
from glost.workspace.outputs import OneOutput
from glost.workspace.paths import STANDARD_INPUT

_FORMS = {".svg": (svg, DRAWN), ".html": (page, GENERATED)}


EXAMPLES = (
    "glost plot corpus/studio --out plot.html",
    "glost plot corpus/studio --cone 5-7 --out plot.svg",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    required=True,
    help="The file to write: .svg is a drawing, .html a page with a filter.",
)
@click.option("--cone", metavar="CONES", help='Only glazes for these cones, such as "6" or "5-7".')
@click.option(
    "--atmosphere",
    "atmospheres",
    type=click.Choice(ATMOSPHERES),
    multiple=True,
    help="Only glazes for this atmosphere; may be given several times.",
)
@click.option(
    "--across",
    type=click.Choice(list(FIGURES)),
    default=Axes().across,
    show_default=True,
    help="What is drawn from left to right, in mol to one mol of flux.",
)
@click.option(
    "--up",
    type=click.Choice(list(FIGURES)),
    default=Axes().up,
    show_default=True,
    help="What is drawn upwards.",
)
@force_option
def command(
    paths: Sequence[str],
    out: Path,
    cone: str | None,
    atmospheres: Sequence[str],
    across: str,
    up: str,
    force: bool,
) -> int:
    """Draw the path of one recipe through its revisions, variations and blends, or the glazes of a collection: a file,
    or files, folders, or - for standard input (default: this folder).

    One recipe is drawn before its collection, for which --cone and --atmosphere choose. The glazes of a collection are
    drawn each as it stands, without its variations, a panel for each range of cones. What holds a material of which
    nothing is known has no place on the chart, and is named.
    """
    if out.suffix.lower() not in _FORMS:
        raise click.UsageError(f"'{plain.visible(str(out))}' ends neither in .svg nor in .html.")
    if across == up:
        raise click.UsageError(f"--across and --up are both {across}: every glaze would lie on one line.")
    wanted, axes = _wanted(cone, atmospheres), Axes(across, up)
    meant = ", ".join(filter(None, (f"cone {cone}" if cone else "", " or ".join(atmospheres))))
    form, mark = _FORMS[out.suffix.lower()]
    one = len(paths) == 1 and paths[0] != STANDARD_INPUT and Path(paths[0]).is_file()
    try:
        if one:
            made, status, told = _path_of(Path(paths[0]), out, wanted, meant, axes)
        else:
            made, status, told = _all_of(paths, out, wanted, meant, axes)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    if made is None:
        return status
    try:
        with refusing():
            OneOutput(out, mark, force).write(form(made))
    except OSError as error:
        note(f"glost: {plain.visible(str(out))} could not be written: {error.strerror}\n")
        return UNUSABLE
    for left in made.left_out:
        note(f"{plain.visible(left.name)}: not on the chart; {plain.visible(left.why)}\n")
    note(f"{plain.visible(str(out))}: {told}\n")
    return status


_Made = tuple[Chart | None, int, str]
"""A chart, the exit status, and what is said of it; no chart where there is nothing to draw."""


def _all_of(paths: Sequence[str], out: Path, wanted: Wanted, meant: str, axes: Axes) -> _Made:
    """The glazes of a collection."""
    entries = Entries(paths, "not drawn")
    found = list(_counted(entries))
    keep_recipes([out], (entry.path for entry in found), entries.collections)
    drawn, left_out = points(_given(found), wanted, axes)
    names = dict.fromkeys(entry.collection.called for entry in found if entry.collection.called)
    made = replace(chart(drawn, left_out, meant, axes), collections=tuple(names))
    return made, entries.status, f"{number_of(len(drawn), 'glaze')} drawn"


def _counted(entries: Entries) -> Iterator[Usable]:
    """The recipes, with how many are read; how many there are is known once the first is."""
    reading = iter(entries)
    first = next(reading, None)
    if first is not None:
        yield first
        yield from counted(reading, "read", len(entries.found))


def _path_of(path: Path, out: Path, wanted: Wanted, meant: str, axes: Axes) -> _Made:
    """One recipe through its revisions and variations, before its collection."""
    collections = Collections()
    root = collections.root_of(path) or path.parent
    near = [one for one in files([str(root)], collections) if not _is_same(one, path)]
    keep_recipes([out], [path, *near], collections)
    now = usable(path, collections)
    if not isinstance(now, Usable):
        return None, show_undone(now.file, now.findings, "not drawn"), ""
    if now.recipe.kind != "glaze":
        raise click.UsageError(
            f"'{plain.visible(str(path))}' is a recipe of the kind {now.recipe.kind}; only glazes are drawn."
        )
    versions = _versions(path, collections)
    past = list(_past(version for version in versions if version.commit is not None and not version.gone))
    kiln = Calculator(now.collection.catalogue)
    is_changed = len({_said_by(version) for version in versions[-2:]}) > 1 and versions[-1].commit is None
    stops, on_path, net = stops_of(now.file, past, now.recipe, kiln, axes, is_changed)
    gated = [usable(one, collections) for one in counted(near, "read", len(near))]
    others = [one for one in gated if isinstance(one, Usable)]
    if len(others) < len(gated):
        unread = number_of(len(gated) - len(others), "recipe")
        note(f"{unread} of the collection not drawn behind it, since not read whole; run glost lint\n")
    behind, left_out = points(_given(others), wanted, axes)
    made = path_chart(now.recipe.name, stops, on_path, behind, left_out, meant, axes, net)
    for stop in stops:
        if stop.point is None:
            note(f"{plain.visible(stop.what)}: not on the chart; {plain.visible(stop.why)}\n")
    of_blends = sum(bool(stop.board) for stop in stops)
    revisions = number_of(sum(not stop.aside for stop in stops), "revision")
    aside = number_of(sum(stop.aside for stop in stops) - of_blends, "variation")
    blended = f" and {number_of(of_blends, 'point')} of blends" if of_blends else ""
    told = f"{revisions}{',' if blended else ' and'} {aside}{blended} drawn, before {number_of(len(behind), 'glaze')}"
    return made, CLEAN, told


def _is_same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def _versions(path: Path, collections: Collections) -> list[Version]:
    """The file in the commits of the main line, the oldest first, and last as it lies in its folder, where that says
    otherwise; where there are none to be had, that is told."""
    top, own = Places(collections.root_of).of(path)
    if top is None or own is not None:
        note(f"{plain.visible(str(path))}: in no git repository of its collection; drawn without revisions\n")
        return []
    try:
        return versions_in(top, path, collections, mainline=True)[::-1]
    except GitError as error:
        note(f"glost: git could not tell the history: {plain.visible(str(error))}\n")
        return []


def _said_by(version: Version) -> str:
    """What tells the collection of a version from any other."""
    return version.found.collection.says if isinstance(version.found, Usable) else ""


def _past(versions: Iterable[Version]) -> Iterator[Past]:
    kilns: dict[int, tuple[Catalogue, Calculator]] = {}
    for version in versions:
        assert version.commit is not None
        about = version.commit.short, version.commit.day, version.commit.subject
        if isinstance(version.found, Usable):
            catalogue = version.found.collection.catalogue
            _, kiln = kilns.setdefault(id(catalogue), (catalogue, Calculator(catalogue)))
            yield Past(*about, version.found.recipe, kiln)
        else:
            yield Past(*about, None)


def _wanted(cone: str | None, atmospheres: Sequence[str]) -> Wanted:
    try:
        cones = wanted_cones(read_cone(cone)) if cone is not None else None
    except ValueError as error:
        raise usage_error(error) from None
    return Wanted(cones, tuple(atmospheres))


def _given(entries: Iterable[Usable]) -> Iterator[Given]:
    kilns: dict[int, tuple[Catalogue, Calculator]] = {}
    for entry in entries:
        catalogue = entry.collection.catalogue
        _, kiln = kilns.setdefault(id(catalogue), (catalogue, Calculator(catalogue)))
        yield entry.file, entry.recipe, kiln
