"""glost merge."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.streams import note
from glost.collection import Collection, Collections
from glost.compare.merge import CannotMerge, Merged, doubt, merged
from glost.git.asking import GitFailed
from glost.git.revisions import merged_by_lines
from glost.language.parse import parse
from glost.language.source import Source, Unreadable, decode
from glost.lint.reporters import plain
from glost.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve
from glost.settings import Settings
from glost.yamlfile import Misread


@click.command()
@click.argument("base", type=click.Path(path_type=Path))
@click.argument("ours", type=click.Path(path_type=Path))
@click.argument("theirs", type=click.Path(path_type=Path))
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option(
    "--marker-size",
    type=click.IntRange(1, 200),
    default=7,
    show_default=True,
    metavar="SIGNS",
    help="The length of the marks of a conflict.",
)
def command(base: Path, ours: Path, theirs: Path, path: Path | None, marker_size: int) -> int:
    """Merge what OURS and THEIRS changed since BASE, and write it to OURS; git calls this where it was set up.

    Where git merges line by line without a conflict, the result is git's. Where it does not, changes of different
    materials are put together; the same material changed by both is a conflict, with the usual marks around it. PATH
    is the recipe's own, for messages and for the collection it belongs to.

    Exit status: 0 merged, 1 there is a conflict in OURS, 2 nothing could be merged, and OURS is as it was.
    """
    called = plain.visible(str(path or ours))
    try:
        before, here, there = (file.read_bytes() for file in (base, ours, theirs))
        by_git, clean = merged_by_lines(here, before, there, marker_size)
    except OSError as error:
        raise click.UsageError(
            f"'{plain.visible(str(error.filename))}' cannot be read: {error.strerror or error}."
        ) from None
    except GitFailed as error:
        note(f"{called}: git could not merge it: {plain.visible(str(error))}; left as it is\n")
        return UNUSABLE
    collection = _collection(path or ours)
    if clean:
        _warn(called, by_git, (before, here, there), collection)
        return _write(called, ours, by_git, CLEAN)
    try:
        result = _by_meaning(before, here, there, collection, marker_size)
    except CannotMerge as why:
        note(f"{called}: merged line by line, as git does: {plain.visible(str(why))}\n")
        return _write(called, ours, by_git, FINDINGS)
    for conflict in result.conflicts:
        where = plain.visible(", ".join(filter(None, (conflict.where, conflict.what))))
        sides = [
            f"'{plain.visible(line)}'" if line else "taken out" for line in (conflict.ours, conflict.theirs)
        ]
        shown = f": {sides[0]} here, {sides[1]} there" if conflict.ours or conflict.theirs else ""
        note(f"{called}: both changed {where}{shown}\n")
    return _write(called, ours, result.text.encode("utf-8"), FINDINGS if result.conflicts else CLEAN)


def _by_meaning(base: bytes, ours: bytes, theirs: bytes, collection: Collection, marker_size: int) -> Merged:
    """Raises CannotMerge."""

    def by_lines(here: str, before: str, there: str) -> tuple[str, bool]:
        sides = (here.encode("utf-8"), before.encode("utf-8"), there.encode("utf-8"))
        try:
            data, clean = merged_by_lines(*sides, marker_size)
        except GitFailed as error:
            raise CannotMerge(str(error)) from None
        return data.decode("utf-8"), clean

    try:
        texts = [decode(data) for data in (base, ours, theirs)]
    except Unreadable:
        raise CannotMerge("a side cannot be read whole") from None
    return merged(texts[0], texts[1], texts[2], collection.catalogue, by_lines, marker_size)


def _collection(path: Path) -> Collection:
    """The collection of the recipe; one that cannot be taken as it stands, as in the middle of a merge, does not hold a
    merge up."""
    try:
        return Collections().of(path)
    except Misread:
        return Collection(None, Settings(), shipped_catalogue())


def _warn(called: str, result: bytes, sides: tuple[bytes, ...], collection: Collection) -> None:
    """git merges lines, and may put together what no longer reads (one material, added by both in two places), or what
    neither side meant (an amount of one in the new scale of the other)."""
    if _faulty(result, collection) and not any(_faulty(side, collection) for side in sides):
        note(f"{called}: merged, but what came out has mistakes; check it with  glost lint\n")
        return
    with suppress(Unreadable):
        before, here, there, after = map(decode, (sides[0], sides[1], sides[2], result))
        why = doubt(before, here, there, after, collection.catalogue)
        if why:
            note(f"{called}: merged as git does, but read it before it is weighed: {plain.visible(why)}\n")


def _faulty(data: bytes, collection: Collection) -> bool:
    try:
        resolved = resolve(parse(Source("merge", decode(data))), collection.catalogue)
    except Unreadable:
        return True
    names = [ingredient.called for ingredient in resolved.recipe.base]
    added = [ingredient.called for ingredient in resolved.recipe.additions]
    return not resolved.complete or any(len(set(one)) != len(one) for one in (names, added))


def _write(called: str, ours: Path, data: bytes, status: int) -> int:
    try:
        ours.write_bytes(data)  # whatever bytes the sides hold; git keeps both of them
    except OSError as error:
        note(f"{called}: could not be written: {error.strerror or error}\n")
        return UNUSABLE
    return status
