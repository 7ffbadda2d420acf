"""A match as a recipe file that can be kept, weighed and linted."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence, Set
from typing import Final

from glost.chemistry.matching import WITHIN
from glost.chemistry.substitution import Line, Matched
from glost.language.layout import INDENT, format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.fields import FIELDS, text_of
from glost.recipe.materials.catalogue import Catalogue, Material
from glost.recipe.safety.statements import classes_of, needs_note

_OF_THE_OLD: Final = ("surface", "colour", "gravity", "origin", "date", "use")
"""What holds of the old recipe alone: nobody has seen the surface, the colour and the gravity of the new one, which
comes from elsewhere and has been fired for no use. Every other field is taken over."""
_ALL: Final = "all"
_BARE: Final = re.compile(r"[A-Za-z][A-Za-z-]*(?: [A-Za-z][A-Za-z-]*)*")


def recipe_text(
    matched: Matched, file: str, stem: str, catalogue: Catalogue, house_notes: Set[str] = frozenset()
) -> str:
    """The page. ``file`` is the old recipe's, as shown; ``stem`` the new one's name without its ending, or "".
    ``catalogue`` and ``house_notes`` (names, or "all") are those of the collection that it will belong to."""
    return format_text(parse(Source("match", "".join(_lines(matched, file, stem, catalogue, house_notes)))))


def _lines(
    matched: Matched, file: str, stem: str, catalogue: Catalogue, house_notes: Set[str]
) -> Iterator[str]:
    test = matched.target.test
    recipe = test.recipe
    yield f'{recipe.kind} "{_name(test.name, stem)}"\n'
    for key in FIELDS:
        if key in recipe.fields and key not in _OF_THE_OLD:
            yield _field(key, text_of(recipe.fields[key]))
    yield f"origin: {_origin(matched, file)}\n"
    yield "use: test\n"
    yield "\nbase:\n"
    yield from map(_item, matched.base)
    if matched.additions:
        yield "\nadditions:\n"
        yield from map(_item, matched.additions)
    notes = list(_handling(matched, catalogue, house_notes))
    if notes:
        yield "\nhandling:\n"
        yield from notes
    yield "\nnotes:\n"
    for line in _notes(matched):
        yield f"{INDENT}{line}\n"


def _field(key: str, text: str) -> str:
    if "\n" not in text:
        return f"{key}: {text}\n"
    return f"{key}:\n" + "".join(f"{INDENT}{line}\n" for line in text.split("\n"))


def _item(line: Line) -> str:
    note = f"  ({line.note})" if line.note else ""
    return f"{INDENT}{_written(line.material)}  {line.parts:f}{note}\n"


def _written(name: str) -> str:
    return name if _BARE.fullmatch(name) else f'"{name}"'


def _name(old: str, stem: str) -> str:
    """The new recipe's name: the old one's, or that of its file where that is called otherwise."""
    name = f"{old}, matched"
    words = re.findall(r"[^\W_]+", stem)
    if not words or _letters("".join(words)) == _letters(name):
        return name
    return " ".join(word[:1].upper() + word[1:] for word in words)


def _letters(text: str) -> str:
    return "".join(character for character in text.casefold() if character.isalnum())


def _origin(matched: Matched, file: str) -> str:
    without = f" without {' and '.join(matched.without)}" if matched.without else ""
    old = re.sub(r"(?:^| )#(?= |$)", "", matched.target.test.name)  # behind a lone # a comment would begin
    return f"matched{without} to the fired oxides of {old} ({_plain(file)}); not fired yet"


def _plain(text: str) -> str:
    """A file name without what would be no text of a recipe."""
    return re.sub(r"[^\w./ -]", "_", text)


def _notes(matched: Matched) -> Iterator[str]:
    if not matched.missed:
        yield f"Calculated, not fired: every oxide within {WITHIN} mol of the recipe it was matched to. Test it first."
        return
    yield "Calculated, not fired. It is another glaze than the one it was matched to; fire a test first."
    for one in matched.missed:
        side = "too much" if one.off > 0 else "short"
        yield f"{one.oxide}: {abs(one.off):.3f} mol {side} (where {_ONE[matched.basis]} 1)."


_ONE: Final = {"flux": "the fluxes are", "alumina": "the alumina is", "total": "all oxides together are"}


def _handling(matched: Matched, catalogue: Catalogue, house_notes: Set[str]) -> Iterator[str]:
    """The old recipe's handling notes for what remains, and a note for each material that asks for one and has none.
    One that the old recipe did not hold gets its own even where a note is for all: that was written without it."""
    test = matched.target.test
    used = [line.material for line in (*matched.base, *matched.additions)]
    old = {part.called for part in (*test.base, *test.additions)}
    noted = {_called(catalogue, name) for name in house_notes}
    for handling in test.recipe.handling:
        names = [name for name in handling.names if name == _ALL or _called(catalogue, name) in used]
        noted |= {_called(catalogue, name) for name in names}
        if names:
            yield f"{INDENT}{', '.join(name if name == _ALL else _written(name) for name in names)}: {handling.text}\n"
    fresh: dict[str, list[str]] = {}
    for name in dict.fromkeys(used):
        material = catalogue.find(name)
        has_one = name in noted or (name in old and _ALL in noted)
        if material is not None and not has_one and needs_note(material.statements_to_note):
            fresh.setdefault(_note(material), []).append(name)
    for text, names in fresh.items():
        yield f"{INDENT}{', '.join(map(_written, names))}: {text}\n"


def _called(catalogue: Catalogue, name: str) -> str:
    material = catalogue.find(name)
    return material.name if material else name


def _note(material: Material) -> str:
    """The usual cautions in one line (common practice)."""
    classes = {name for code in material.own_statements for name in classes_of(code)}
    out = [
        (
            "fitted P100 respirator (P3 by the European classes) and gloves when weighing and mixing;"
            " wet-clean spills, never sweep."
        )
    ]
    if material.carries:
        out.append(f"The dust holds fine {material.carries}, which scars the lungs and causes cancer.")
    if material.caustic or "corrosive" in classes:
        out.append("Burns skin and eyes when wet: goggles too.")
    if "eyes" in classes:
        out.append("Damages the eyes for good: goggles.")
    if "fire" in classes:
        out.append("Feeds fire: keep it from all that burns, and never grind it with any of that.")
    if classes & {"carcinogenic", "mutagenic"}:
        out.append("Known or suspected to cause cancer: keep exposure as low as you can.")
    if "reproductive" in classes:
        out.append(
            "Known or suspected to harm fertility or the unborn child: avoid contact during pregnancy."
        )
    out.append("The supplier's safety data sheet comes first.")
    return " ".join(out)


def names_unknown_to(catalogue: Catalogue, lines: Sequence[Line]) -> list[str]:
    """Materials that a collection does not know, so that its linter will say so."""
    return [line.material for line in lines if catalogue.find(line.material) is None]
