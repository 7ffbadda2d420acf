"""glost format."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.common import files, show_misread, standard_input, standard_output
from glost.collection import STANDARD_INPUT, Collections, display, unreadable
from glost.files import ChangedMeanwhile, read_text, write_text
from glost.language.layout import Refused, laid_out
from glost.language.parse import parse
from glost.language.source import Source, Unreadable, decode
from glost.lint.finding import ERROR, SYNTAX, placed
from glost.lint.reporters import plain
from glost.yamlfile import Misread


@click.command()
@click.argument("paths", nargs=-1, type=click.Path())
@click.option(
    "--check", is_flag=True, help="Write nothing; say which files would change, with exit status 1."
)
@click.option("--diff", is_flag=True, help="Write nothing; show what would change, with exit status 1.")
def command(paths: Sequence[str], check: bool, diff: bool) -> int:
    """Lay recipes out: files, folders, or - for standard input (default: this folder).

    Only white space and the spelling of numbers change. A file that cannot be read whole is left as it is.
    """
    if list(paths) == [STANDARD_INPUT]:
        return _format_standard_input(check, diff)
    try:
        chosen = files(paths, Collections())
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
            click.echo(plain.text([unreadable(shown, error)]), err=True, nl=False)
            status = UNUSABLE
            continue
        except Refused as error:
            click.echo(f"{plain.visible(shown)}: not laid out: {error}", err=True)
            status = UNUSABLE
            continue
        if text == source.text:
            continue
        changed += 1
        if diff:
            click.echo(_difference(source, text), nl=False)
        elif check:
            click.echo(f"{plain.visible(shown)}: would be laid out anew")
        elif not _write(path, shown, source, text):
            status = UNUSABLE
    click.echo(_summary(len(chosen), changed, check or diff), err=True)
    return status or (FINDINGS if changed and (check or diff) else CLEAN)


def _laid_out(source: Source) -> str:
    page = parse(source)
    for fault in page.faults:
        click.echo(plain.text([placed(fault, source, SYNTAX, ERROR)]), err=True, nl=False)
    return laid_out(page)


def _write(path: Path, shown: str, source: Source, text: str) -> bool:
    try:
        write_text(path, text, expected=source.text)
    except ChangedMeanwhile:
        click.echo(f"{plain.visible(shown)}: changed while it was looked at; left as it is", err=True)
        return False
    except OSError as error:
        click.echo(
            f"{plain.visible(shown)}: could not be written: {error.strerror}; left as it was", err=True
        )
        return False
    click.echo(f"{plain.visible(shown)}: laid out")
    return True


def _format_standard_input(check: bool, diff: bool) -> int:
    data = standard_input()
    try:
        source = Source(STANDARD_INPUT, decode(data))
        text = _laid_out(source)
    except (Unreadable, Refused) as error:
        if isinstance(error, Unreadable):
            click.echo(plain.text([unreadable(STANDARD_INPUT, error)]), err=True, nl=False)
        else:
            click.echo(f"-: not laid out: {error}", err=True)
        if not (check or diff):
            standard_output(data)  # what came in goes out, so that a pipe loses nothing
        return UNUSABLE
    if diff:
        click.echo(_difference(source, text), nl=False)
    elif not check:
        standard_output(text.encode("utf-8"))
    return FINDINGS if text != source.text and (check or diff) else CLEAN


def _difference(source: Source, text: str) -> str:
    import difflib

    before, after = source.text.splitlines(keepends=True), text.splitlines(keepends=True)
    lines = difflib.unified_diff(before, after, source.path, f"{source.path} (laid out)")
    return "".join(
        line if line.endswith("\n") else line + "\n\\ no line break at the end\n" for line in lines
    )


def _summary(count: int, changed: int, looking: bool) -> str:
    recipes = f"{count} recipe{'s' if count != 1 else ''}"
    return f"{recipes} looked at, {changed} {'would change' if looking else 'changed'}"
