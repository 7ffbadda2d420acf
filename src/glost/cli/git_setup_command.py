"""glost git-setup."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from glost.cli import CLEAN, UNUSABLE
from glost.cli.streams import note, say
from glost.files import write_text
from glost.git.asking import GitFailed
from glost.git.folders import top_of
from glost.git.revisions import set_setting, setting
from glost.lint.reporters import plain
from glost.places import display

SETTINGS: Final = {
    "diff.glost.textconv": "glost textconv",
    "merge.glost.name": "recipes by what they mean",
    "merge.glost.driver": "glost merge --marker-size %L -- %O %A %B %P",
}
"""Settings of the repository, in its own .git/config."""

_ATTRIBUTES: Final = "*.glost text eol=lf diff=glost merge=glost"
_BEGIN: Final = "# glost git-setup\n"
_BEGIN_NEW: Final = "# glost git-setup (this file was made by it)\n"
_END: Final = "# glost git-setup ends\n"
_MARK: Final = "\ufeff"


class _Refused(Exception):
    """What stands there already is somebody's own; the text says what."""


@click.command()
@click.option("--undo", is_flag=True, help="Take away what was set up, and nothing else.")
@click.option("--print", "printing", is_flag=True, help="Only show what would be written; change nothing.")
def command(undo: bool, printing: bool) -> int:
    """Let git compare and merge the recipes of this repository by what they mean.

    Writes three settings to .git/config, which holds for you alone, and one line to .gitattributes, which is committed
    and holds for all: git passes over it where the settings are not made. --undo takes both away again.
    """
    if printing:
        say("".join(_shown()))
        return CLEAN
    top = top_of(Path.cwd())
    if top is None:
        raise click.UsageError("this folder lies in no git repository.")
    try:
        done = _take_away(top) if undo else _put(top)
    except _Refused as error:
        note(f"glost: {plain.visible(str(error))}\n")
        return UNUSABLE
    except (GitFailed, OSError, UnicodeDecodeError) as error:
        note(f"glost: not set up: {plain.visible(str(error))}\n")
        return UNUSABLE
    say("".join(f"{plain.visible(line)}\n" for line in done))
    return CLEAN


def _shown() -> list[str]:
    return [
        "to .gitattributes:\n",
        f"    {_ATTRIBUTES}\n",
        "to .git/config:\n",
        *(f"    git config --local {name} '{value}'\n" for name, value in SETTINGS.items()),
    ]


def _put(top: Path) -> list[str]:
    """Raises _Refused before anything is written, GitFailed, OSError, UnicodeDecodeError."""
    held = {name: setting(top, name) for name in SETTINGS}
    for name, value in held.items():
        if value not in (None, SETTINGS[name]):
            raise _Refused(f"{name} is set to '{value}' already; take that away first, or keep it")
    attributes = top / ".gitattributes"
    before = _read(attributes)
    if before is None or _block(before) is None:
        mark = _MARK if (before or "").startswith(_MARK) else ""
        begin = _BEGIN_NEW if before is None else _BEGIN
        # At the top, where whatever the owner says below it holds against it.
        rest = (before or "").removeprefix(mark)
        write_text(attributes, f"{mark}{begin}{_ATTRIBUTES}\n{_END}{rest}")
    for name, value in SETTINGS.items():
        if held[name] is None:
            set_setting(top, name, value)
    return [
        f"{display(attributes)}: {_ATTRIBUTES}",
        *(f"{name} = {value}" for name, value in SETTINGS.items()),
    ]


def _take_away(top: Path) -> list[str]:
    """Raises GitFailed, OSError, UnicodeDecodeError."""
    done = []
    attributes = top / ".gitattributes"
    before = _read(attributes)
    block = None if before is None else _block(before)
    if before is not None and block is not None:
        after = before.replace(block, "", 1)
        if not after and block.startswith(_BEGIN_NEW):
            attributes.unlink()
        else:
            write_text(attributes, after)
        done.append(f"{display(attributes)}: taken away")
    for name, value in SETTINGS.items():
        if setting(top, name) == value:
            set_setting(top, name, None)
            done.append(f"{name}: taken away")
    return done or ["nothing was set up here"]


def _read(path: Path) -> str | None:
    """The text of a file, its line breaks as they are; None where it is not there."""
    try:
        return path.read_bytes().decode("utf-8")
    except FileNotFoundError:
        return None


def _block(text: str) -> str | None:
    """What was written there, as it was written."""
    for begin in (_BEGIN_NEW, _BEGIN):
        block = f"{begin}{_ATTRIBUTES}\n{_END}"
        if block in text:
            return block
    return None
