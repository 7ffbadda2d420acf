"""glost merge."""

from __future__ import annotations

import os
from collections import Counter
from contextlib import suppress
from pathlib import Path
from typing import Any

import click

from glost.changes.merge import Merged, MergeError, doubt, merged
from glost.cli import CLEAN, FINDINGS
from glost.cli.errors import show_error
from glost.cli.streams import note, say
from glost.errors import GlostError
from glost.language.parse import parse
from glost.language.source import DecodeError, Source, decode
from glost.language.yaml_tree import ConfigError
from glost.linter import baseline
from glost.linter.reporters import plain
from glost.recipe.firing import resolve_firing
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve_own
from glost.recipe.settings import Settings
from glost.workspace.collection import Collection, Collections
from glost.workspace.files import read_bytes, write_bytes
from glost.workspace.git.drivers import CONFLICT, MERGED
from glost.workspace.git.revisions import merged_by_lines
from glost.workspace.git.run import GitError

UNMERGED = 255
"""Nothing could be merged, and OURS is as it was: git takes a status above 128 for a merge that failed, and one up to
it for a conflict that stands in OURS (gitattributes(5), "Defining a custom merge driver", of git 2.42 and later)."""


class _Command(click.Command):
    """A wrong use is a merge that failed too."""

    def make_context(self, *arguments: Any, **more: Any) -> click.Context:
        try:
            return super().make_context(*arguments, **more)
        except click.UsageError as error:
            error.show()
            raise click.exceptions.Exit(UNMERGED) from None


