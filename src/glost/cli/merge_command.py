"""glost merge."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final, NamedTuple

import click

from glost.changes.merge import Conflict, Marks, MergeError, Totals, doubt, merged, total_text
from glost.changes.merge_bases import choices, with_each
from glost.changes.merge_settings import merged_settings
from glost.cli import CLEAN, FINDINGS
from glost.cli.errors import show_error
from glost.cli.streams import note, say
from glost.errors import GlostError
from glost.language.parse import parse
from glost.language.source import LARGEST_FILE, DecodeError, Source, decode
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
from glost.workspace.git.folders import top_of
from glost.workspace.git.revisions import merged_by_lines
from glost.workspace.git.run import GitError
from glost.workspace.git.sides import BASES, is_of_bases, names_of_sides

UNMERGED = 255
"""Nothing could be merged, and OURS is as it was: git takes a status above 128 for a merge that failed, and one up to
it for a conflict that stands in OURS (gitattributes(5), "Defining a custom merge driver", of git 2.42 and later)."""


_STYLES: Final = ("merge", "diff3", "zdiff3")
"""git's words for how much stands between the marks of a conflict."""


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
@click.option(
    "--labels",
    nargs=3,
    default=("", "", ""),
    metavar="OURS BASE THEIRS",
    help="What the sides are called in the marks; without, the branches that are merged.",
)
@click.option(
    "--conflict-style",
    "style",
    type=click.Choice(_STYLES),
    default=_STYLES[0],
    show_default=True,
    help="With diff3 or zdiff3, what both sides come from stands between the marks, as git's merge.conflictStyle asks.",
)
def command(
    base: Path,
    ours: Path,
    theirs: Path,
    path: Path | None,
    marker_size: int,
    labels: tuple[str, str, str],
    style: str,
) -> int:
    """Merge what OURS and THEIRS changed since BASE, and write it to OURS; git calls this where it was set up.

    Where git merges line by line without a conflict, the result is git's. Where it does not, changes of different
    materials are put together, and so are an amount and the comment behind it; the same amount changed by both is a
    conflict, with the usual marks around it, the names of the branches, and what the base totals with either. PATH is
    the recipe's own, for messages and for the collection it belongs to. A materials.yaml, a glost.yaml and a baseline
    are merged entry by entry.

    Whatever goes wrong, no side is lost: OURS holds the merge, or what both sides have with marks around it, or is as
    it was. Where it was written, the last word on standard output is "merged" or "conflict".

    Exit status: 0 merged, 1 there is a conflict in OURS, 255 nothing could be merged, and OURS is as it was.
    """
    called = plain.visible(str(path or ours))
    most = baseline.LARGEST if (path or ours).name == baseline.FILE else LARGEST_FILE
    try:
        before, here, there = (_read(file, most) for file in (base, ours, theirs))
    except _ReadError as error:
        show_error(error, f"{called}: not merged, and left as it is")
        return UNMERGED
    sides, line_end = in_one_line_end((before, here, there))
    named = path or ours
    marks = _marks(marker_size, labels, style, named)
    entries = _merged_entries(sides, named, called, marks)
    result, conflict = _merged(sides, named, called, marks) if entries is None else entries
    try:
        # Whatever bytes the sides hold; git keeps both of them.
        write_bytes(ours, result.replace(b"\n", line_end))
    except OSError as error:
        note(f"{called}: could not be written, and is as it was: {error.strerror or error}\n")
        return UNMERGED
    say(f"{CONFLICT if conflict else MERGED}\n")
    return FINDINGS if conflict else CLEAN


def _marks(size: int, labels: Sequence[str], style: str, path: Path) -> _Marks:
    top = top_of(Path.cwd())
    inner = is_of_bases(top, labels, size, path.as_posix())
    names = BASES if inner else names_of_sides(top, labels, os.environ)
    ours, base, theirs = (plain.visible(name) for name in names)
    return _Marks(Marks(size, ours, base, theirs, style != _STYLES[0]), style, inner)


