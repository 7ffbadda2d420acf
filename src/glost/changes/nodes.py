"""A comparison as nodes of the shared document model: the same for a terminal and for the text of a merge request."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final

from glost.changes.around import is_of_rules
from glost.changes.comparison import Change, Rewording
from glost.changes.judgement import Noted
from glost.changes.meaning import OF_THE_COLLECTION, Fact, Place, fact_text
from glost.changes.report import (
    HERE,
    HOW,
    NOTHING,
    PARTIAL,
    RANKS,
    REWORDED,
    CollectionChange,
    Part,
    Report,
    Reported,
    fired_rows,
    parts_of,
)
from glost.changes.report import Row as Amounts
from glost.changes.rounding import TOLERANCE
from glost.output.escape import visible
from glost.output.model import Band, Column, Entries, Entry, Heading, Node, Paragraph, Row, Table

ARROW: Final = "->"
_STATES: Final = {
    "added": "new here",
    "removed": "taken out",
    "unreadable": "cannot be compared: it cannot be read whole",
    "rounded": f"rounding only: {TOLERANCE}",
}
_NAMED: Final = 12
"""Recipes that a change of a collection names; of the rest it says how many there are."""
MOVED: Final = "the same recipe; its file was moved"
EMPTY: Final = "the same recipe; only layout or comments differ"


def worth_telling(one: Reported) -> bool:
    """Whether anything is to be said of a recipe by itself: what only its collection changed is told there."""
    if one.state == "same":
        return one.text_differs or one.moved
    return not only_by_collection(one) or bool(one.fired)


def only_by_collection(one: Reported) -> bool:
    """Whether all that changed is what the collection says."""
    comparison = one.comparison
    if comparison is None or one.text_differs or not comparison.real:
        return False
    return all(change.place.section in OF_THE_COLLECTION for change in comparison.real)


def nodes_of(one: Reported, arrow: str = ARROW, level: int = 3) -> Iterator[Node]:
    """One recipe: what a reviewer must not miss, what changed, what that does in the fire, what is only written
    otherwise."""
    yield Heading(one.title, level)
    files = [file for file in (one.old, one.new) if file is not None]
    yield Paragraph(f" {arrow} ".join(dict.fromkeys(files)))
    yield from attention(one)
    comparison = one.comparison
    if one.state in _STATES:
        yield Paragraph(_STATES[one.state])
    if comparison is None:
        yield from _findings(one)
        return
    if comparison.empty:
        yield Paragraph(EMPTY if one.text_differs else MOVED)
        yield from _findings(one)
        return
    parts = list(parts_of(comparison))
    said = [entry for part in parts for entry in _said(part, arrow)]
    said += [
        _around_entry(change, arrow) for change in comparison.real if change.place.section == "allowances"
    ]
    collection = _of_its_collection(one)
    if collection:
        said.append(Entry(collection, "what its collection says"))
    if said:
        yield Entries(said)
    fired = next((change for change in one.fired if any(fired_rows(change))), None)
    rows: list[Row | Band] = []
    for part in parts:
        if part.rows:
            rows.append(Band(band_of(part)))
            rows += [_row(row, arrow) for row in part.rows]
    if fired is not None:
        rows.append(Band(f"fired of {fired.label}" if fired.label else "fired"))
        rows += [_row(row, arrow) for row in fired_rows(fired)]
    if rows:
        yield Table(_COLUMNS, rows)
    if fired is not None:
        yield Paragraph(PARTIAL if fired.partial else RANKS, "aside")
        others = [other.label for other in one.fired if other is not fired and any(fired_rows(other))]
        if others:
            yield Paragraph(
                ", ".join(other or "the recipe itself" for other in others), "aside", "also changed"
            )
    yield from _findings(one)
    if comparison.rewordings:
        yield Paragraph(REWORDED, "strong")
        yield Entries([_reworded(rewording, arrow) for rewording in comparison.rewordings])


def band_of(part: Part) -> str:
    """What stands above the rows of a part."""
    return f"{part.heading}, for 100 of its mix" if part.heading.startswith("through ") else part.heading


_COLUMNS: Final = (
    Column(""),
    Column("old", figures=True),
    Column("new", figures=True),
    Column("change", figures=True),
    Column("as written"),
)


def _row(row: Amounts, arrow: str) -> Row:
    indent = "  " if arrow == ARROW else ""  # where nothing else sets a section off
    return Row(
        [f"{indent}{row.what}", row.old, row.new, row.change, row.written.replace(" -> ", f" {arrow} ")]
    )


def attention(one: Reported) -> Iterator[Node]:
    """What switches a check off, and what may hurt somebody."""
    if one.allowances:
        yield Paragraph("; ".join(map(allowance_text, one.allowances)), "attention", "now allowed")
    if one.hazards:
        yield Paragraph("; ".join(map(hazard_text, one.hazards)), "attention", "new hazards")


def allowance_text(allowance: tuple[Place, Fact]) -> str:
    """An allowance on one line: the rule, where it holds, and the reason."""
    place, reason = allowance
    where = f" ({place.within})" if place.within else ""
    return f"{place.what}{where}: {reason}"


def hazard_text(hazard: tuple[str, tuple[str, ...]]) -> str:
    """A material and what is new about its hazards."""
    name, said = hazard
    return f"{name} {' '.join(said)}"


def _findings(one: Reported) -> Iterator[Node]:
    for lead, found in (("findings come", one.come), ("findings gone", one.gone)):
        if found:
            yield Paragraph(f"{lead}:", "strong")
            yield Entries([Entry(finding_text(noted), noted.level) for noted in found])


def finding_text(noted: Noted) -> str:
    """A finding on one line, without the place, which may be another now."""
    where = f"{noted.where}: " if noted.where else ""
    return f"{where}{noted.message} ({noted.rule})"


def _said(part: Part, arrow: str) -> Iterator[Entry]:
    for what, old, new in part.said:
        named = f"{part.heading}, {what}" if part.heading else what
        yield from _sides(named, old, new, arrow)


def _sides(what: str, old: str, new: str, arrow: str) -> Iterator[Entry]:
    if "\n" not in old and "\n" not in new:
        yield Entry(f"{old or NOTHING} {arrow} {new or NOTHING}", what)
        return
    for sign, line in line_changes(old.split("\n") if old else [], new.split("\n") if new else []):
        yield Entry(line or "(an empty line)", f"{what}, {'taken out' if sign == '-' else 'new'}")


def line_changes(old: Sequence[str], new: Sequence[str]) -> Iterator[tuple[str, str]]:
    """The lines that differ, "-" for old and "+" for new."""
    import difflib

    for line in difflib.ndiff(old, new):
        if line[0] in "-+":
            yield line[0], line[2:]


def _of_its_collection(one: Reported) -> str:
    """What its collection says otherwise, by name: what it says is told once for the whole collection."""
    changes = one.comparison.real if one.comparison else ()
    return ", ".join(
        around_name(change.place) for change in changes if change.place.section in OF_THE_COLLECTION
    )


def _around_entry(change: Change, arrow: str) -> Entry:
    old, new = (one_line(fact) for fact in (change.old, change.new))
    return Entry(f"{old or NOTHING} {arrow} {new or NOTHING}", around_name(change.place))


def one_line(fact: Fact | None) -> str:
    """What is not weighed, on one line."""
    return "" if fact is None else " ".join(fact_text(fact).split("\n"))


def around_name(place: Place) -> str:
    """What a place around a recipe is called."""
    section, within, what = place
    match section:
        case "allowances":
            return f"allows {what}, {within}" if within else f"allows {what}"
        case "house notes":
            return f"house note, {what}"
        case "balances":
            return f"balance {what}"
        case "materials":
            return f"material {within}, {what}"
        case _:
            return f"{within}, {what}" if within else what


def _reworded(rewording: Rewording, arrow: str) -> Entry:
    place = rewording.place
    what = place.what or place.within or place.section
    where = f"{place.section}, " if place.what and place.section != "field" else ""
    says = HOW[rewording.how]
    lead = says if rewording.how == "scale" else f"{where}{what}, {says}"
    return Entry(f"{rewording.old} {arrow} {rewording.new}", lead)


# ---- collections -----------------------------------------------------------------------------------------


def collection_nodes(one: CollectionChange, arrow: str = ARROW, level: int = 3) -> Iterator[Node]:
    """What a collection says otherwise, each change with the recipes that it touches."""
    yield Heading("What holds for the whole collection", level)
    files = [file or NOTHING for file in (one.old, one.new)]
    yield Paragraph(f" {arrow} ".join(dict.fromkeys(files)))
    entries = []
    for change, touched in one.changes:
        old, new = (one_line(fact) or NOTHING for fact in (change.old, change.new))
        entries.append(
            Entry(f"{old} {arrow} {new}; {touches(one, touched, change)}", around_name(change.place))
        )
    yield Entries(entries)
    touched_at_all = {id(recipe): recipe for _, touched in one.changes for recipe in touched}
    alone = [one for one in touched_at_all.values() if only_by_collection(one) or not worth_telling(one)]
    hazards = dict.fromkeys(hazard_text(hazard) for recipe in alone for hazard in recipe.hazards)
    if hazards:
        yield Paragraph("; ".join(hazards), "attention", "new hazards")
    for lead, found in (
        ("come", [noted for recipe in alone for noted in recipe.come]),
        ("gone", [noted for recipe in alone for noted in recipe.gone]),
    ):
        if found:
            counts = Counter(noted.rule for noted in found)
            rules = ", ".join(f"{count} {rule}" for rule, count in sorted(counts.items()))
            listed = "; --brief names the recipes" if any(map(only_by_collection, alone)) else ""
            yield Paragraph(f"{rules}{listed}", "attention", f"findings {lead} with it")


def touches(one: CollectionChange, touched: Sequence[Reported], change: Change) -> str:
    """Which recipes a change of a collection touches."""
    if change.place.what == "skip" and one.left_out:
        return f"{one.left_out} recipe{'' if one.left_out == 1 else 's'} of one side not compared"
    if not touched:
        return "touches no recipe"
    if len(touched) == one.recipes > _NAMED:
        return f"touches all {one.recipes} recipes"
    more = len(touched) - _NAMED
    named = ", ".join(recipe.path for recipe in touched[:_NAMED]) + (f" and {more} more" if more > 0 else "")
    return f"touches {named}"


# ---- the short form --------------------------------------------------------------------------------------


def changes_in_brief(one: Reported, arrow: str = ARROW) -> str:
    """All that changed of a recipe, on one line."""
    moved = f"moved from {one.old}" if one.moved and one.old else ""
    return "; ".join(filter(None, (_changed(one, arrow), moved)))


def _changed(one: Reported, arrow: str) -> str:
    comparison = one.comparison
    if comparison is None:
        return _STATES[one.state]
    said = []
    for part in parts_of(comparison):
        for row in part.rows:
            if "follows the total" in row.written:
                continue
            within = f"{part.heading.partition(', for 100')[0]}, " if _is_within(part) else ""
            both = f"{row.old} {arrow} {row.new}"
            written = row.written.replace(" -> ", f" {arrow} ") or both
            if row.written.startswith(HERE):
                written = f"{both} ({written})"
            done = f"{row.change} " if row.change in ("added", "taken out") else ""
            said.append(f"{within}{row.what} {done}{written}")
        for what, old, new in part.said:
            if "\n" in old + new or len(old) + len(new) > _SHORT:
                said.append(f"{what} {'new' if not old else 'taken out' if not new else 'changed'}")
            else:
                said.append(f"{what} {old or NOTHING} {arrow} {new or NOTHING}")
    for change in comparison.real:
        if change.place.section == "allowances" and change.new is None:
            said.append(f"no longer {around_name(change.place)}")
    collection = _of_its_collection(one)
    if collection:
        said.append(f"its collection: {collection}")
    if one.state == "rounded":
        return "rounding only"
    if not said and one.state == "reworded":
        return "only written otherwise"
    if not said and not one.allowances:
        return "only layout or comments" if one.text_differs else ""
    return "; ".join(said)


_SHORT: Final = 60


def _is_within(part: Part) -> bool:
    """Whether a part is that of a block of its own, or of a recipe among the ingredients."""
    return part.heading.endswith('"') or '", for 100' in part.heading or '" (' in part.heading


def findings_in_brief(one: Reported) -> str:
    """How many findings came and went, and of which rules they came."""
    words = []
    if one.come:
        rules = ", ".join(dict.fromkeys(noted.rule for noted in one.come))
        words.append(f"+{len(one.come)} {rules}")
    if one.gone:
        rules = ", ".join(dict.fromkeys(noted.rule for noted in one.gone))
        words.append(f"-{len(one.gone)} {rules}")
    return "; ".join(words)


def brief_nodes(report: Report, arrow: str = ARROW) -> Iterator[Node]:
    """One row a recipe, what a reviewer must not miss among it; and what the collections say otherwise."""
    rows = []
    for one in report.recipes:
        rows.append(
            Row(
                [
                    titled(one),
                    changes_in_brief(one, arrow),
                    "; ".join(map(allowance_text, one.allowances)),
                    "; ".join(map(hazard_text, one.hazards)),
                    findings_in_brief(one),
                ]
            )
        )
    yield Table(
        [
            Column("recipe"),
            Column("what changed"),
            Column("now allowed"),
            Column("new hazards"),
            Column("findings"),
        ],
        rows,
    )
    for collection in report.collections:
        yield from collection_nodes(collection, arrow)


def titled(one: Reported) -> str:
    """The recipe's name and its file, without the revision; two recipes may share a name. One that cannot be read is
    called by its file alone."""
    return one.path if one.title == one.path else f"{one.title} ({one.path})"


def brief_lines(report: Report) -> Iterator[str]:
    """The short form for a terminal: one line a recipe."""
    for collection in report.collections:
        for change, touched in collection.changes:
            old, new = (one_line(fact) or NOTHING for fact in (change.old, change.new))
            line = f"{collection.new or collection.old}: {around_name(change.place)}: {old} -> {new}"
            if is_of_rules(change.place):  # no line of their own stands below
                said = touches(collection, touched, change)
            else:
                said = f"touches {len(touched)} of {collection.recipes}"
            yield visible(f"{line}; {said}")
    for one in report.recipes:
        words = [changes_in_brief(one)]
        words += [f"NOW ALLOWED {allowance_text(allowance)}" for allowance in one.allowances]
        words += [f"NEW HAZARDS {', '.join(map(hazard_text, one.hazards))}"] if one.hazards else []
        found = findings_in_brief(one)
        words += [f"findings {found}"] if found else []
        line = f"{titled(one)}: {'; '.join(filter(None, words))}"
        yield visible(line)