EXAMPLES = (
    "glost merge OLDER OURS THEIRS harbour-mist.glost",
    "glost git-setup --print",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command(cls=_Command)
@click.argument("base", type=click.Path(path_type=Path))
@click.argument("ours", type=click.Path(path_type=Path))
@click.argument("theirs", type=click.Path(path_type=Path))
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option(
    "--marker-size",
    type=click.IntRange(1, 1000, clamp=True),
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

    Whatever goes wrong, no side is lost: OURS holds the merge, or what both sides have with marks around it, or is as
    it was. Where it was written, the last word on standard output is "merged" or "conflict".

    Exit status: 0 merged, 1 there is a conflict in OURS, 255 nothing could be merged, and OURS is as it was.
    """
    called = plain.visible(str(path or ours))
    try:
        before, here, there = (_read(file) for file in (base, ours, theirs))
    except _ReadError as error:
        show_error(error, f"{called}: not merged, and left as it is")
        return UNMERGED
    sides = (before, here, there)
    named = path or ours
    entries = _merged_baseline(sides, called) if named.name == baseline.FILE else None
    result, conflict = _merged(sides, named, called, marker_size) if entries is None else (entries, False)
    try:
        write_bytes(ours, result)  # whatever bytes the sides hold; git keeps both of them
    except OSError as error:
        note(f"{called}: could not be written, and is as it was: {error.strerror or error}\n")
        return UNMERGED
    say(f"{CONFLICT if conflict else MERGED}\n")
    return FINDINGS if conflict else CLEAN


def _merged_baseline(sides: tuple[bytes, bytes, bytes], called: str) -> bytes | None:
    """A baseline merged entry by entry, which is never a conflict; None where a side is no baseline."""
    try:
        base, ours, theirs = (
            baseline.read(decode(side, baseline.LARGEST)) if side.strip() else baseline.Baseline(Counter())
            for side in sides
        )
    except (baseline.BaselineError, DecodeError) as why:
        show_error(why, f"{called}: merged line by line, as git does")
        return None
    return baseline.write(baseline.merged(base, ours, theirs)).encode("utf-8")


class _ReadError(GlostError):
    """A side cannot be read; the text says which, and why."""


def _read(file: Path) -> bytes:
    try:
        return read_bytes(file)
    except DecodeError as error:
        raise _ReadError(f"'{file}' cannot be read: {error.message}") from None


def _merged(
    sides: tuple[bytes, bytes, bytes], path: Path, called: str, marker_size: int
) -> tuple[bytes, bool]:
    """The text that comes out of base, ours and theirs, and whether there are conflicts in it."""
    before, here, there = sides
    try:
        by_git, clean = merged_by_lines(here, before, there, marker_size)
    except GitError as error:
        show_error(error, f"{called}: git could not merge it")
        return _both_whole(before, here, there, marker_size)
    try:
        collection = _collection(path)
        if not clean:
            return _by_meaning(sides, collection, called, marker_size)
        _warn(called, by_git, sides, collection)
    except MergeError as why:
        show_error(why, f"{called}: merged line by line, as git does")
    except Exception as error:
        # Memory, depth, a mistake of ours: whoever is called to merge must not drop a side.
        if os.environ.get("GLOST_DEBUG"):
            raise
        note(f"{called}: merged line by line, as git does: a mistake in glost ({type(error).__name__})\n")
    return by_git, not clean


def _by_meaning(
    sides: tuple[bytes, bytes, bytes], collection: Collection, called: str, marker_size: int
) -> tuple[bytes, bool]:
    """As _merged. Raises MergeError."""
    result = _put_together(sides, collection, marker_size)
    for conflict in result.conflicts:
        where = plain.visible(", ".join(filter(None, (conflict.where, conflict.what))))
        shows = [
            f"'{plain.visible(line)}'" if line else "taken out" for line in (conflict.ours, conflict.theirs)
        ]
        shown = f": {shows[0]} here, {shows[1]} there" if conflict.ours or conflict.theirs else ""
        note(f"{called}: both changed {where}{shown}\n")
    return result.text.encode("utf-8"), bool(result.conflicts)


def _both_whole(before: bytes, here: bytes, there: bytes, marker_size: int) -> tuple[bytes, bool]:
    """Both sides in one conflict, unless only one has changed anything."""
    if before in (here, there) or here == there:
        return (here if before == there else there), False
    marks = [sign * marker_size for sign in (b"<", b"=", b">")]
    ours, theirs = (side if side.endswith(b"\n") or not side else side + b"\n" for side in (here, there))
    return b"".join((marks[0], b" ours\n", ours, marks[1], b"\n", theirs, marks[2], b" theirs\n")), True


def _put_together(sides: tuple[bytes, bytes, bytes], collection: Collection, marker_size: int) -> Merged:
    """Raises MergeError."""

    def by_lines(here: str, before: str, there: str) -> tuple[str, bool]:
        texts = (here.encode("utf-8"), before.encode("utf-8"), there.encode("utf-8"))
        try:
            data, clean = merged_by_lines(*texts, marker_size)
        except GitError as error:
            raise MergeError(str(error)) from None
        return data.decode("utf-8"), clean

    try:
        texts = [decode(data) for data in sides]
    except DecodeError:
        raise MergeError("a side cannot be read whole") from None
    return merged(texts[0], texts[1], texts[2], collection.catalogue, by_lines, marker_size)


def _collection(path: Path) -> Collection:
    """The collection of the recipe; one that cannot be taken as it stands, as in the middle of a merge, does not hold a
    merge up."""
    try:
        return Collections().of(path)
    except ConfigError:
        return Collection(None, Settings(), shipped_catalogue())


def _warn(called: str, result: bytes, sides: tuple[bytes, ...], collection: Collection) -> None:
    """git merges lines, and may put together what no longer reads (one material, added by both in two places), or what
    neither side meant (an amount of one in the new scale of the other)."""
    if _faulty(result, collection) and not any(_faulty(side, collection) for side in sides):
        note(f"{called}: merged, but what came out has mistakes; check it with  glost lint\n")
        return
    with suppress(DecodeError):
        before, here, there, after = map(decode, (sides[0], sides[1], sides[2], result))
        why = doubt(before, here, there, after, collection.catalogue)
        if why:
            note(f"{called}: merged as git does, but read it before it is weighed: {plain.visible(why)}\n")


def _faulty(data: bytes, collection: Collection) -> bool:
    try:
        page = parse(Source("merge", decode(data)))
    except DecodeError:
        return True
    if page.is_firing:
        return not resolve_firing(page).complete
    resolved = resolve_own(page, collection.catalogue)
    names = [ingredient.called for ingredient in resolved.recipe.base]
    added = [ingredient.called for ingredient in resolved.recipe.additions]
    return not resolved.complete or any(len(set(one)) != len(one) for one in (names, added))
