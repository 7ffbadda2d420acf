"""The manual page, made from the commands themselves, in the macros of man(7)."""

from __future__ import annotations

import click

from glost import __version__


def manual(top: click.Context) -> str:
    """The page of section 1 of the manual: what glost is, each command with its options and examples, exit status."""
    from glost.cli.app import COMMANDS, app

    lines = [
        f'.TH GLOST 1 "" "glost {_text(__version__)}" "glost"',
        ".SH NAME",
        "glost \\- glaze recipes as plain text: checked, laid out, and turned into the sheet at the bench",
        ".SH SYNOPSIS",
        ".B glost",
        ".I COMMAND",
        "[OPTIONS] [PATHS]...",
        ".SH COMMANDS",
    ]
    for name, summary in COMMANDS.items():
        lines += [".TP", f".B {_text(name)}", _text(summary)]
    for name in COMMANDS:
        command = app.get_command(top, name)
        assert command is not None
        lines += _command(command, click.Context(command, info_name=name, parent=top), name)
    lines += [
        ".SH EXIT STATUS",
        "0 nothing found, 1 something found, 2 wrong usage or unreadable input.",
        ".SH SAFETY",
        "Glaze materials can harm people. Local codes, the supplier's safety data sheet and licensed practice",
        "come first.",
    ]
    return "\n".join(lines) + "\n"


def _command(command: click.Command, context: click.Context, name: str) -> list[str]:
    from glost.cli.app import examples_of

    lines = [
        f".SH {_text(f'glost {name}').upper()}",
        f".B {_text(' '.join(['glost', name, *command.collect_usage_pieces(context)]))}",
    ]
    for paragraph in (command.help or "").replace("\b\n", "").split("\n\n"):
        lines += [".PP", _text(" ".join(paragraph.split()))]
    for parameter in command.get_params(context):
        record = parameter.get_help_record(context)
        if record is not None:
            lines += [".TP", f".B {_text(record[0])}", _text(record[1])]
    lines += [".PP", "Examples:", ".nf", *map(_text, examples_of(name)), ".fi"]
    return lines


def _text(text: str) -> str:
    """A text as man(7) shows it: a backslash and a hyphen are written out, and no line begins a macro."""
    escaped = text.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{escaped}" if escaped.startswith((".", "'")) else escaped
