"""The option --changed: the word behind it, a revision or a path."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path

import click

from glost.cli.common import recipe_files
from glost.linter.reporters.plain import visible
from glost.workspace.collection import Collections
from glost.workspace.paths import STANDARD_INPUT

OPTION = "--changed"
STAGED = "--staged"
LAST_COMMIT = ""
"""What stands for a revision where none is named."""

changed_option = click.option(
    OPTION,
    "since",
    is_flag=False,
    flag_value=LAST_COMMIT,
    metavar="[REV]",
    help="Only what has changed since the last commit, or since this branch left REV (a branch, tag or commit).",
)


staged_option = click.option(
    STAGED,
    "from_index",
    is_flag=True,
    help="What is about to be committed: the recipes that are staged, as they are staged, whatever lies in the folder.",
)


class ChangedCommand(click.Command):
    """A command with --changed, which may have a revision behind it or none. A path that follows stays a path."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if ctx.resilient_parsing:  # a shell that completes a line wants no answer of git's
            return super().parse_args(ctx, args)
        left = super().parse_args(ctx, _told_apart(args, ctx))
        if ctx.params["since"] is not None and STANDARD_INPUT in ctx.params["paths"]:
            raise click.UsageError("git knows files, not standard input (-): leave --changed out.", ctx)
        if ctx.params["since"] is not None and ctx.params.get("from_index"):
            raise click.UsageError(
                "--changed looks at the folder, and --staged at the index; leave one out.", ctx
            )
        return left


def _told_apart(arguments: Sequence[str], context: click.Context) -> list[str]:
    """The words of a command line, so that --changed has a revision behind an equals sign, or none behind it."""
    end = arguments.index("--") if "--" in arguments else len(arguments)
    words, out = list(arguments[:end]), []
    while words:
        word = words.pop(0)
        if word == f"{OPTION}=" or word.startswith(f"{OPTION}=-"):
            raise click.UsageError(f"no revision stands in '{visible(word)}'; write {OPTION}=main.", context)
        if word != OPTION or not words or _begins_option(words[0]):
            out.append(word)
        elif _means_revision(words[0], context):
            out.append(f"{OPTION}={words.pop(0)}")
        else:
            while words and not _begins_option(words[0]):
                out.append(words.pop(0))
            out.append(OPTION)  # behind the paths, where an option or nothing follows
    return [*out, *arguments[end:]]


def _begins_option(word: str) -> bool:
    return word.startswith("-") and word != STANDARD_INPUT


def _means_revision(word: str, context: click.Context) -> bool:
    """Whether the word behind --changed is a revision: what is there is a path. Raises UsageError for both."""
    if word == STANDARD_INPUT:
        return False
    if not os.path.lexists(word):
        return True
    from glost.workspace.git.folders import top_of
    from glost.workspace.git.run import GitError, commit_of

    top = top_of(Path.cwd())
    try:
        revision = None if top is None else commit_of(top, word)
    except GitError:  # told where its answer is needed
        revision = None
    if revision is not None:
        shown = visible(word)
        raise click.UsageError(
            f"'{shown}' is a path here and a revision of git: write {OPTION}={shown} for the revision, "
            f"{OPTION} -- {shown} for the path.",
            context,
        )
    return False


def refuse_with_staged(**given: bool) -> None:
    """Raises UsageError for options that would write what is not looked at."""
    for option, is_given in given.items():
        if is_given:
            raise click.UsageError(
                f"{STAGED} looks at what is staged and writes nothing; leave --{option.replace('_', '-')} out."
            )


def choosing(since: str | None) -> Callable[[Sequence[str], Collections], list[Path]]:
    """What finds the recipes that paths mean: those that have changed since a revision, or all of them for None."""
    if since is None:
        return recipe_files
    from glost.cli.since import changed_files

    return lambda paths, collections: changed_files(paths, collections, since).changed
