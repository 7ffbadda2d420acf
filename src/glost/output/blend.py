"""A page that blends recipes, and a point of a blend as a recipe of its own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.errors import GlostError
from glost.language.item_name import item_name
from glost.language.layout import INDENT, format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.blends import SHAPES
from glost.recipe.cone import Cone
from glost.recipe.fields import FIELDS, Value, text_of
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.recipe import Handling, Part, Test
from glost.recipe.settings import Settings
from glost.weighing.rounding import largest_remainder, plain, round_to

_SHARED: Final = ("cone", "atmosphere", "body", "use")
_FROM_POINT: Final = (*_SHARED, "application", "sieve")
"""Fields that a page of a blend has where all its corners say the same."""
_LEAST, _MOST = 2, 6
"""Decimals of an amount that is written out."""
_MOVED: Final = Fraction(5, 1000)
"""How far a line may move by that."""
_WHOLE: Final = Decimal(100)


class BlendError(GlostError, ValueError):
    """These recipes make no blend, or this test no page."""


def blend_page(
    name: str, corners: Sequence[Test], by: Decimal, label: str, house: Iterable[Handling] = ()
) -> str:
    """The text of a page that blends these tests by their dry masses, in steps of so many per cent. ``house``: notes of
    the house that hold for what is weighed, and are not known where the page is to stand."""
    kinds = list(dict.fromkeys(corner.recipe.kind for corner in corners))
    kind = kinds[0] if len(kinds) == 1 else "glaze"
    lines = [f'{kind} "{name}"\n', *_fields([corner.recipe.fields for corner in corners])]
    origin = f"blend of {_listed([corner.name for corner in corners])}"
    at = next((at for at, line in enumerate(lines) if line.startswith(("body:", "use:"))), len(lines))
    lines.insert(at, f"origin: {origin}\n")
    lines.append(f'\nbase blend "{label}" by {plain(by):f} %:\n')
    for at, corner in enumerate(corners):
        amounts = ", ".join("100" if at == column else "0" for column in range(len(corners)))
        lines.append(f'{INDENT}{corner.recipe.kind} "{corner.name}"  {amounts}\n')
    lines += _handling(house)
    return _laid_out("".join(lines))


def house_notes(corners: Iterable[Test], settings: Settings, catalogue: Catalogue) -> Iterator[Handling]:
    """The notes of a house that hold for these tests, in its order."""

    def called(name: str) -> str:
        found = catalogue.find(name)
        return found.name if found else name

    parts = [part for test in corners for part in (*test.base, *test.additions) if part.exact]
    used = {called(part.called) for part in parts}
    for name, text in settings.handling.items():
        if name == "all" or called(name) in used:
            yield Handling((name,), text)


def _handling(notes: Iterable[Handling]) -> list[str]:
    """The block of handling notes, each text once; nothing for none."""
    lines = [f"{INDENT}{', '.join(map(item_name, one.names))}: {one.text}\n" for one in dict.fromkeys(notes)]
    return ["\nhandling:\n", *lines] if lines else []


def usual_name(corners: Sequence[Test]) -> str:
    """What a page that blends these is called: Harbour Mist to Clear Ebb; Harbour Mist, Clear Ebb and Low Cloud."""
    names = [corner.name for corner in corners]
    if len(names) == 2:
        return f"{names[0]} to {names[1]}"
    return _listed(names)


def _listed(names: Sequence[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}"


def usual_label(corners: int) -> str:
    return SHAPES[corners]


def point_page(test: Test, name: str, revision: str, house: Iterable[Handling] = ()) -> str:
    """The text of a page with a point of a blend as a recipe of its own: its base exactly 100, its additions on the
    same scale, each rounded once. ``house``: see blend_page. Raises BlendError for a test with no base."""
    total = test.base_exact
    if total <= 0:
        raise BlendError("this test has an empty base", "name another point")
    base = [part for part in test.base if part.exact]
    added = [part for part in test.additions if part.exact]
    exact = [part.exact * 100 / total for part in (*base, *added)]
    for decimals in range(_LEAST, _MOST + 1):
        division = Decimal(1).scaleb(-decimals)
        amounts = [
            *largest_remainder(exact[: len(base)], _WHOLE, division),
            *(round_to(one, division) for one in exact[len(base) :]),
        ]
        if all(abs(Fraction(a) - one) <= _MOVED * one for a, one in zip(amounts, exact, strict=True)):
            break
    recipe = test.recipe
    lines = [f'{recipe.kind} "{name}"\n']
    fields: dict[str, str] = {
        key: text_of(recipe.fields[key]) for key in FIELDS if key in _FROM_POINT and key in recipe.fields
    }
    what = "point" if test.point else "test"
    fields["origin"] = (
        f'{what} {_where(test)} of "{recipe.name}{_of_block(test)}"{revision and ", " + revision}'
    )
    lines += [f"{key}: {fields[key]}\n" for key in FIELDS if key in fields]
    lines.append("\nbase:\n")
    lines += [_item(part, amount) for part, amount in zip(base, amounts, strict=False)]
    if added:
        lines.append("\nadditions:\n")
        lines += [_item(part, amount) for part, amount in zip(added, amounts[len(base) :], strict=True)]
    lines += _handling((*(one for one in recipe.every_handling if _concerns(one, (*base, *added))), *house))
    return _laid_out("".join(lines))


def _where(test: Test) -> str:
    return test.point.label if test.point else test.label or "itself"


def _of_block(test: Test) -> str:
    return f", {test.block_name}" if test.point else ""


def _concerns(note: Handling, parts: Sequence[Part]) -> bool:
    names = {one.casefold() for part in parts for one in (part.name, part.called)}
    return any(name.casefold() in names or name == "all" for name in note.names)


def _item(part: Part, amount: Decimal) -> str:
    note = f"  ({part.note})" if part.note else ""
    return f"{INDENT}{item_name(part.name)}  {amount:f}{note}\n"


def _fields(corners: Sequence[Mapping[str, Value]]) -> list[str]:
    """What every corner says in the same way: how a mix of others is fired, nobody can tell."""
    found = []
    for key in _SHARED:
        if key == "cone" and (cone := _cone(corners)):
            found.append(f"cone: {cone}\n")
            continue
        said = {text_of(fields[key]) if key in fields else "" for fields in corners}
        if len(said) == 1 and (text := said.pop()):
            found.append(f"{key}: {text}\n")
    return found


def _cone(corners: Sequence[Mapping[str, Value]]) -> str:
    """The cone that all corners are fired to, of those whose ranges meet at one of their own cones; "" where there is
    none."""
    cones = [fields.get("cone") for fields in corners]
    known = [cone for cone in cones if isinstance(cone, Cone) and cone.numbers is not None]
    if len(known) < len(corners):
        return ""
    ends = [cone.numbers for cone in known if cone.numbers is not None]
    low, high = max(one[0] for one in ends), min(one[1] for one in ends)
    return next((str(cone) for cone in known if cone.numbers == (low, high)), "")


def _laid_out(text: str) -> str:
    return format_text(parse(Source("blend", text)))
