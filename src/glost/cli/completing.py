"""What the shell is offered for options and arguments that name something of a collection. It is looked up only while a
shell completes a line; what cannot be read there offers nothing, and is not complained of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import click
from click.shell_completion import CompletionItem

from glost.errors import GlostError
from glost.workspace.collection import Collection, Collections

if TYPE_CHECKING:
    from glost.recipe.recipe import Recipe

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


def _recipes(context: click.Context) -> Iterator[Recipe]:
    """The recipes that the line names so far; else those of this folder."""
    from glost.workspace.collection import find
    from glost.workspace.load import Usable, usable

    met = Collections()
    for path in find(_given_paths(context) or ["."], met)[:_MOST_RECIPES]:
        try:
            found = usable(path, met)
        except GlostError:
            continue
        if isinstance(found, Usable):
            yield found.recipe


def _tests(context: click.Context) -> Iterable[str]:
    from glost.recipe.recipe import tests

    for recipe in _recipes(context):
        for test in tests(recipe):
            yield test.label or test.name


def _collection(context: click.Context) -> Collection:
    """The collection of the first recipe on the line; else that of this folder."""
    first = Path(next(iter(_given_paths(context)), "."))
    return Collections().of(first / "x" if first.is_dir() else first)


def _materials(context: click.Context) -> Iterable[str]:
    return (material.name for material in _collection(context).catalogue)


def _weighed(context: click.Context) -> Iterable[str]:
    """Materials as they are said with an amount behind them."""
    return (f"{name}=" for name in _materials(context))


def _cones(_context: click.Context) -> Iterable[str]:
    from glost.recipe.cone import KNOWN

    return KNOWN


def _atmospheres(_context: click.Context) -> Iterable[str]:
    from glost.recipe.fields import ATMOSPHERES

    return ATMOSPHERES


def _uses(_context: click.Context) -> Iterable[str]:
    from glost.recipe.fields import FIELDS

    return FIELDS["use"].type.words


def _faults(_context: click.Context) -> Iterable[str]:
    from glost.recipe.firing import FAULTS

    return FAULTS


def _tags(context: click.Context) -> Iterable[str]:
    for recipe in _recipes(context):
        tags = recipe.fields.get("tags", ())
        if isinstance(tags, tuple):
            yield from map(str, tags)


def _bodies(context: click.Context) -> Iterable[str]:
    yield from (body.name for body in _collection(context).settings.bodies.values())
    yield from (recipe.name for recipe in _recipes(context) if recipe.kind == "body")


def _balances(context: click.Context) -> Iterable[str]:
    return (balance.name for balance in _collection(context).settings.balances)


def _revisions(_: click.Context) -> Iterable[str]:
    from glost.workspace.git.folders import top_of
    from glost.workspace.git.run import HEAD, asked

    top = top_of(Path.cwd())
    if top is None:
        return
    yield HEAD
    names = asked(top, "for-each-ref", "--format=%(refname:short)", "refs/heads", "refs/tags", "refs/remotes")
    yield from names.decode("utf-8", "replace").splitlines()


_OFFERS: dict[str, Offer] = {
    "--test": _tests,
    "--balance": _balances,
    "--with": _materials,
    "--without": _materials,
    "--keep": _materials,
    "--base": _materials,
    "--addition": _materials,
    "--weighed": _weighed,
    "--cone": _cones,
    "--atmosphere": _atmospheres,
    "--use": _uses,
    "--tag": _tags,
    "--body": _bodies,
    "--fault": _faults,
    "--changed": _revisions,
    "count items": _weighed,
    "delivery items": _weighed,
    "compare sides_given": _revisions,
}
"""By the option, or by the command and the name of its argument."""
