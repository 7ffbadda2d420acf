"""Cautions, handling notes and hazard statements, as every report has them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from glost.output.batch_sheet import (
    LISTED,
    MATERIAL_NOTES,
    RESTRICTED,
    SILENT,
    UNKNOWN,
    Caution,
    Hazards,
    Note,
)
from glost.output.model import Column, Entries, Entry, Heading, Node, Paragraph, Row, Table, Terms

HOUSE_NOTES = "House handling notes"
OWN_NOTES = "Handling notes of this recipe"


@lru_cache(maxsize=512)
def cautions(hazards: Hazards, usual: tuple[Caution, ...]) -> Entries:
    """What has to be read before a jar is opened: the gravest first."""
    return Entries(
        (
            *(Entry(RESTRICTED, f"{name}: restricted ({what})", True) for name, what in hazards.restricted),
            *([Entry(f"{', '.join(hazards.unknown)}.", UNKNOWN, True)] if hazards.unknown else ()),
            *(Entry(one.text, ", ".join(one.materials)) for one in usual),
        )
    )


def notes(handling: Sequence[tuple[Note, str]], own: str = OWN_NOTES, level: int = 3) -> Iterator[Node]:
    """Handling notes, the recipes' before the collection's, each with the recipe that it is of, or "". ``own``: what
    those of recipes are called."""
    for house, title in ((False, own), (True, HOUSE_NOTES)):
        entries = tuple(
            Entry(f"{note.text} ({recipe})" if recipe else note.text, ", ".join(note.names))
            for note, recipe in handling
            if note.house == house
        )
        if entries:
            yield from (Heading(title, level), Entries(entries))


@lru_cache(maxsize=512)
def statements(hazards: Hazards, level: int = 2) -> tuple[Node, ...]:
    """Materials with their codes, then the text of each code and each source once: to be looked up. What has to be read
    at the bench is said in plain words further up."""
    return tuple(_statements(hazards, level))


def _statements(hazards: Hazards, level: int) -> Iterator[Node]:
    if hazards.listed:
        sources: dict[str, int] = {}
        materials: dict[str, list[str]] = {}
        for one in hazards.listed:
            number = sources.setdefault(one.cited, len(sources) + 1)
            materials.setdefault(one.material, []).append(f"{' '.join(one.codes)} [{number}]")
        yield Heading(LISTED, level)
        yield Terms(tuple((name, ", ".join(codes)) for name, codes in materials.items()), "codes")
        columns = (Column("code", names=True), Column("text"))
        yield Table(columns, tuple(Row(pair) for pair in hazards.texts), name="codes")
        yield Terms(tuple((f"[{number}]", cited) for cited, number in sources.items()), "sources")
    if hazards.silent:
        yield from (Heading(SILENT, level), Paragraph(", ".join(hazards.silent)))
    if hazards.notes:
        yield Heading(MATERIAL_NOTES, level)
        yield Entries(tuple(Entry(text, name) for name, text in hazards.notes))
