"""glost git-setup."""

from __future__ import annotations

import os
import sys
import sysconfig
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import number_of
from glost.cli.errors import show_error
from glost.cli.progress import counted
from glost.cli.shown_to_git import shown
from glost.cli.streams import say
from glost.errors import GlostError
from glost.linter.baseline import FILE as BASELINE
from glost.linter.reporters import plain
from glost.workspace.files import write_text
from glost.workspace.git import drivers
from glost.workspace.git.attributes import held_otherwise
from glost.workspace.git.folders import in_store, top_of
from glost.workspace.git.kept_shown import Keeper, pages_to_show, read_all
from glost.workspace.git.line_breaks import with_lf
from glost.workspace.git.revisions import forget, set_setting, setting, store_of
from glost.workspace.git.run import GitError
from glost.workspace.git.trial import refused
from glost.workspace.paths import FIRING, MATERIALS, PAGES, SETTINGS, display

_RECIPES: Final = "*.glost text eol=lf diff=glost merge=glost"
_BASELINES: Final = f"{BASELINE} text eol=lf merge=glost"
_PAGES_AND_BASELINES: Final = f"{_RECIPES}\n*{FIRING} text eol=lf diff=glost merge=glost\n{_BASELINES}"
_ATTRIBUTES: Final = "\n".join(
    (_PAGES_AND_BASELINES, *(f"{name} text eol=lf merge=glost" for name in (SETTINGS, MATERIALS)))
)
_EARLIER: Final = (_PAGES_AND_BASELINES, f"{_RECIPES}\n{_BASELINES}", _RECIPES)
"""What an earlier glost wrote."""
_BEGIN: Final = "# glost git-setup\n"
_BEGIN_NEW: Final = "# glost git-setup (this file was made by it)\n"
_END: Final = "# glost git-setup ends\n"
_MARK: Final = "\ufeff"


class _SetupError(GlostError):
    """What stands there already is somebody's own; the text says what."""


