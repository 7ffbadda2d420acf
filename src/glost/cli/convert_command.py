"""glost convert."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path, PurePath
from types import MappingProxyType
from typing import NamedTuple

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.changed import ChangedCommand, changed_option, choosing
from glost.cli.common import (
    keep_recipes,
    number_of,
    show_not_known,
    show_undone,
    show_worker_lost,
    standard_input,
)
from glost.cli.errors import show_error
from glost.cli.mass import MassType
from glost.cli.outputs import force_option, refusing
from glost.cli.progress import counted
from glost.cli.streams import note, on_a_terminal, put, put_text
from glost.cli.tests_option import Chosen, points_option
from glost.cli.workers import workers_option
from glost.errors import ValueRefusedError
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.format import Format, Output, find_format, format_names
from glost.recipe.points import Points
from glost.recipe.recipe import Recipe, tests
from glost.workspace.collection import Collections
from glost.workspace.files import as_bytes
from glost.workspace.landing import base_of, below
from glost.workspace.manifest import Manifest, digest
from glost.workspace.outputs import OneOutput, Outputs
from glost.workspace.paths import STANDARD_INPUT, display, seen_from_here
from glost.workspace.runs.convert import Converter, Made, Product, Whole
from glost.workspace.runs.processes import WorkerLostError

_NOWHERE: Mapping[Path, str] = MappingProxyType({})
"""The targets of recipes that go into one text."""


EXAMPLES = (
    'glost convert corpus/studio/stoneware/harbour-mist.glost --to sheet --batch "500 g"',
    "glost convert corpus/studio --to html --out sheets",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command(cls=ChangedCommand)
@click.argument("paths", nargs=-1, type=click.Path())
@changed_option
@click.option(
    "--to", "to", type=click.Choice(sorted(format_names())), required=True, help="The form to write."
)
@click.option(
    "--out",
    type=click.Path(),
    metavar="DIR-OR-FILE",
    help="A folder (one file a recipe; any name that ends in /) or a file (all in one); otherwise standard output.",
)
@force_option
@click.option(
    "--prune",
    is_flag=True,
    help="Take away what earlier runs wrote into the folder for recipes that are gone, as long as nobody changed it.",
)
@click.option("--batch", type=MassType(), metavar="MASS", help='The mass of the base, as "100 g".')
@click.option(
    "--test",
    "labels",
    multiple=True,
    metavar="LABEL",
    help="Only this test: a variation, a step, or the recipe by its name; may be given several times.",
)
@points_option
@workers_option
def command(
    paths: Sequence[str],
    since: str | None,
    to: str,
    out: str | None,
    force: bool,
    prune: bool,
    batch: Decimal | None,
    labels: Sequence[str],
    points: Points | None,
    workers: int | None,
) -> int:
    """Turn recipes into another form: files, folders, or - for standard input (default: this folder).

    A recipe that cannot be read whole is not converted, since a sheet with a line missing is worse than none; a file
    for all of them is then left as it was. A file that holds the same already is not written again, and one that glost
    did not write is not written over.
    """
    form = find_format(to)
    if (labels or points) and not form.by_test:
        word = "--test" if labels else "--points"
        raise click.UsageError(f"{to} holds whole recipes, with all of their tests: leave {word} out.")
    if prune and (out is None or not _means_folder(out)):
        raise click.UsageError("--prune takes old outputs away from a folder; name one with --out.")
    if form.binary and out is None and on_a_terminal():
        raise click.UsageError(
            f"{to} is nothing that a terminal shows: name a file with --out, as all{form.ending}"
        )
    try:
        converter = _converter(paths, since, form, batch, tuple(labels), points)
        show_not_known(converter.not_known())
        converting = _Converting(
            converter, workers, Chosen(*labels, points=points) if labels or points else None
        )
        if out is None:
            _put(converting.together())
        elif _means_folder(out):
            converting.write_each(Path(out), force, prune)
        else:
            converting.write_together(Path(out), force)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    except WorkerLostError:
        show_worker_lost()
        return UNUSABLE
    except ValueError as error:
        show_error(error, "glost")
        return UNUSABLE
    except OSError as error:
        note(f"glost: {plain.visible(out or 'this')} could not be written: {error.strerror}\n")
        return UNUSABLE
    return converting.status


def _put(made: Output) -> None:
    if isinstance(made, bytes):
        put(made)
    else:
        put_text(made)


def _means_folder(out: str) -> bool:
    """Whether an output is to be a folder: it is one, or it ends as one, or its name has no ending."""
    path = Path(out)
    return path.is_dir() or out.endswith(("/", os.sep)) or not (path.suffix or path.exists())


def _converter(
    paths: Sequence[str],
    since: str | None,
    form: Format,
    batch: Decimal | None,
    labels: tuple[str, ...],
    points: Points | None,
) -> Converter:
    """Raises ConfigError."""
    collections = Collections()
    if list(paths) == [STANDARD_INPUT]:
        here = Path.cwd() / STANDARD_INPUT
        return Converter(form, batch, [here], collections, standard_input(), labels, points)
    return Converter(form, batch, choosing(since)(paths, collections), collections, None, labels, points)


class Landing(NamedTuple):
    """Where the output of a recipe lies: below the folder for all of them, as the recipe does below its base, both with
    / between folders; ``tests`` is what its name says of the tests in it."""

    file: str
    tests: str
    base: Path
    recipe: str


def _check_owners(manifest: Manifest, lands: Iterable[Landing], out: Path) -> None:
    """Raises ValueError where an output would take the place of that of another recipe, which is still there: whoever
    looks for that one would weigh from this one."""
    for landing in lands:
        other = manifest.of_another(landing.file, landing.base, landing.recipe)
        if other is not None:
            raise ValueRefusedError(
                f"{display(out / landing.file)} is what was made of {seen_from_here(other)}, and would be lost",
                "convert each collection into a folder of its own, or give --force",
            )


class _Converting:
    """One run; ``status`` is the exit status that the files met so far ask for."""

    def __init__(self, converter: Converter, workers: int | None, chosen: Chosen | None = None) -> None:
        self._converter = converter
        self._workers = workers
        self._chosen = chosen
        self.status = CLEAN

    def together(self) -> Output:
        """All recipes in one text. Raises ValueError, WorkerLostError."""
        return self._together()[0]

    def _together(self) -> tuple[Output, int]:
        form = self._converter.form
        if form.between is not None and self._chosen is None:
            made = self._converter.texts(self._converter.paths, self._workers)
            texts = [str(text) for _, text, _ in self._whole(self._converter.paths, made)]
            return form.between.join(texts), len(texts)
        jobs = [self._converter.job(path, whole) for path, whole in self._recipes()]
        return form.write(jobs), len(jobs)

    def _recipes(self) -> list[tuple[Path, Whole]]:
        """Those that have a test which is asked for. Raises UsageError where there is none of that label."""
        made = self._whole(self._converter.paths, self._converter.recipes(self._workers))
        if self._chosen is None:
            return [(path, whole) for path, whole, _ in made]
        found = [(path, whole) for path, whole, _ in made if list(self._chosen.of(tests(whole.recipe)))]
        if self.status == CLEAN:
            self._chosen.check()
        return found

    def write_together(self, out: Path, force: bool) -> None:
        """All recipes into one file, or none where one of them cannot be read. Raises OSError, ValueError,
        WorkerLostError, ConfigError, UsageError."""
        keep_recipes([out], self._converter.paths, self._converter.collections)
        shown = plain.visible(str(out))
        with refusing():
            output = OneOutput(out, self._converter.form.mark, force, with_folder=True)
            output.check()
            text, count = self._together()
            if self.status != CLEAN:
                left = ", and holds what it held" if os.path.lexists(out) else ""
                note(f"{shown}: not written, since not every recipe can be converted{left}\n")
                return
            written = output.write(text)
        note(f"{shown}: {number_of(count, 'recipe')} {'written' if written else 'unchanged'}\n")

    def write_each(self, out: Path, force: bool, prune: bool) -> None:
        """One file a recipe; what earlier runs have left of recipes that are gone is named, or taken away. They are
        written here and by nobody else, so that a run which is stopped leaves no half of one. Raises OSError,
        ValueError, WorkerLostError, ConfigError, UsageError."""
        lands = self._lands(out, {} if self._chosen is None else dict(self._recipes()))
        targets = {path: os.path.join(out, landing.file) for path, landing in lands.items()}  # noqa: PTH118
        keep_recipes(targets.values(), targets, self._converter.collections)
        written = unchanged = 0
        with refusing(), Outputs(out, self._converter.form.mark, force, many=True) as outputs:
            lying = outputs.lying(landing.file for landing in lands.values())
            manifest = Manifest(out)
            stand = {
                path
                for path, landing in lands.items()
                if landing.file in lying and self._converter.stands(path, Path(targets[path]))
            }
            unchanged = len(stand)
            waiting = [path for path in lands if path not in stand]
            outputs.check(file for path in waiting if (file := lands[path].file) in lying)
            if not force:
                _check_owners(manifest, [lands[path] for path in waiting], out)
            for path, landing in lands.items():
                if path in stand:
                    self._list(manifest, landing)
            made = self._converter.texts(waiting, self._workers)
            for path, text, content in self._whole(waiting, made, targets):
                data = as_bytes(text)
                if outputs.write(lands[path].file, data):
                    written += 1
                else:
                    unchanged += 1
                told = digest(data)
                self._converter.keep(path, content, told)
                self._list(manifest, lands[path], told)
            outputs.flush()
            self._look_after(manifest, lands.values(), prune, out)
        self._converter.save()
        left = f", {unchanged} unchanged" if unchanged else ""
        note(f"{plain.visible(str(out))}: {number_of(written, 'recipe')} written{left}\n")

    def _list(self, manifest: Manifest, landing: Landing, written: str | None = None) -> None:
        """Notes that the output of a recipe lies there now. ``written``: the digest of what it holds, where that is
        known. Raises OSError."""
        if self._converter.from_files:
            file, tests, base, recipe = landing
            manifest.add(file, self._converter.form.name, tests, base, recipe, written)

    def _look_after(self, manifest: Manifest, every: Iterable[Landing], prune: bool, out: Path) -> None:
        """Keeps the list of what lies in the folder; tells of what belongs to no recipe any more. Raises OSError."""
        if not self._converter.from_files:
            return
        for landing in every:
            manifest.met(landing.base)
        stale = manifest.stale()
        taken, left = manifest.prune(stale) if prune else ([], stale)
        manifest.save()
        for one in taken:
            note(
                f"{plain.visible(display(out / one.entry.file))}: taken away, since {plain.visible(one.why)}\n"
            )
        changed = "; it is not as it was written, so it stays" if prune else ""
        for one in left:
            note(
                f"{plain.visible(display(out / one.entry.file))}: stale, since {plain.visible(one.why)}{changed}\n"
            )
        if left and not prune:
            note(f"{plain.visible(str(out))}: --prune takes {number_of(len(left), 'stale output')} away\n")

    def _lands(self, out: Path, asked: Mapping[Path, Whole]) -> dict[Path, Landing]:
        """The file for each recipe, below the folder for all, where the recipe lies in its collection, so that no two
        meet. Where single tests are ``asked`` for, its name says which: a sheet of some is not to take the place of the
        sheet of all. Raises ValueError."""
        collections = self._converter.collections
        paths = self._converter.paths if self._chosen is None else list(asked)
        ending = self._converter.form.ending
        bases: dict[str, Path] = {}  # of each folder: git's may have to be looked for
        sources: dict[str, Path] = {}
        found: dict[Path, Landing] = {}
        for path in paths:
            folder = os.path.dirname(path)  # noqa: PTH120
            if folder not in bases:
                bases[folder] = base_of(path, collections)
            base = bases[folder]
            recipe = below(path, base)
            tests = self._named(asked[path].recipe) if path in asked else ""
            above, between, name = recipe.rpartition("/")
            target = f"{above}{between}{PurePath(name).stem}{tests}{ending}"
            other = sources.setdefault(target, path)
            if other is not path:
                apart = base_of(other, collections) != base
                raise ValueRefusedError(
                    f"{display(path)} and {display(other)} would both be written to {out / target}",
                    "convert each collection into a folder of its own" if apart else "rename one",
                )
            found[path] = Landing(target, tests, base, recipe)
        return found

    def _named(self, recipe: Recipe) -> str:
        from glost.importer.page import stem_of

        assert self._chosen is not None, "only then are recipes asked for"
        if self._chosen.points is not None:
            words = ["points", self._chosen.points.text, *self._chosen.labels]
            return f".{stem_of(' '.join(words))}"
        return "".join(f".{stem_of(test.label or test.name)}" for test in self._chosen.of(tests(recipe)))

    def _whole(
        self, paths: Sequence[Path], made: Iterable[Made[Product]], targets: Mapping[Path, str] = _NOWHERE
    ) -> Iterator[tuple[Path, Product, str]]:
        """What could be made, with its path and the digest of what it was made from; the others are reported, and with
        them what an earlier run has left in their place. Raises ValueError."""
        for path, one in zip(paths, counted(made, "converted", len(paths)), strict=True):
            if one.failed:
                raise ValueRefusedError(one.failed)
            if one.product is None:
                undone = "not converted"
                if path in targets and os.path.lexists(targets[path]):
                    undone += f", and {plain.visible(display(Path(targets[path])))} is left from before"
                self.status = max(self.status, show_undone(one.file, one.findings, undone))
            else:
                yield path, one.product, one.content
