"""glost format."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.beside import chosen_alone, in_collection_option
from glost.cli.changed import ChangedCommand, changed_option
from glost.cli.common import show_misread, standard_input
from glost.cli.streams import note, pass_on, put, say
from glost.collection import Collections
from glost.files import ChangedMeanwhile, read_text, write_text
from glost.language.layout import Refused, laid_out
from glost.language.parse import parse
from glost.language.source import Source, Unreadable, decode
from glost.lint.finding import ERROR, SYNTAX, placed, unreadable
from glost.lint.reporters import plain
from glost.places import STANDARD_INPUT, display
from glost.yamlfile import Misread


@click.command(cls=ChangedCommand)
@click.argument("paths", nargs=-1, type=click.Path())
@changed_option
@in_collection_option
@click.option(
    "--check", is_flag=True, help="Write nothing; say which files would change, with exit status 1."
)
@click.option("--diff", is_flag=True, help="Write nothing; show what would change, with exit status 1.")
def command(paths: Sequence[str], since: str | None, in_collection: bool, check: bool, diff: bool) -> int:
    """Lay recipes out: files, folders, or - for standard input (default: this folder).

    Only white space and the spelling of numbers change. A file that cannot be read whole is left as it is.
    """
    if list(paths) == [STANDARD_INPUT]:
        return _format_standard_input(check, diff)
    try:
        chosen = chosen_alone(paths, Collections(), since, in_collection)
    except Misread as error:
        show_misread(error)
        return UNUSABLE
    changed, status = 0, CLEAN
    for path in chosen:
        shown = display(path)
        try:
            source = Source(shown, read_text(path))
            text = _laid_out(source)
        except Unreadable as error:
            note(plain.text([unreadable(shown, error)]))
            status = UNUSABLE
            continue
        except Refused as error:
            note(f"{plain.visible(shown)}: not laid out: {error}\n")
            status = UNUSABLE
            continue
        if text == source.text:
            continue
        changed += 1
        if diff:
            put(_difference(source, text))
        elif check:
            say(f"{plain.visible(shown)}: would be laid out anew\n")
        elif not _write(path, shown, source, text):
            status = UNUSABLE
    note(_summary(len(chosen), changed, check or diff) + "\n")
    return status or (FINDINGS if changed and (check or diff) else CLEAN)


def _laid_out(source: Source) -> str:
    page = parse(source)
    for fault in page.faults:
        note(plain.text([placed(fault, source, SYNTAX, ERROR)]))
    return laid_out(page)


def _write(path: Path, shown: str, source: Source, text: str) -> bool:
    try:
        write_text(path, text, expected=source.text)
    except ChangedMeanwhile:
        note(f"{plain.visible(shown)}: changed while it was looked at; left as it is\n")
        return False
    except OSError as error:
        note(f"{plain.visible(shown)}: could not be written: {error.strerror}; left as it was\n")
        return False
    say(f"{plain.visible(shown)}: laid out\n")
    return True


def _format_standard_input(check: bool, diff: bool) -> int:
    data = standard_input()
    try:
        source = Source(STANDARD_INPUT, decode(data))
        text = _laid_out(source)
    except (Unreadable, Refused) as error:
        if isinstance(error, Unreadable):
            note(plain.text([unreadable(STANDARD_INPUT, error)]))
        else:
            note(f"-: not laid out: {error}\n")
        if not (check or diff):
            pass_on(data)
        return UNUSABLE
    if diff:
        put(_difference(source, text))
    elif not check:
        put(text.encode("utf-8"))
    return FINDINGS if text != source.text and (check or diff) else CLEAN


def _difference(source: Source, text: str) -> bytes:
    import difflib

    before, after = source.text.splitlines(keepends=True), text.splitlines(keepends=True)
    name = plain.visible(source.path)
    lines = difflib.unified_diff(before, after, name, f"{name} (laid out)")
    return "".join(
        line if line.endswith("\n") else line + "\n\\ no line break at the end\n" for line in lines
    ).encode("utf-8")


def _summary(count: int, changed: int, looking: bool) -> str:
    recipes = f"{count} recipe{'s' if count != 1 else ''}"
    return f"{recipes} looked at, {changed} {'would change' if looking else 'changed'}"
