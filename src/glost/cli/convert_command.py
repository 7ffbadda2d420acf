"""glost convert."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType

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
from glost.cli.streams import note, put_text
from glost.cli.tests_option import Chosen, points_option
from glost.cli.workers import workers_option
from glost.errors import ValueRefusedError
from glost.language.yaml_tree import ConfigError
from glost.linter.reporters import plain
from glost.output.format import Format, find_format, format_names
from glost.recipe.points import Points
from glost.recipe.recipe import Recipe, tests
from glost.workspace.collection import Collections
from glost.workspace.outputs import OneOutput, Outputs
from glost.workspace.paths import STANDARD_INPUT, display, whole
from glost.workspace.runs.convert import Converter, Made, Product, Whole
from glost.workspace.runs.processes import WorkerLostError

_NOWHERE: Mapping[Path, Path] = MappingProxyType({})
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
@click.option("--batch", type=MassType(), metavar="MASS", help='The mass of the base, as "500 g".')
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
    try:
        converter = _converter(paths, since, form, batch, tuple(labels), points)
        show_not_known(converter.not_known())
        converting = _Converting(
            converter, workers, Chosen(*labels, points=points) if labels or points else None
        )
        if out is None:
            put_text(converting.together())
        elif _means_folder(out):
            converting.write_each(Path(out), force)
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


class _Converting:
    """One run; ``status`` is the exit status that the files met so far ask for."""

    def __init__(self, converter: Converter, workers: int | None, chosen: Chosen | None = None) -> None:
        self._converter = converter
        self._workers = workers
        self._chosen = chosen
        self.status = CLEAN

    def together(self) -> str:
        """All recipes in one text. Raises ValueError, WorkerLostError."""
        return self._together()[0]

    def _together(self) -> tuple[str, int]:
        form = self._converter.form
        if form.between is not None and self._chosen is None:
            made = self._converter.texts(self._converter.paths, self._workers)
            texts = [text for _, text, _ in self._whole(self._converter.paths, made)]
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

    def write_each(self, out: Path, force: bool) -> None:
        """One file a recipe. They are written here and by nobody else, so that a run which is stopped leaves no half
        of one. Raises OSError, ValueError, WorkerLostError, ConfigError, UsageError."""
        inner = self._inner(out, {} if self._chosen is None else dict(self._recipes()))
        targets = {path: out / below for path, below in inner.items()}
        keep_recipes(targets.values(), targets, self._converter.collections)
        written = unchanged = 0
        with refusing():
            outputs = Outputs(out, self._converter.form.mark, force)
            outputs.check_links(inner.values())
            new = [path for path, target in targets.items() if not self._converter.stands(path, target)]
            unchanged = len(targets) - len(new)
            outputs.check(inner[path] for path in new)
            for path, text, content in self._whole(new, self._converter.texts(new, self._workers), targets):
                if outputs.write(inner[path], text):
                    written += 1
                else:
                    unchanged += 1
                self._converter.keep(path, content, text)
        self._converter.save()
        left = f", {unchanged} unchanged" if unchanged else ""
        note(f"{plain.visible(str(out))}: {number_of(written, 'recipe')} written{left}\n")

    def _inner(self, out: Path, asked: Mapping[Path, Whole]) -> dict[Path, Path]:
        """The file for each recipe, below the folder for all, in folders like those the recipes lie in, so that no two
        meet. Where single tests are ``asked`` for, its name says which: a sheet of some is not to take the place of the
        sheet of all. Raises ValueError."""
        collections = self._converter.collections
        paths = self._converter.paths if self._chosen is None else list(asked)
        roots = [collections.root_of(path) or whole(path).parent for path in paths]
        common = Path(os.path.commonpath(roots)) if roots else Path()
        sources: dict[Path, Path] = {}
        for path in paths:
            inner = Path(os.path.relpath(whole(path), common))
            if inner.parts[:1] == ("..",):
                raise ValueRefusedError(
                    f"{display(path)} lies outside of what is converted with it", "convert it by itself"
                )
            named = self._named(asked[path].recipe) if path in asked else ""
            target = inner.with_name(f"{inner.stem}{named}{self._converter.form.ending}")
            other = sources.setdefault(target, path)
            if other is not path:
                raise ValueRefusedError(
                    f"{display(path)} and {display(other)} would both be written to {out / target}",
                    "rename one",
                )
        return {path: target for target, path in sources.items()}

    def _named(self, recipe: Recipe) -> str:
        from glost.importer.page import stem_of

        assert self._chosen is not None, "only then are recipes asked for"
        if self._chosen.points is not None:
            words = ["points", self._chosen.points.text, *self._chosen.labels]
            return f".{stem_of(' '.join(words))}"
        return "".join(f".{stem_of(test.label or test.name)}" for test in self._chosen.of(tests(recipe)))

    def _whole(
        self, paths: Sequence[Path], made: Iterable[Made[Product]], targets: Mapping[Path, Path] = _NOWHERE
    ) -> Iterator[tuple[Path, Product, str]]:
        """What could be made, with its path and the digest of what it was made from; the others are reported, and with
        them what an earlier run has left in their place. Raises ValueError."""
        for path, one in zip(paths, counted(made, "converted", len(paths)), strict=True):
            if one.failed:
                raise ValueRefusedError(one.failed)
            if one.product is None:
                undone = "not converted"
                if path in targets and os.path.lexists(targets[path]):
                    undone += f", and {plain.visible(display(targets[path]))} is left from before"
                self.status = max(self.status, show_undone(one.file, one.findings, undone))
            else:
                yield path, one.product, one.content
