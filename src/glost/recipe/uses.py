"""The recipes that a page uses as ingredients, looked up by their names."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from glost.language.diagnostics import Diagnostic
from glost.recipe.analysed import AnalysedRecipe, Placed
from glost.recipe.library import Finder, UseError
from glost.recipe.names import folded, ingredient_name, plain
from glost.recipe.page_size import too_many
from glost.recipe.recipe import Ingredient, Step, Used, labels, with_each_line


def with_uses(resolved: AnalysedRecipe, finder: Finder | None) -> AnalysedRecipe:
    """The page with the recipes that it uses, or with what is wrong with their names."""
    page = resolved.page
    uses: dict[str, Used] = {}
    wrong = list(_of_itself(resolved))
    told = {one.span for one in (*resolved.diagnostics, *wrong)}
    for item, _ in resolved.places():
        name = item.name
        if not name.kind or name.span in told:
            continue
        key = ingredient_name(name)
        if key in uses:
            continue
        try:
            if finder is None:
                raise UseError(
                    f"'{name.text}' cannot be looked up: this page belongs to no collection",
                    "keep it in a file beside the recipes that it uses",
                )
            uses[key] = finder.find(name.kind, plain(name.text), page)
        except UseError as error:
            wrong.append(error.at(name.span))
    resolved = _as_their_pages_name_them(resolved, {name: used.written for name, used in uses.items()})
    recipe = replace(resolved.recipe, uses={used.written: used for used in uses.values()})
    if not wrong and resolved.complete:
        materials = sum(len(used.parts) for used in uses.values()) + len(recipe.base) + len(recipe.additions)
        many = too_many(page, sum(1 for _ in labels(resolved.recipe)), materials)
        wrong += [many] if many else []
    diagnostics = tuple(sorted((*resolved.diagnostics, *wrong), key=lambda one: one.span))
    return resolved._replace(recipe=recipe, complete=resolved.complete and not wrong, diagnostics=diagnostics)


def _of_itself(resolved: AnalysedRecipe) -> Iterator[Diagnostic]:
    """What is wrong where a recipe stands in its own base variations."""
    own = folded(resolved.recipe.name)
    for head, item, _ in resolved.in_base() if resolved.base else ():
        if item.name.kind == resolved.recipe.kind and folded(item.name.text) == own:
            yield Diagnostic(
                item.name.span,
                f"this {item.name.kind} cannot be its own ingredient in a {head.word.text}",
                "write it on a page of its own: glost blend writes one",
            )


def _as_their_pages_name_them(resolved: AnalysedRecipe, names: Mapping[str, str]) -> AnalysedRecipe:
    """The page with each recipe under the one name that its own page has, so that two spellings are one line."""
    if all(written == name for written, name in names.items()):
        return resolved

    def line(one: Ingredient) -> Ingredient:
        return one._replace(name=names.get(one.name, one.name))

    def step(one: Step) -> Step:
        return one._replace(name=names.get(one.name, one.name))

    def placed(lines: Iterable[Placed]) -> tuple[Placed, ...]:
        return tuple(Placed(one.item, line(one.ingredient)) for one in lines)

    recipe = with_each_line(resolved.recipe, line, step)
    several = {
        key: tuple((head, tuple((item, step(one)) for item, one in steps)) for head, steps in blocks)
        for key, blocks in (
            ("series", resolved.series),
            ("base_series", resolved.base_series),
            ("blends", resolved.blends),
            ("base_blends", resolved.base_blends),
        )
    }
    return resolved._replace(
        recipe=recipe,
        base=placed(resolved.base),
        additions=placed(resolved.additions),
        variations=tuple((head, placed(lines)) for head, lines in resolved.variations),
        base_variations=tuple((head, placed(lines)) for head, lines in resolved.base_variations),
        series=several["series"],
        base_series=several["base_series"],
        blends=several["blends"],
        base_blends=several["base_blends"],
    )
