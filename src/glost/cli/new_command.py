"""glost new."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from shlex import quote

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.errors import sentence, show_error, usage_error
from glost.cli.streams import note, say
from glost.errors import GlostError
from glost.importer import begin
from glost.language.tables import lexicon
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import mistakes
from glost.linter.reporters import plain
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.workspace.outputs import OutputError, write_new
from glost.workspace.paths import ENDING, display, whole

_KINDS = lexicon().kinds


EXAMPLES = (
    'glost new "Harbour Mist, calmer" --cone 6',
    "glost new --collection --out studio",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("name", required=False)
@click.option("--kind", type=click.Choice(_KINDS), help=f"What it is; otherwise {_KINDS[0]}.")
@click.option("--cone", metavar="CONE", help="What it is fired to, such as 6 or 5-6.")
@click.option("--atmosphere", metavar="WORD", help="The kiln's atmosphere, such as oxidation.")
@click.option(
    "--base",
    "base",
    multiple=True,
    metavar="LINE",
    help='A line of the base, as "silica 25"; as often as needed.',
)
@click.option(
    "--addition",
    "additions",
    multiple=True,
    metavar="LINE",
    help='A line that comes on top, as "tin oxide 4".',
)
@click.option(
    "--collection", is_flag=True, help="Begin a collection: settings, materials and a first recipe."
)
@click.option(
    "--balance",
    "balances",
    multiple=True,
    metavar="BALANCE",
    help='A balance of the collection, as "fine, 300 g, 0.01 g": its name, what it carries, what it reads.',
)
@click.option("--batch", metavar="MASS", help='The usual mass of a base in the collection, as "100 g".')
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="PATH",
    help="The file, or the collection's folder, to write.",
)
def command(
    name: str | None,
    kind: str | None,
    cone: str | None,
    atmosphere: str | None,
    base: Sequence[str],
    additions: Sequence[str],
    collection: bool,
    balances: Sequence[str],
    batch: str | None,
    out: Path | None,
) -> int:
    """Begin a recipe, or with --collection a whole collection in a folder.

    What no option says is asked for on a terminal; a recipe without a base gets room for one. Nothing that is there is
    written over.
    """
    if collection:
        for given, option in ((kind, "--kind"), (cone, "--cone"), (atmosphere, "--atmosphere")):
            if given is not None:
                raise click.UsageError(f"{option} is for a recipe; take it away, or take --collection away.")
        if base or additions:
            raise click.UsageError("--base and --addition are for a recipe; take --collection away.")
        return _begin_collection(name, balances, batch, out or Path())
    if balances or batch is not None:
        raise click.UsageError("--balance and --batch are for a collection: add --collection.")
    return _begin_recipe(name, kind, {"cone": cone, "atmosphere": atmosphere}, base, additions, out)


def _asks() -> bool:
    """Whether somebody sits there to be asked."""
    return all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stderr))


# ---- a recipe ------------------------------------------------------------------------------------------


def _begin_recipe(
    name: str | None,
    kind: str | None,
    given: dict[str, str | None],
    base: Sequence[str],
    additions: Sequence[str],
    out: Path | None,
) -> int:
    asks = _asks() and not base
    name = _name_of(name, asks)
    if out is not None:
        _check_file(out, name)
    if asks and kind is None:
        kind = _ask(f"kind ({', '.join(_KINDS)})", _KINDS[0], _known_kind)
    fields: dict[str, str] = {}
    for key, value in given.items():
        if value is None and asks:
            value = _ask(f"{key} (or nothing)", "", lambda text, key=key: begin.check_field(key, text))  # type: ignore[misc]
        elif value is not None:
            try:
                begin.check_field(key, value)
            except ValueError as error:
                raise usage_error(error, f"--{key}") from None
        if value:
            fields[key] = value
    if asks:
        base, additions = _ask_lines()
    try:
        text = begin.recipe_page(name, kind or _KINDS[0], fields, base, additions)
    except begin.PageError as error:
        note_findings(mistakes(error.diagnostics, error.source))
        note("nothing is written\n")
        return FINDINGS
    except ValueError as error:
        raise usage_error(error) from None
    file = out or Path(begin.file_of(name))
    if not _write({file: text}):
        return UNUSABLE
    todo = "" if base else "write its base, then "
    say(f"{plain.visible(display(file))}: written\n{todo}check it with  glost lint {_word(file)}\n")
    return CLEAN


def _name_of(given: str | None, asks: bool) -> str:
    """Raises UsageError for what cannot be the name of a recipe."""
    if given is None and not asks:
        raise click.UsageError('say what it is called:  glost new "Harbour Mist"')
    name = _ask("its name") if given is None else given
    if not name.strip():
        raise click.UsageError('a recipe has a name:  glost new "Harbour Mist"')
    if '"' in name:
        raise click.UsageError(
            f"the name {plain.visible(name)} holds a double quote, which ends a name on its page: "
            "leave it out, or write '."
        )
    return name


def _check_file(out: Path, name: str) -> None:
    """Raises UsageError for a file that no command would find the recipe in."""
    shown = plain.visible(str(out))
    if out.is_dir():
        raise click.UsageError(
            f"--out: {shown} is a folder; name the file in it:  --out {_word(out / begin.file_of(name))}"
        )
    if out.suffix != ENDING:
        raise click.UsageError(
            f"--out: the file of a recipe ends in {ENDING}, and {shown} does not:  "
            f"--out {_word(out.with_suffix(ENDING))}"
        )


def _word(path: Path) -> str:
    """A path as one word of a command that is to be typed."""
    return quote(plain.visible(display(path)))


def _known_kind(text: str) -> None:
    if text not in _KINDS:
        raise GlostError(f"'{text}' is no kind of recipe", f"the kinds are: {', '.join(_KINDS)}")


def _ask_lines() -> tuple[list[str], list[str]]:
    """Lines of the base, then of the additions, until nothing is written."""
    lists: tuple[list[str], list[str]] = ([], [])
    for lines, what in zip(lists, ("base", "additions"), strict=True):
        if what == "additions" and not lists[0]:
            break
        note(f"{what}: a material and its parts, such as  silica 25;  nothing when all are there\n")
        while line := _ask(f"  {begin.parts_of(lines, shipped_catalogue()):f} so far", "", _known_line):
            lines.append(line)
    return lists


def _known_line(text: str) -> None:
    if text:
        begin.check_line(text)


def _ask(what: str, usual: str | None = None, check: Callable[[str], object] | None = None) -> str:
    """What somebody writes; ``usual`` where nothing is written. What ``check`` refuses is asked for again."""
    while True:
        answer: str = click.prompt(what, default=usual, show_default=bool(usual), err=True).strip()
        try:
            if answer and check is not None:
                check(answer)
        except (GlostError, ValueError) as error:
            note(f"{sentence(error)}\n")
            continue
        return answer


# ---- a collection --------------------------------------------------------------------------------------


def _begin_collection(name: str | None, balances: Sequence[str], batch: str | None, folder: Path) -> int:
    asks = _asks()
    try:
        chosen = [begin.read_balance(text) for text in balances]
    except ValueError as error:
        raise usage_error(error, "--balance") from None
    handling = begin.HANDLING
    if asks:
        name = name or _ask("what the collection is called", folder.resolve().name)
        if not chosen:
            note(
                "balances: name, what it carries and reads, as  fine, 300 g, 0.01 g;  nothing when all are there\n"
            )
            while line := _ask("  a balance", "", begin.read_balance):
                chosen.append(begin.read_balance(line))
        batch = batch or _ask("the usual mass of a base", "100 g")
        handling = _ask("house note for dry powders", begin.HANDLING)
    try:
        texts = begin.collection_files(
            name or folder.resolve().name or "collection",
            chosen or begin.USUAL_BALANCES,
            batch or "100 g",
            handling,
        )
    except ConfigError as error:
        show_error(error)
        note("nothing is written\n")
        return UNUSABLE
    if not _write({folder / file: text for file, text in texts.items()}):
        return UNUSABLE
    say("".join(f"{plain.visible(display(folder / file))}: written\n" for file in texts) + _next(folder))
    return CLEAN


def _next(folder: Path) -> str:
    """What to do with a collection that was just begun. Where it is another folder, everything else is done there: a
    recipe that is begun outside belongs to no collection."""
    there = {} if whole(folder) == whole(Path()) else {f"cd {_word(folder)}": "go there"}
    steps = {
        **there,
        "glost lint": "check it",
        "glost convert . --to sheet --out sheets": "sheets for the bench",
        'glost new "Harbour Mist"': "a recipe of your own",
        "glost git-setup": "in a git repository: let git compare and merge by meaning; docs/git.md has the hook",
    }
    wide = max(map(len, steps)) + 2
    return "\nnext:\n" + "".join(f"  {step:<{wide}}{what}\n" for step, what in steps.items())


def _write(texts: dict[Path, str]) -> bool:
    """Writes files that are not there yet, all or none; says why where it cannot."""
    there = [path for path in texts if os.path.lexists(path)]
    if there:
        names = ", ".join(plain.visible(display(path)) for path in there)
        note(f"{names}: there already, and nothing is written over; name another place with --out\n")
        return False
    written: list[Path] = []
    try:
        for path, text in texts.items():
            write_new(path, text)
            written.append(path)
    except (OutputError, OSError) as error:
        for path in written:
            path.unlink(missing_ok=True)
        why = error.strerror or str(error) if isinstance(error, OSError) else sentence(error)
        note(f"{plain.visible(display(path))}: not written: {why}; name another place with --out\n")
        return False
    return True
