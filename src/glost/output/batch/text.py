"""Plans for a person with wet hands: what to press, what the display has to show, and what helps where a line is too
small to weigh."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.output.batch.figures import percent, poured, to_places
from glost.output.batch.plan import BenchLine, BenchPlan, remarks, tarings
from glost.output.model import (
    Band,
    Column,
    Entries,
    Entry,
    Heading,
    Line,
    Node,
    Paragraph,
    Row,
    Section,
    Table,
    Terms,
    Tick,
)
from glost.output.model.text import as_text
from glost.output.sheet_slurry import doubts
from glost.weighing.balance import Balance
from glost.weighing.premix import NoPremix, Premix
from glost.weighing.rounding import exact_sum, significant
from glost.weighing.vessels import Fill
from glost.weighing.ways import Manner, Way
from glost.weighing.weighable import Flaw

HANDLE: Final = (
    "Read the cautions of the batch sheet before a jar is opened (glost convert --to sheet). Handling notes:"
)
MIX: Final = (
    "Wear the respirator, and grind until no streak is left. Label the mix with both names and its strength, and handle"
    " it as the more harmful of the two."
)
SURE: Final = (
    "off %: what rounding to the display does to the line. \u00b1: how sure the mass is (standard uncertainty: the"
    " steps of the display and the scatter of the balance; two times out of three the mass is within it)."
)
_SHORT: Final = {
    Manner.TARED: "each line tared",
    Manner.RUNNING: "one running total",
    Manner.APART: "running total, the others apart",
}


def text(plans: Iterable[BenchPlan]) -> str:
    """All plans, one empty line between."""
    return "\n".join(as_text(nodes_of(made)) for made in plans)


def nodes_of(made: BenchPlan) -> Iterator[Node]:
    """The whole plan of one test."""
    sheet = made.sheet
    yield _block(_what(made))
    yield _block(_attention(sheet.attention))
    yield _block(_weighing(made))
    yield _table(made)
    yield _block(_attention(remarks(made)))
    yield from (_block(_help(line, made)) for line in made.outside)
    yield _comparison(made)
    yield _block([Paragraph(SURE), Paragraph(HANDLE), Entries(list(_handling(made)))])


def _block(nodes: Iterable[Node]) -> Section:
    """Nodes without an empty line between them."""
    return Section("", list(nodes), close=True)


def _attention(texts: Iterable[str]) -> Iterator[Paragraph]:
    return (Paragraph(text, "attention") for text in texts)


def _what(made: BenchPlan) -> Iterator[Node]:
    """What is weighed, and how much of it."""
    yield Heading(made.test.name, 3)
    if made.sheet.sets:
        yield Paragraph(f"sets {made.sheet.sets}", "fact")
    yield Line(made.file)
    yield Paragraph(_mass(made), "fact")
    yield from (Paragraph(text, "fact") for text in _slip(made))


def _weighing(made: BenchPlan) -> Iterator[Node]:
    """What to press, and what it carries."""
    if made.way.carried:
        yield Paragraph(f"Weigh with {_how(made)}")
    yield Paragraph(_load(made.way))
    if made.sheet.balance_note:
        yield Paragraph(made.sheet.balance_note)


def _handling(made: BenchPlan) -> Iterator[Entry]:
    sheet = made.sheet
    yield from (Entry(note.text, ", ".join(note.names)) for note in sheet.handling)
    if sheet.hazards.unknown:
        unknown = ", ".join(sheet.hazards.unknown)
        yield Entry(
            f"not in the catalogue, so that nothing is known here of hazards: {unknown}", attention=True
        )
    for name, what in sheet.hazards.restricted:
        yield Entry(f"{name}: restricted ({what})", attention=True)


def _mass(made: BenchPlan) -> str:
    way = made.way
    added = exact_sum(line.part.parts for line in made.lines if not line.way.base)
    base = f"base {to_places(made.amount.base_g, 2):f} g"
    if not added:
        return f"{base}, no additions: {way.total_target_g:f} g in all"
    share = Fraction(added) / Fraction(made.test.base_total) * 100
    return f"{base} + {to_places(share, 4):f} % additions = {way.total_target_g:f} g in all"


def _slip(made: BenchPlan) -> Iterator[str]:
    slip = made.amount.slip
    if slip is None:
        return
    own = "that of the recipe" if slip.measured else "worked out"
    yield (
        f"slip: {poured(slip.volume_ml)} ml that weigh {poured(slip.mass_g)} g, out of {poured(slip.dry_g)} g dry and"
        f" {poured(slip.water_g)} g water ({to_places(slip.water_percent, 1):f} % of the dry mass); specific gravity"
        f" {to_places(slip.gravity, 3):f}, {own}"
    )
    if slip.by_water is not None:
        yield f"the recipe's gravity is taken; its water alone would give {to_places(slip.by_water, 3):f}"
    yield from doubts(slip.assumed, slip.dissolving)


# ---- how to weigh ----------------------------------------------------------------------------------------


def _called(balance: Balance | None) -> str:
    return f"'{balance.name}'" if balance else "the balance"


def _how(made: BenchPlan) -> str:
    way = made.way
    main = _called(way.main)
    apart = [line for line in way.apart if line.target_g]
    small = " and ".join(dict.fromkeys(_called(line.balance) for line in apart))
    if way.manner is Manner.TARED:
        also = (
            f" Lines on {small} are weighed apart, each in a cup of its own, and tipped in." if apart else ""
        )
        return (
            f"each line tared, on {main}: press tare before every line, and add until the display shows its"
            f" grams.{also}"
        )
    several = len(way.vessels) > 1
    cup = "each empty vessel" if several else "the empty cup"
    once = (
        f"on {main}: tare {cup} and do not press tare again; after each line the display shows the total"
        f"{' of that vessel' if several else ''}."
    )
    if way.manner is Manner.RUNNING or not apart:
        return f"{'a running total in each vessel' if several else 'one running total'}, {once}"
    return (
        f"{'a running total in each vessel' if several else 'one running total'}, {once} What stands on {small} is"
        f" weighed apart: each line is tared there in a cup of its own and tipped in when the running total is done."
    )


def _load(way: Way) -> str:
    if way.main is None or way.loaded_g is None:
        return "No balance is known here, so that nothing can be said of what it carries."
    main, carries = _called(way.main), f"{way.main.capacity_g:f} g"
    load = f"{to_places(way.loaded_g, 2):f} g"
    if not way.carried:
        return (
            f"! The batch comes to {load}, cup and all; {main} carries {carries}: it cannot be weighed there."
        )
    if len(way.vessels) > 1:
        full = exact_sum((max(one.total_g for one in way.vessels), way.main.cup_g or Decimal(0)))
        with_cup = ", cup and all," if way.main.cup_g is not None else ""
        shares = ", ".join(f"{one.total_g:f} g" for one in way.vessels)
        return (
            f"{main} carries {carries}: weigh into {len(way.vessels)} vessels of {shares}; the fullest{with_cup} comes"
            f" to {to_places(full, 2):f} g. Tip them all together in the end."
        )
    if way.main.cup_g is not None:
        return f"Cup and batch come to {load}; {main} carries {carries}."
    room = to_places(exact_sum((way.main.capacity_g, way.loaded_g.copy_negate())), 0)
    if room < 0:
        return f"The batch comes to {load}; {main} carries {carries}."
    return f"The batch comes to {load}; {main} carries {carries}, so that the cup may weigh up to {room:f} g."


def _table(made: BenchPlan) -> Table:
    way = made.way
    several = len(way.vessels) > 1
    on = len({line.balance for line in way.lines}) > 1
    display = several or way.manner is not Manner.TARED
    columns = [
        *(Column(""), Column("")),
        *([Column("vessel")] if several else []),
        *([Column("on")] if on else []),
        Column("grams", figures=True, strong=True),
        *([Column("display", figures=True)] if display else []),
        *(Column(head, figures=True) for head in ("off %", "\u00b1 g", "\u00b1 %")),
    ]
    rows: list[Row | Band] = []
    before = True
    for line in made.lines:
        if before and not line.way.base:
            rows.append(Band("additions"))
        before = line.way.base
        rows += [_row(line, fill, several, on, display) for fill in line.way.fills]
    return Table(columns, rows)


def _row(line: BenchLine, fill: Fill, several: bool, on: bool, display: bool) -> Row:
    """What is weighed of a line into one vessel. How far it is off is said once, with its first portion."""
    one, name = line.way, line.part.name
    shown = one.display_of(fill)
    first = fill.number == 1
    return Row(
        (
            Tick(name, attention=not one.within),
            name,
            *([f"{fill.vessel or 'apart'}"] if several else []),
            *([one.balance.name if one.balance else ""] if on else []),
            f"{fill.target_g:f}",
            *(["" if shown is None else f"{shown:f}"] if display else []),
            percent(one.rounding, signed=True) if first else "",
            f"{significant(one.standard_g):f}" if first else "",
            percent(one.relative) if first else "",
        ),
        "; ".join(_said(line, fill)),
    )


def _said(line: BenchLine, fill: Fill) -> Iterator[str]:
    """What stands below a row."""
    if line.part.called.casefold() != line.part.name.casefold():
        yield f"in the catalogue: {line.part.called}"
    if fill.of > 1:
        yield f"portion {fill.number} of {fill.of}"
    if line.way.apart:
        yield f"weigh apart on {_called(line.way.balance)}, tip in"
    if line.part.note:
        yield line.part.note


# ---- what helps ------------------------------------------------------------------------------------------


def _help(line: BenchLine, made: BenchPlan) -> Iterator[Node]:
    yield Paragraph(
        f"{line.part.name}: {_why(line)}, and {percent(made.tolerance)} % is allowed. What helps:",
        "attention",
    )
    yield Section("", [Terms(list(_helps(line)), least=7)], inset=True)


def _why(line: BenchLine) -> str:
    """Why a line is out of tolerance."""
    one = line.way
    exact = f"{to_places(one.exact_g, 6):f} g"
    minimum = one.balance.minimum_g if one.balance else None
    if one.flaw is Flaw.MINIMUM and minimum is not None:
        return f"{exact} is less than the {minimum:f} g that {_called(one.balance)} is to be used from"
    if one.flaw is Flaw.UNSURE:
        return (
            f"{exact} on {_called(one.balance)} is sure to \u00b1 {significant(one.standard_g):f} g,"
            f" {percent(one.relative)} % of it"
        )
    return f"{exact} reads {one.target_g:f} g on {_called(one.balance)}, {percent(abs(one.rounding))} % off"


def _helps(line: BenchLine) -> Iterator[tuple[str, str]]:
    """What helps, by a word for each."""
    assert line.help is not None
    smallest, finer, premix = line.help.smallest_batch_g, line.help.finer, line.help.premix
    yield (
        "more",
        f"{smallest:f} g of base, the smallest batch that will do" if smallest else "no batch will do here",
    )
    if finer is None:
        yield "finer", "no usual balance will do"
    elif finer.there:
        yield "finer", f"take {_called(finer.there)}, which reads {finer.there.readability_g:f} g"
    else:
        yield "finer", f"one that reads {finer.division_g:f} g"
    if isinstance(premix, NoPremix):
        yield "premix", premix.why
    else:
        for at, said in enumerate(_premix(premix), 1):
            yield "premix" if at == 1 else "", f"{at}. {said}"


def _premix(mix: Premix) -> Iterator[str]:
    name, carrier, on = mix.material, mix.carrier, _called(mix.balance)
    brings, carried = to_places(mix.brings_g, 6), to_places(mix.brings_carrier_g, 6)
    yield (
        f"On {on} weigh {mix.small_g:f} g {name} and {mix.with_g:f} g {carrier}, and grind them together: {mix.mix_g:f}"
        f" g of mix, one part in {mix.one_in}. {MIX}"
    )
    yield (
        f"Take {mix.take_g:f} g of the mix. It brings {brings:f} g {name} ({percent(mix.error)} % off, sure to"
        f" {percent(mix.uncertainty)} %) and {carried:f} g {carrier}."
    )
    yield (
        f"Of {carrier} itself weigh {mix.carrier_target_g:f} g, {mix.carrier_less_g:f} g less"
        f" ({percent(mix.carrier_error)} % off). {mix.left_over_g:f} g of the mix is left over."
    )


# ---- the three ways --------------------------------------------------------------------------------------


def _comparison(made: BenchPlan) -> Table:
    columns = [Column("The three ways"), Column("out"), Column("whole batch"), Column("tare", figures=True)]
    rows = []
    for way in made.ways:
        out = sum(not line.within for line in way.lines)
        rows.append(
            Row(
                (
                    f"{'* ' if way is made.way else '  '}{_SHORT[way.manner]}",
                    f"{out} of {len(way.lines)}",
                    f"\u00b1 {significant(way.standard_g):f} g",
                    f"{tarings(way)}",
                    f"{len(way.vessels)}" if way.carried else "none will do",
                )
            )
        )
    return Table([*columns, Column("vessels")], rows)
