"""What holds for a recipe and is no part of it: the allowances on its page, and what its collection says of its
materials, its handling and its balances. A change there changes what is found, weighed or fired, though no line of the
recipe is another.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from glost.changes.meaning import Fact, Place, Told
from glost.language import tree
from glost.linter.allowances import allowances
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.materials.catalogue import Catalogue, Material, key
from glost.recipe.recipe import Blend, Ingredient, Part, Recipe, Series, Step, names_a_recipe
from glost.recipe.settings import Settings
from glost.weighing.rounding import trimmed

_ALL: Final = "all"
_RULES: Final = "rules"
NOT_KNOWN: Final = "no material that is known"


def allowed(resolved: AnalysedRecipe, lines: Mapping[int, str]) -> dict[Place, Fact]:
    """The findings that the page lets stand: for which rule, where, and why. One without a reason, or that holds for no
    line, lets none stand. ``lines`` as in where_lines_are."""
    reasons: dict[Place, list[str]] = {}
    for one in allowances(resolved.page):
        if one.reason and one.line >= 0:
            within = lines.get(one.line, "") if one.line else ""
            reasons.setdefault(Place("allowances", within, one.rule), []).append(one.reason)
    return {place: "; ".join(dict.fromkeys(said)) for place, said in reasons.items()}


def where_lines_are(resolved: AnalysedRecipe) -> dict[int, str]:
    """What each line of a page is about, so that it is known again where other lines moved it."""
    source = resolved.page.source
    about: dict[int, str] = {}
    canonical = {item.span: material for item, material in resolved.places()}
    for block in resolved.page.blocks:
        head = _head(block)
        about[source.position(block.head.span.start).line] = head
        for line in block.lines:
            at = source.position(line.span.start).line
            if isinstance(line, tree.Item):
                about[at] = f"{head}, {canonical.get(line.span) or key(line.name.text)}"
            elif isinstance(line, tree.Instruction):
                about[at] = f"{head}, {', '.join(sorted(key(name.text) for name in line.names))}"
            elif isinstance(line, tree.Prose):
                about[at] = head
    return about


def _head(block: tree.Block) -> str:
    head = block.head
    if isinstance(head, tree.Title):
        return "title"
    if isinstance(head, tree.Field):
        return key(head.key.text)
    if isinstance(head, tree.Head):
        return f'{head.word.text} "{head.name.text}"' if head.name else head.word.text
    return "line"


def said_by_collection(
    recipes: Sequence[Recipe], settings: Settings, catalogue: Catalogue
) -> dict[Place, Fact]:
    """What a collection says that holds for a recipe, or for one of its revisions: asked of both, so that a material
    that one of them lacks is no change of the collection."""
    spelled = [set(_names(recipe)) for recipe in recipes]
    names = {name: catalogue.find(name) for name in sorted(set().union(*spelled))}
    used = {material.name for material in names.values() if material}
    facts: dict[Place, Fact] = dict(_house_notes(settings, catalogue, {*used, _ALL}))
    facts |= dict(_balances(settings))
    facts |= {place: fact for place, fact in _settings(settings) if place.what not in _NOT_OF_A_RECIPE}
    facts |= dict(_bodies(settings, recipes))
    for name, material in names.items():
        if all(name in one for one in spelled):
            facts[Place("materials", name, "means")] = material.name if material else NOT_KNOWN
        if material is not None:
            facts |= {place: fact for place, fact in _material(material) if place.what not in _NOT_OF_A_MIX}
    return facts


def but_for_rules(one: Told) -> Told:
    """Without the levels of rules, which say how a recipe is judged, and nothing of what is weighed or fired."""
    kept = {place: fact for place, fact in one.around.items() if not is_of_rules(place)}
    return replace(one, around=kept)


def is_of_rules(place: Place) -> bool:
    """Whether the level of a rule is meant."""
    return place.section == "settings" and place.within == _RULES


def seen_with(one: Told, recipes: Sequence[Recipe], settings: Settings, catalogue: Catalogue) -> Told:
    """A recipe with what its collection says of it and of the revisions that it is held against."""
    return replace(one, around={**one.around, **said_by_collection(recipes, settings, catalogue)})


def said_at_all(settings: Settings, catalogue: Catalogue) -> dict[Place, Fact]:
    """All that a collection says, whatever recipes it holds."""
    facts: dict[Place, Fact] = dict(_house_notes(settings, catalogue, None))
    facts |= dict(_balances(settings))
    facts |= dict(_settings(settings))
    facts |= dict(_bodies(settings))
    for material in catalogue:
        facts |= dict(_material(material))
    return facts


def _names(recipe: Recipe) -> Iterator[str]:
    """The materials as they are spelled, those of the recipes among the ingredients too."""
    lines: list[Ingredient | Step | Part] = [*recipe.base, *recipe.additions]
    for variation in recipe.variations:
        lines += (*variation.base, *variation.additions)
    blocks: tuple[Series | Blend, ...] = (*recipe.series, *recipe.blends)
    for block in blocks:
        lines += (*block.base, *block.steps)
    for used in recipe.uses.values():
        lines += used.parts
    yield from (key(one.name) for one in lines if not names_a_recipe(one.name))


def _house_notes(
    settings: Settings, catalogue: Catalogue, used: set[str] | None
) -> Iterator[tuple[Place, Fact]]:
    for name, note in settings.handling.items():
        material = None if name == _ALL else catalogue.find(name)
        called = material.name if material else name
        if used is None or called in used:
            yield Place("house notes", what=called), note


def _balances(settings: Settings) -> Iterator[tuple[Place, Fact]]:
    for balance in settings.balances:
        figures = (
            ("capacity", balance.capacity_g),
            ("readability", balance.readability_g),
            ("repeatability", balance.repeatability_g),
            ("minimum", balance.minimum_g),
            ("cup", balance.cup_g),
        )
        shown = (f"{word} {_figure(mass)} g" for word, mass in figures if mass is not None)
        yield Place("balances", what=balance.name), ", ".join(shown)


_NOT_OF_A_RECIPE: Final = ("name", "skip", "materials")
"""Settings that say which pages a collection has and how it is called, not how they are made or judged."""


def _settings(settings: Settings) -> Iterator[tuple[Place, Fact]]:
    usual = Settings()
    said = (
        ("name", settings.name),
        ("batch", _in_g(settings.batch_g)),
        ("weighing tolerance", _percent(settings.weighing_tolerance, usual.weighing_tolerance)),
        ("base tolerance", _unusual(settings.base_tolerance, usual.base_tolerance)),
        ("materials", settings.materials or ""),
        ("water", "" if settings.water is None else f"{_figure(settings.water)} %"),
        ("sieve", "" if settings.sieve is None else f"{settings.sieve} mesh"),
        ("skip", ", ".join(settings.skip)),
    )
    yield from ((Place("settings", what=word), text) for word, text in said if text)
    for rule, level in settings.rules.items():
        yield Place("settings", _RULES, rule), level


def _bodies(settings: Settings, recipes: Iterable[Recipe] | None = None) -> Iterator[tuple[Place, Fact]]:
    """The clays whose expansion is known: those that the recipes are put on, or all."""
    if not settings.bodies:
        return
    meant = list(settings.bodies.values())
    if recipes is not None:
        from glost.recipe.body import body_of

        named = (str(recipe.fields.get("body", "")) for recipe in recipes)
        meant = [body for name in named if (body := body_of(name, settings.bodies)) is not None]
    for body in meant:
        figures = [f"{_figure(body.expansion)}e-7/K"]
        if body.plus_or_minus is not None:
            figures.append(f"plus or minus {_figure(body.plus_or_minus)}e-7/K")
        yield Place("settings", "bodies", body.name), ", ".join([*figures, body.range, body.source])


def _in_g(mass: Decimal | None) -> str:
    return "" if mass is None else f"{_figure(mass)} g"


def _percent(value: Decimal, usual: Decimal) -> str:
    return "" if value == usual else f"{_figure(value * 100)} %"


def _unusual(value: Decimal, usual: Decimal) -> str:
    return "" if value == usual else _figure(value)


_NOT_OF_A_MIX: Final = ("aliases", "source", "hazard source", "price", "order below")
"""What is said of a material that changes neither what is weighed nor how it is judged or fired."""


def _material(one: Material) -> Iterator[tuple[Place, Fact]]:
    said = (
        ("role", one.role),
        ("analysis", composition_text(one.composition)),
        ("aliases", ", ".join(sorted(one.aliases))),
        ("soluble", "" if one.soluble == "no" else one.soluble),
        ("caustic", "yes" if one.caustic else ""),
        ("restricted", one.restricted),
        ("hazards", "not said" if one.hazards_unsaid else " ".join(one.statements)),
        ("cas", ", ".join(one.cas)),
        ("density", "" if one.density is None else ", ".join(f"{k} {v}" for k, v in one.density.items())),
        ("note", one.note),
        ("source", one.source),
        ("hazard source", "; ".join(dict.fromkeys(hazard.source for hazard in one.hazards))),
        ("price", "" if one.price is None else one.price.text),
        ("order below", _in_g(one.order_below_g)),
    )
    yield from ((Place("materials", one.name, word), text) for word, text in said if text)


def composition_text(composition: Mapping[str, Any] | None) -> str:
    """An analysis or a formula on one line."""
    if composition is None:
        return ""
    if composition["kind"] == "formula":
        return str(composition["formula"])
    if composition["kind"] == "analysis":
        oxides = [f"{oxide} {_figure(Decimal(str(n)))}" for oxide, n in composition["oxides"].items()]
        loss = Decimal(str(composition.get("loss", 0)))
        return ", ".join([*oxides, *([f"loss {_figure(loss)}"] if loss else [])])
    return str(composition["kind"])


def _figure(value: Decimal) -> str:
    """Without zeros at its end, so that 2 and 2.0 are one."""
    return trimmed(f"{value:f}")