class _Marks(NamedTuple):
    """The marks, and git's word for their style. ``inner``: of a merge of what both sides come from, whose conflicts
    nobody is to settle: the marks only say to the merge of the sides that there was one."""

    marks: Marks
    style: str
    inner: bool = False

    def tell(self, text: str) -> None:
        """Says what a person has to settle, or to look at."""
        if not self.inner:
            note(text)

    def by_lines(self, ours: bytes, base: bytes, theirs: bytes) -> tuple[bytes, bool]:
        """git's own merge, with these marks. Raises GitError."""
        marks = self.marks
        names = (marks.ours, marks.base, marks.theirs)
        return merged_by_lines(ours, base, theirs, marks.size, names, self.style if marks.with_base else "")

    def of_texts(self, ours: str, base: str, theirs: str) -> tuple[str, bool]:
        """The same, of texts. Raises MergeError."""
        try:
            data, clean = self.by_lines(*(text.encode("utf-8") for text in (ours, base, theirs)))
        except GitError as error:
            raise MergeError(str(error)) from None
        return data.decode("utf-8"), clean


def in_one_line_end(sides: tuple[bytes, bytes, bytes]) -> tuple[tuple[bytes, bytes, bytes], bytes]:
    """Base, ours and theirs with the line breaks of Unix, and the one that what comes out of them gets: who turned all
    line breaks of a file has changed no line of it. As they are where one has both kinds."""
    ends = [_line_end(side) for side in sides]
    if None in ends or b"\r\n" not in ends:
        return sides, b"\n"
    base, ours, theirs = ends
    base_side, ours_side, theirs_side = (side.replace(b"\r\n", b"\n") for side in sides)
    return (base_side, ours_side, theirs_side), (ours if theirs in (base, ours) else theirs) or b"\n"


def _line_end(side: bytes) -> bytes | None:
    """How all lines of a side end, None where some end otherwise."""
    count = side.count(b"\r\n")
    if side.count(b"\r") != count or (count and count != side.count(b"\n")):
        return None
    return b"\r\n" if count else b"\n"


def _merged_entries(
    sides: tuple[bytes, bytes, bytes], path: Path, called: str, marks: _Marks
) -> tuple[bytes, bool] | None:
    """A file of entries, merged entry by entry; None for any other, and where a side cannot be read."""
    if path.name == baseline.FILE:
        return _merged_baseline(sides, called)
    if path.suffix.lower() not in (".yaml", ".yml"):
        return None
    try:
        base, ours, theirs = map(decode, sides)
        text, conflicts = with_each(
            base, lambda one: merged_settings(one, ours, theirs, marks.of_texts, marks.marks)
        )
    except (DecodeError, MergeError) as why:
        show_error(why, f"{called}: merged line by line, as git does")
        return _merged_lines(sides, called, marks)
    except Exception as error:
        _tell_mistake(error, called)
        return _merged_lines(sides, called, marks)
    for conflict in conflicts:
        marks.tell(f"{called}: {_conflict_text(conflict, marks.marks)}\n")
    return text.encode("utf-8"), bool(conflicts)


def _merged_lines(sides: tuple[bytes, bytes, bytes], called: str, marks: _Marks) -> tuple[bytes, bool]:
    before, here, there = sides
    try:
        data, clean = marks.by_lines(here, before, there)
    except GitError as error:
        show_error(error, f"{called}: git could not merge it")
        return _both_whole(before, here, there, marks.marks)
    return data, not clean


def _merged_baseline(sides: tuple[bytes, bytes, bytes], called: str) -> tuple[bytes, bool] | None:
    """A baseline merged entry by entry, which is never a conflict; None where a side is no baseline."""
    try:
        base, ours, theirs = (
            baseline.read(decode(side, baseline.LARGEST)) if side.strip() else baseline.Baseline(Counter())
            for side in sides
        )
    except (baseline.BaselineError, DecodeError) as why:
        show_error(why, f"{called}: merged line by line, as git does")
        return None
    return baseline.write(baseline.merged(base, ours, theirs)).encode("utf-8"), False


class _ReadError(GlostError):
    """A side cannot be read; the text says which, and why."""


