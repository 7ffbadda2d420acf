"""What the shell is offered for options and arguments that name something of a collection. It is looked up only while a
shell completes a line; what cannot be read there offers nothing, and is not complained of."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeAlias

import click
from click.shell_completion import CompletionItem

from glost.errors import GlostError
from glost.workspace.collection import Collection, Collections

Offer: TypeAlias = "Callable[[click.Context], Iterable[str]]"

_MOST_RECIPES = 200
"""So many pages are read for the names of their tests: a shell waits while its line is completed."""


def add(name: str, command: click.Command) -> None:
    """Lets a command offer what it knows by its options' names."""
    for parameter in command.params:
        offers = _OFFERS.get(f"{name} {parameter.name}") or next(
            (_OFFERS[option] for option in parameter.opts if option in _OFFERS), None
        )
        if offers is not None and getattr(parameter, "_custom_shell_complete", None) is None:
            files = isinstance(parameter, click.Argument)
            parameter._custom_shell_complete = _completion(offers, files)  # noqa: SLF001 (click has no other door)


def _completion(
    offers: Offer, files: bool
) -> Callable[[click.Context, click.Parameter, str], list[CompletionItem]]:
    def complete(context: click.Context, _: click.Parameter, incomplete: str) -> list[CompletionItem]:
        try:
            words = sorted(dict.fromkeys(offers(context)))
        except (GlostError, OSError, ValueError):
            words = []
        begun = incomplete.casefold()
        found = [CompletionItem(word) for word in words if word.casefold().startswith(begun)]
        return [*found, CompletionItem(incomplete, type="file")] if files else found

    return complete


def _given_paths(context: click.Context) -> list[str]:
    """The recipes that the line names so far. A line that is not finished has left them among its arguments."""
    named = ("paths", "recipe", "target", "path")
    given: Any = next((context.params[key] for key in named if context.params.get(key)), ())
    found = [str(given)] if isinstance(given, (str, Path)) else [str(path) for path in given]
    return found or [word for word in context.args if not word.startswith("-") and Path(word).exists()]


def _tests(context: click.Context) -> Iterable[str]:
    from glost.recipe.recipe import tests
    from glost.workspace.collection import find
    from glost.workspace.load import Usable, usable

    met = Collections()
    for path in find(_given_paths(context) or ["."], met)[:_MOST_RECIPES]:
        try:
            found = usable(path, met)
        except GlostError:
            continue
        if isinstance(found, Usable):
            for test in tests(found.recipe):
                yield test.label or test.name


def _collection(context: click.Context) -> Collection:
    """The collection of the first recipe on the line; else that of this folder."""
    first = Path(next(iter(_given_paths(context)), "."))
    return Collections().of(first / "x" if first.is_dir() else first)


def _materials(context: click.Context) -> Iterable[str]:
    return (material.name for material in _collection(context).catalogue)


def _balances(context: click.Context) -> Iterable[str]:
    return (balance.name for balance in _collection(context).settings.balances)


def _revisions(_: click.Context) -> Iterable[str]:
    from glost.workspace.git.folders import top_of
    from glost.workspace.git.run import asked

    top = top_of(Path.cwd())
    if top is None:
        return
    yield "HEAD"
    names = asked(top, "for-each-ref", "--format=%(refname:short)", "refs/heads", "refs/tags", "refs/remotes")
    yield from names.decode("utf-8", "replace").splitlines()


_OFFERS: dict[str, Offer] = {
    "--test": _tests,
    "--balance": _balances,
    "--without": _materials,
    "--keep": _materials,
    "--changed": _revisions,
    "compare sides_given": _revisions,
}
"""By the option, or by the command and the name of its argument."""
