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
    show_misread,
    show_not_known,
    show_undone,
    show_worker_lost,
    standard_input,
)
from glost.cli.mass import MassType
from glost.cli.progress import counted
from glost.cli.streams import note, put
from glost.cli.workers import workers_option
from glost.collection import Collections
from glost.convert.format import find_format, format_names
from glost.files import write_changed
from glost.lint.reporters import plain
from glost.places import STANDARD_INPUT, display, whole
from glost.runs.converting import Converter, Made, Product
from glost.runs.cores import WorkerLost
from glost.yamlfile import Misread

_NOWHERE: Mapping[Path, Path] = MappingProxyType({})
"""The targets of recipes that go into one text."""


@click.command(cls=ChangedCommand)
@click.argument("paths", nargs=-1, type=click.Path())
@changed_option
@click.option(
    "--to", "to", type=click.Choice(sorted(format_names())), required=True, help="The form to write."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR-OR-FILE",
    help="A folder (one file a recipe) or a file (all in one); otherwise standard output.",
)
@click.option("--batch", type=MassType(), metavar="MASS", help='The mass of the base, as "500 g".')
@workers_option
def command(
    paths: Sequence[str],
    since: str | None,
    to: str,
    out: Path | None,
    batch: Decimal | None,
    workers: int | None,
) -> int:
    """Turn recipes into another form: files, folders, or - for standard input (default: this folder).

    A recipe that cannot be read whole is not converted, since a sheet with a line missing is worse than none. A file
    that holds the same already is not written again.
    """
    try:
        converter = _converter(paths, since, to, batch)
    except Misread as error:
        show_misread(error)
        return UNUSABLE
    show_not_known(converter.not_known())
    converting = _Converting(converter, workers)
    try:
        if out is None:
            put(converting.together().encode("utf-8"))
        elif out.is_dir() or not (out.suffix or out.exists()):
            converting.write_each(out)
        else:
            converting.write_together(out)
    except WorkerLost:
        show_worker_lost()
        return UNUSABLE
    except ValueError as error:
        note(f"glost: {plain.visible(str(error))}\n")
        return UNUSABLE
    except OSError as error:
        note(f"glost: {plain.visible(str(out))} could not be written: {error.strerror}\n")
        return UNUSABLE
    return converting.status


def _converter(paths: Sequence[str], since: str | None, to: str, batch: Decimal | None) -> Converter:
    """Raises Misread."""
    collections = Collections()
    if list(paths) == [STANDARD_INPUT]:
        here = Path.cwd() / STANDARD_INPUT
        return Converter(find_format(to), batch, [here], collections, standard_input())
    return Converter(find_format(to), batch, choosing(since)(paths, collections), collections)


class _Converting:
    """One run; ``status`` is the exit status that the files met so far ask for."""

    def __init__(self, converter: Converter, workers: int | None) -> None:
        self._converter = converter
        self._workers = workers
        self.status = CLEAN

    def together(self) -> str:
        """All recipes in one text. Raises ValueError, WorkerLost."""
        return self._together()[0]

    def _together(self) -> tuple[str, int]:
        form = self._converter.form
        if form.between is not None:
            made = self._converter.texts(self._converter.paths, self._workers)
            texts = [text for _, text, _ in self._whole(self._converter.paths, made)]
            return form.between.join(texts), len(texts)
        recipes = self._whole(self._converter.paths, self._converter.recipes(self._workers))
        jobs = [self._converter.job(path, recipe) for path, recipe, _ in recipes]
        return form.write(jobs), len(jobs)

    def write_together(self, out: Path) -> None:
        """All recipes into one file. Raises OSError, ValueError, WorkerLost."""
        keep_recipes([out], self._converter.paths)
        text, count = self._together()
        out.parent.mkdir(parents=True, exist_ok=True)
        written = write_changed(out, text)
        note(
            f"{plain.visible(str(out))}: {number_of(count, 'recipe')} {'written' if written else 'unchanged'}\n"
        )

    def write_each(self, out: Path) -> None:
        """One file a recipe. They are written here and by nobody else, so that a run which is stopped leaves no half
        of one. Raises OSError, ValueError, WorkerLost."""
        targets = self._targets(out)
        keep_recipes(targets.values(), targets)
        new = [path for path, target in targets.items() if not self._converter.stands(path, target)]
        written, unchanged = 0, len(targets) - len(new)
        for path, text, content in self._whole(new, self._converter.texts(new, self._workers), targets):
            targets[path].parent.mkdir(parents=True, exist_ok=True)
            if write_changed(targets[path], text):
                written += 1
            else:
                unchanged += 1
            self._converter.keep(path, content, text)
        self._converter.save()
        left = f", {unchanged} unchanged" if unchanged else ""
        note(f"{plain.visible(str(out))}: {number_of(written, 'recipe')} written{left}\n")

    def _targets(self, out: Path) -> dict[Path, Path]:
        """The file for each recipe, in folders like those the recipes lie in, so that no two meet. Raises
        ValueError."""
        paths, collections = self._converter.paths, self._converter.collections
        roots = [collections.root_of(path) or whole(path).parent for path in paths]
        common = Path(os.path.commonpath(roots)) if roots else Path()
        sources: dict[Path, Path] = {}
        for path in paths:
            inner = Path(os.path.relpath(whole(path), common))
            if inner.parts[:1] == ("..",):
                raise ValueError(
                    f"{display(path)} lies outside of what is converted with it; convert it by itself"
                )
            target = out / inner.with_suffix(self._converter.form.ending)
            other = sources.setdefault(target, path)
            if other is not path:
                raise ValueError(
                    f"{display(path)} and {display(other)} would both be written to {target}; rename one"
                )
        return {path: target for target, path in sources.items()}

    def _whole(
        self, paths: Sequence[Path], made: Iterable[Made[Product]], targets: Mapping[Path, Path] = _NOWHERE
    ) -> Iterator[tuple[Path, Product, str]]:
        """What could be made, with its path and the digest of what it was made from; the others are reported, and with
        them what an earlier run has left in their place. Raises ValueError."""
        for path, one in zip(paths, counted(made, "converted", len(paths)), strict=True):
            if one.failed:
                raise ValueError(one.failed)
            if one.product is None:
                undone = "not converted"
                if path in targets and os.path.lexists(targets[path]):
                    undone += f", and {plain.visible(display(targets[path]))} is left from before"
                self.status = max(self.status, show_undone(one.file, one.findings, undone))
            else:
                yield path, one.product, one.content
