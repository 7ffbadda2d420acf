"""glost completion."""

from __future__ import annotations

import os
from pathlib import Path

import click
from click.shell_completion import get_completion_class

from glost.cli import CLEAN, UNUSABLE
from glost.cli.streams import note, put_text, say
from glost.linter.reporters import plain
from glost.workspace.files import write_text

_VARIABLE = "_GLOST_COMPLETE"


EXAMPLES = (
    "glost completion bash",
    "glost completion zsh --install",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command()
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@click.option("--install", is_flag=True, help="Put it where that shell looks for it, instead of printing it.")
def command(shell: str, install: bool) -> int:
    """Let a shell complete commands, options, materials, tests, rules and revisions.

    Prints the script that the shell reads. With --install it goes to the place in your home folder where the shell
    looks; a file of somebody else there is left alone.
    """
    from glost.cli.app import app

    found = get_completion_class(shell)
    assert found is not None
    script = found(app, {}, "glost", _VARIABLE).source()
    if not install:
        put_text(script)
        return CLEAN
    file = _place(shell)
    shown = plain.visible(str(file))
    try:
        if file.exists() and _VARIABLE not in file.read_text("utf-8", "replace"):
            note(f"{shown}: there already, and not of glost: move it away first\n")
            return UNUSABLE
        file.parent.mkdir(parents=True, exist_ok=True)
        write_text(file, script)
    except OSError as error:
        note(f"{shown}: not written: {error.strerror or error}\n")
        return UNUSABLE
    say(f"{shown}: written\n{_AFTER[shell]}\n")
    return CLEAN


def _place(shell: str) -> Path:
    home = Path.home()
    if shell == "bash":
        data = os.environ.get("XDG_DATA_HOME") or str(home / ".local" / "share")
        return Path(data) / "bash-completion" / "completions" / "glost"
    if shell == "fish":
        config = os.environ.get("XDG_CONFIG_HOME") or str(home / ".config")
        return Path(config) / "fish" / "completions" / "glost.fish"
    return home / ".zfunc" / "_glost"


_AFTER = {
    "bash": "a new terminal has it, where the package bash-completion is installed",
    "zsh": "write into ~/.zshrc, above compinit:  fpath+=~/.zfunc",
    "fish": "a new terminal has it",
}