def _read(file: Path, most: int) -> bytes:
    try:
        return read_bytes(file, most)
    except DecodeError as error:
        raise _ReadError(f"'{file}' cannot be read: {error.message}") from None


def _merged(sides: tuple[bytes, bytes, bytes], path: Path, called: str, marks: _Marks) -> tuple[bytes, bool]:
    """The text that comes out of base, ours and theirs, and whether there are conflicts in it."""
    before, here, there = sides
    try:
        by_git, clean = marks.by_lines(here, before, there)
    except GitError as error:
        show_error(error, f"{called}: git could not merge it")
        return _both_whole(before, here, there, marks.marks)
    try:
        collection = _collection(path)
        if not clean:
            return _by_meaning(sides, collection, called, marks)
        if not marks.inner:
            _warn(called, by_git, sides, collection)
    except MergeError as why:
        show_error(why, f"{called}: merged line by line, as git does")
    except Exception as error:
        _tell_mistake(error, called)
    return by_git, not clean


def _tell_mistake(error: Exception, called: str) -> None:
    """Memory, depth, a mistake of ours: whoever is called to merge must not drop a side."""
    if os.environ.get("GLOST_DEBUG"):
        raise error
    note(f"{called}: merged line by line, as git does: a mistake in glost ({type(error).__name__})\n")


def _by_meaning(
    sides: tuple[bytes, bytes, bytes], collection: Collection, called: str, marks: _Marks
) -> tuple[bytes, bool]:
    """As _merged. Raises MergeError."""
    if not sides[0]:
        raise MergeError("both sides made a new page of this name")
    try:
        base, ours, theirs = (decode(data) for data in sides)
    except DecodeError:
        raise MergeError("a side cannot be read whole") from None
    result = with_each(
        base,
        lambda one: merged(one, ours, theirs, collection.catalogue, marks.of_texts, marks.marks),
        lambda one: (one.text, one.conflicts),
    )
    for conflict in result.conflicts:
        marks.tell(f"{called}: {_conflict_text(conflict, marks.marks)}\n")
    if result.totals is not None and len(choices(base)) == 1:  # else nobody can say what it totalled before
        marks.tell(f"{called}: {_totals_text(result.totals, marks.marks)}\n")
    return result.text.encode("utf-8"), bool(result.conflicts)


def _conflict_text(conflict: Conflict, marks: Marks) -> str:
    where = plain.visible(", ".join(filter(None, (conflict.where, conflict.what))))
    if not conflict.ours and not conflict.theirs:
        return f"both changed {where}"
    shows = [f"'{plain.visible(line)}'" if line else "taken out" for line in (conflict.ours, conflict.theirs)]
    before = f"; before '{plain.visible(conflict.base)}'" if conflict.base else "; new in both"
    return f"both changed {where}: {shows[0]} in {marks.ours}, {shows[1]} in {marks.theirs}{before}"


def _totals_text(totals: Totals, marks: Marks) -> str:
    with_ours, with_theirs, before = (
        total_text(amount, totals.unit) for amount in (totals.ours, totals.theirs, totals.base)
    )
    neither = "" if totals.base in (totals.ours, totals.theirs) else ", which neither gives"
    ours, theirs = (f"all from {side}" if totals.choices > 1 else side for side in (marks.ours, marks.theirs))
    return f"the base totals {with_ours} with {ours}, {with_theirs} with {theirs}; it was {before}{neither}"


def _both_whole(before: bytes, here: bytes, there: bytes, marks: Marks) -> tuple[bytes, bool]:
    """Both sides in one conflict, unless only one has changed anything."""
    if before in (here, there) or here == there:
        return (here if before == there else there), False
    begin, middle, end = (
        f"{sign * marks.size}{name}\n".encode()
        for sign, name in (("<", f" {marks.ours}"), ("=", ""), (">", f" {marks.theirs}"))
    )
    ours, theirs = (side if side.endswith(b"\n") or not side else side + b"\n" for side in (here, there))
    return b"".join((begin, ours, middle, theirs, end)), True


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