EXAMPLES = (
    "glost git-setup --print",
    "glost git-setup",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.option("--undo", is_flag=True, help="Take away what was set up, and nothing else.")
@click.option(
    "--fill",
    is_flag=True,
    help="Then work out what git shows of the pages of all commits, so that it need not ask.",
)
@click.option("--print", "printing", is_flag=True, help="Only show what would be written; change nothing.")
def command(undo: bool, fill: bool, printing: bool) -> int:
    """Let git compare and merge the recipes of this repository by what they mean.

    Writes five settings to .git/config, which hold for you alone, and five lines to .gitattributes, which are
    committed and hold for all: git passes over them where the settings are not made. First it is tried, in a repository
    made for that, whether git can call glost. --undo takes both away again.

    git starts glost once for each page that it shows for the first time, which takes a while in a log of many commits.
    --fill works all of them out in one go, for the commits that are here; what comes later git asks for as it meets it.
    """
    if fill and (undo or printing):
        raise click.UsageError("--fill stands by itself: it sets up, and then fills.")
    command = _how_glost_is_called()
    settings = drivers.settings(command)
    if printing:
        say("".join(_shown(settings)))
        return CLEAN
    top = top_of(Path.cwd())
    if top is None and in_store(Path.cwd()):
        raise click.UsageError(
            "this is a bare repository or the store of one, where nobody merges or looks at a difference; set it up in "
            "each clone."
        )
    if top is None:
        raise click.UsageError(
            "this folder lies in no git repository: go to one, or begin one here with 'git init'."
        )
    try:
        done = _take_away(top, settings) if undo else _put(top, command[0], settings)
        if fill:
            done.append(_fill(top, settings["diff.glost.textconv"]))
    except _SetupError as error:
        show_error(error, "glost")
        return UNUSABLE
    except (GitError, OSError, UnicodeDecodeError) as error:
        show_error(error, "glost: not set up")
        return UNUSABLE
    say("".join(f"{plain.visible(line)}\n" for line in done))
    return CLEAN


def _how_glost_is_called() -> list[str]:
    """The command that started this run, by whole paths: that is what holds in every terminal and window. A link is
    left as it is, since it may be what stays in its place when glost is installed anew."""
    started = os.path.abspath(sys.argv[0])  # noqa: PTH100 (links are kept)
    ending = ".exe" if sys.platform == "win32" else ""
    beside = os.path.join(sysconfig.get_path("scripts"), f"glost{ending}")  # noqa: PTH118
    for found in (started, f"{started}{ending}", beside):
        named = Path(found).stem == "glost" and not found.endswith(".py")
        if named and os.path.isfile(found) and os.access(found, os.X_OK):  # noqa: PTH113
            return [found]
    # Without -P a module that lies in somebody's repository could be taken for one of Python's.
    return [sys.executable, "-P", "-m", "glost"]


def _shown(settings: Mapping[str, str]) -> list[str]:
    return [
        "to .gitattributes:\n",
        *(f"    {line}\n" for line in _ATTRIBUTES.splitlines()),
        "to .git/config:\n",
        *(
            f"    git config --local {drivers.shell_words([name, value])}\n"
            for name, value in settings.items()
        ),
    ]


def _put(top: Path, program: str, settings: Mapping[str, str]) -> list[str]:
    """Raises _SetupError before anything is written, GitError, OSError, UnicodeDecodeError."""
    attributes = top / ".gitattributes"
    _refuse_links(top, attributes)
    held = {name: setting(top, name) for name in settings}
    for name, value in held.items():
        if value is not None and not drivers.is_ours(name, value):
            raise _SetupError(f"{name} is set to '{value}' already", "take that away first, or keep it")
    why = refused(settings, _ATTRIBUTES)
    if why is not None:
        raise _SetupError(f"not set up, since git cannot call {program}: {why}")
    before = _read(attributes)
    block = None if before is None else _block(before)
    if before is not None and block is not None and _ATTRIBUTES not in block:  # set up by an earlier glost
        write_text(attributes, before.replace(block, _renewed(block), 1))
    if block is None:
        mark = _MARK if (before or "").startswith(_MARK) else ""
        begin = _BEGIN_NEW if before is None else _BEGIN
        # At the top, where whatever the owner says below it holds against it.
        rest = (before or "").removeprefix(mark)
        write_text(attributes, f"{mark}{begin}{_ATTRIBUTES}\n{_END}{rest}")
    for name, value in settings.items():
        if held[name] != value:
            set_setting(top, name, value)
    forget(top, drivers.CACHE)  # what was shown while glost could not be called would stay for ever
    renewed = with_lf(top, PAGES)
    return [
        *([f"{number_of(renewed, 'page')}: the lines end in LF again, as git holds them"] if renewed else []),
        *(f"{display(attributes)}: {line}" for line in _ATTRIBUTES.splitlines()),
        f"{display(store_of(top) / 'config')}: {', '.join(settings)}",
        f"git calls {program}; tried: it shows a page by what it means, and merges by that",
        *_held_otherwise(top),
        "where that cannot be called one day, git shows pages as they are written, and merges line by line",
    ]


_DONE_BY: Final = {"diff": "shows", "merge": "merges"}


def _held_otherwise(top: Path) -> list[str]:
    """What somebody's own lines keep git from doing. Raises GitError."""
    wanted = {
        pattern: {
            attribute: value
            for attribute, _, value in (word.partition("=") for word in words)
            if attribute in _DONE_BY
        }
        for pattern, *words in map(str.split, _ATTRIBUTES.splitlines())
    }
    return [
        f"but not {number_of(one.files, 'file')}, such as {one.file}: another line of attributes says {one.said}, "
        f"so that git {_DONE_BY[one.attribute]} {'it' if one.files == 1 else 'them'} without glost"
        for one in held_otherwise(top, wanted)
    ]


def _fill(top: Path, command: str) -> str:
    """Raises GitError."""
    names = pages_to_show(top, PAGES, command)
    keeper = Keeper(top, command)
    for name, data in counted(read_all(top, names), "pages worked out", len(names)):
        keeper.keep(name, shown(name, data))
    keeper.finish()
    return f"{number_of(len(names), 'page')} of all commits: git keeps what it shows of them"


def _refuse_links(top: Path, attributes: Path) -> None:
    """What would be written may lie in a repository that somebody else has filled. Raises _SetupError, GitError."""
    for file in (attributes, store_of(top) / "config"):
        if file.is_symlink():
            leads = os.readlink(file)  # noqa: PTH115 (a text to show)
            raise _SetupError(
                f"{display(file)} is a link to {leads}, and is not written through", "put a file there"
            )


def _take_away(top: Path, settings: Mapping[str, str]) -> list[str]:
    """Raises _SetupError, GitError, OSError, UnicodeDecodeError."""
    done = []
    attributes = top / ".gitattributes"
    _refuse_links(top, attributes)
    before = _read(attributes)
    block = None if before is None else _block(before)
    if before is not None and block is not None:
        after = before.replace(block, "", 1)
        if not after and block.startswith(_BEGIN_NEW):
            attributes.unlink()
        else:
            write_text(attributes, after)
        done.append(f"{display(attributes)}: taken away")
    for name in settings:
        value = setting(top, name)
        if value is not None and drivers.is_ours(name, value):
            set_setting(top, name, None)
            done.append(f"{name}: taken away")
    forget(top, drivers.CACHE)
    return done or ["nothing was set up here"]


def _read(path: Path) -> str | None:
    """The text of a file, its line breaks as they are; None where it is not there."""
    try:
        return path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return None


def _renewed(block: str) -> str:
    begin = _BEGIN_NEW if block.startswith(_BEGIN_NEW) else _BEGIN
    return f"{begin}{_ATTRIBUTES}\n{_END}"


def _block(text: str) -> str | None:
    """What was written there, as it was written."""
    for begin in (_BEGIN_NEW, _BEGIN):
        for lines in (_ATTRIBUTES, *_EARLIER):
            block = f"{begin}{lines}\n{_END}"
            if block in text:
                return block
    return None
