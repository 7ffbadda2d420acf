"""The page of a firing as git's diff should see it: what it means, in one order and one spelling, its schedule worked
out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from glost.language import tree
from glost.recipe.firing import Firing, ResolvedFiring, Tile
from glost.recipe.schedule import Schedule, Step, duration


def firing_text(resolved: ResolvedFiring) -> str:
    """Of a page that is read whole; its comments are kept."""
    return "".join(f"{line}\n" for line in _lines(resolved))


def _lines(resolved: ResolvedFiring) -> Iterator[str]:
    firing = resolved.firing
    yield f'firing "{firing.name}"'
    yield from (f"{key}: {value}" for key, value in said_of(firing).items())
    if firing.schedule is not None:
        yield from ("", "schedule:")
        yield from (f"    {line}" for line in schedule_lines(firing.schedule))
        yield f"    in all: {firing.schedule.said}"
    own = {tile.name: said for tile, (_, said) in zip(firing.tiles, resolved.entries, strict=True)}
    for tile in firing.tiles:
        yield from ("", f'tile "{tile.name}"')
        facts = said_of_tile(tile)
        if "body" not in own[tile.name]:
            facts.pop("body", None)  # that of the firing
        yield from (f"    {key}: {value}" for key, value in facts.items())
    if firing.notes:
        yield from ("", "notes:")
        yield from (f"    {line}".rstrip() for line in firing.notes.split("\n"))
    comments = list(comments_of(resolved.page))
    if comments:
        yield from ("", "comments:")
        yield from (f"    {comment}" for comment in comments)


def said_of(firing: Firing) -> dict[str, str]:
    """The fields of a firing that say something."""
    said = {
        "date": firing.date,
        "kiln": firing.kiln,
        "cone": str(firing.cone or ""),
        "reached": str(firing.reached or ""),
        "atmosphere": firing.atmosphere,
        "body": firing.body,
    }
    return {key: value for key, value in said.items() if value}


def said_of_tile(tile: Tile) -> dict[str, str]:
    """What is said of a tile."""
    said = {
        "test": tile.test.written if tile.test else "",
        "batch": tile.batch,
        "body": tile.body,
        "place": tile.place,
        "surface": tile.surface,
        "colour": tile.colour,
        "flow": f"{tile.flow.normalize():f} mm" if tile.flow is not None else "",
        "faults": ", ".join(tile.faults),
        "photo": tile.photo,
        "remarks": tile.remarks,
    }
    return {key: value for key, value in said.items() if value}


def schedule_lines(schedule: Schedule) -> Iterator[str]:
    """Its lines as the language has them; where it begins is always said."""
    yield f"from {schedule.start:f} {schedule.unit}"
    yield from (_step(step, schedule.unit) for step in schedule.steps)


def _step(step: Step, unit: str) -> str:
    how = "freely"
    if step.rate is not None:
        how = f"at {step.rate.normalize():f} {unit}/h"
    elif step.minutes is not None:
        how = f"in {duration(Fraction(step.minutes))}"
    hold = f", hold {duration(Fraction(step.hold))}" if step.hold else ""
    return f"to {step.target:f} {unit} {how}{hold}"


def comments_of(page: tree.Page) -> Iterator[str]:
    """Every comment with its #, in the order of the page."""
    for line in page.lead:
        if isinstance(line, tree.Remark):
            yield line.text
    for block in page.blocks:
        if not isinstance(block.head, tree.Unread) and block.head.comment is not None:
            yield block.head.comment.text
        for line in block.lines:
            if isinstance(line, tree.Remark):
                yield line.text
            elif isinstance(line, (tree.Own, tree.Ramp)) and line.comment is not None:
                yield line.comment.text
