"""Plans for a person with wet hands: what to press, what the display has to show, and what helps where a line is too
small to weigh."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Final

from glost.output.batch.amount import ASSUMED_GRAVITY
from glost.output.batch.figures import percent, poured, to_places
from glost.output.batch.plan import BenchLine, BenchPlan, remarks, tarings
from glost.output.escape import visible
from glost.output.model.text import blocks, table, wrapped
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
_INDENT = 4


def text(plans: Iterable[BenchPlan]) -> str:
    """All plans, one empty line between."""
    return "\n".join("".join(f"{line}\n" for line in _lines(made)) for made in plans)


def _lines(made: BenchPlan) -> Iterator[str]:
    way = made.way
    yield visible(made.test.name)
    if made.sheet.sets:
        yield from wrapped(f"sets {visible(made.sheet.sets)}", 4, "  ")
    yield f"  {visible(made.file)}"
    yield from wrapped(_mass(made), 2, "  ")
    if made.amount.slip:
        yield from _slip(made)
    if made.sheet.attention:
        yield ""
    for error in made.sheet.attention:
        yield from wrapped(visible(error), _INDENT, "!   ")
    yield ""
    if way.carried:
        yield from wrapped(f"Weigh with {_how(made)}")
    yield from wrapped(_load(way))
    if made.sheet.balance_note:
        yield from wrapped(made.sheet.balance_note)
    yield from ("", *_table(made))
    yield from ("", *_warnings(made))
    for line in made.outside:
        yield from (*_help(line, made), "")
    yield from _comparison(made)
    yield from ("", *wrapped(SURE), *wrapped(HANDLE))
    notes = made.sheet.handling
    for note in notes:
        names = ", ".join(map(visible, note.names))
        yield from wrapped(f"{names}: {visible(note.text)}", _INDENT, "  - ")
    if made.sheet.hazards.unknown:
        unknown = ", ".join(map(visible, made.sheet.hazards.unknown))
        yield from wrapped(
            f"not in the catalogue, so that nothing is known here of hazards: {unknown}", 4, "  ! "
        )
    for name, what in made.sheet.hazards.restricted:
        yield from wrapped(f"{visible(name)}: restricted ({visible(what)})", _INDENT, "  ! ")


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
    assert slip is not None
    own = "that of the recipe" if slip.measured else "worked out"
    yield from wrapped(
        f"slip: {poured(slip.volume_ml)} ml that weigh {poured(slip.mass_g)} g, out of {poured(slip.dry_g)} g dry and"
        f" {poured(slip.water_g)} g water ({to_places(slip.water_percent, 1):f} % of the dry mass); specific gravity"
        f" {to_places(slip.gravity, 3):f}, {own}",
        4,
        "  ",
    )
    if slip.by_water is not None:
        yield from wrapped(
            f"the recipe's gravity is taken; its water alone would give {to_places(slip.by_water, 3):f}",
            4,
            "  ",
        )
    if slip.assumed:
        yield from wrapped(
            f"no density on record for {', '.join(map(visible, slip.assumed))}: {ASSUMED_GRAVITY} is assumed (common"
            " practice)",
            4,
            "  ",
        )
    if slip.dissolving:
        yield from wrapped(
            f"{', '.join(map(visible, slip.dissolving))} dissolves in part: take the water as a first guess and go by"
            " the gravity",
            4,
            "  ",
        )


# ---- how to weigh ----------------------------------------------------------------------------------------


def _called(balance: Balance | None) -> str:
    return f"'{visible(balance.name)}'" if balance else "the balance"


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


def _table(made: BenchPlan) -> list[str]:
    way = made.way
    on = len({line.balance for line in way.lines}) > 1
    tared = way.manner is Manner.TARED
    several = len(way.vessels) > 1
    heads = [
        "",
        *(["vessel"] if several else []),
        *(["on"] if on else []),
        "grams",
        *([] if tared and not several else ["display"]),
        "off %",
        "\u00b1 g",
        "\u00b1 %",
    ]
    signs = "<" + ("<" if several else "") + ("<" if on else "")
    signs += ">" * (len(heads) - len(signs))
    rows: list[list[str]] = []
    below: list[list[str]] = []
    base: list[bool] = []
    for line in made.lines:
        one = line.way
        for fill in one.fills:
            whole = fill.number == 1
            display = one.display_of(fill)
            base.append(one.base)
            rows.append(
                [
                    f"{'[ ] ' if one.within else '[ ]!'}{visible(line.part.name)}",
                    *([f"{fill.vessel or 'apart'}"] if several else []),
                    *([visible(one.balance.name) if one.balance else ""] if on else []),
                    f"{fill.target_g:f}",
                    *([] if tared and not several else ["" if display is None else f"{display:f}"]),
                    percent(one.rounding, signed=True) if whole else "",
                    f"{significant(one.standard_g):f}" if whole else "",
                    percent(one.relative) if whole else "",
                ]
            )
            said = visible("; ".join(_said(line, fill)))
            below.append(wrapped(said, _INDENT + 2, " " * (_INDENT + 2)))
    head, *shown = blocks(heads, rows, signs)
    lines = list(head)
    before = True
    for block, in_base, more in zip(shown, base, below, strict=True):
        if before and not in_base:
            lines.append("additions")
        before = in_base
        lines += [*block, *more]
    return lines


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


def _warnings(made: BenchPlan) -> Iterator[str]:
    said = list(remarks(made))
    for remark in said:
        yield from wrapped(visible(remark), _INDENT, "!   ")
    if said:
        yield ""


# ---- what helps ------------------------------------------------------------------------------------------


def _help(line: BenchLine, made: BenchPlan) -> Iterator[str]:
    assert line.help is not None
    one, name = line.way, visible(line.part.name)
    tolerance = percent(made.tolerance)
    exact = f"{to_places(one.exact_g, 6):f} g"
    minimum = one.balance.minimum_g if one.balance else None
    if one.flaw is Flaw.MINIMUM and minimum is not None:
        why = f"{exact} is less than the {minimum:f} g that {_called(one.balance)} is to be used from"
    elif one.flaw is Flaw.UNSURE:
        why = (
            f"{exact} on {_called(one.balance)} is sure to \u00b1 {significant(one.standard_g):f} g,"
            f" {percent(one.relative)} % of it"
        )
    else:
        why = (
            f"{exact} reads {one.target_g:f} g on {_called(one.balance)}, {percent(abs(one.rounding))} % off"
        )
    yield from wrapped(f"{name}: {why}, and {tolerance} % is allowed. What helps:", _INDENT, "!   ")
    smallest = line.help.smallest_batch_g
    yield from _point(
        "more",
        f"{smallest:f} g of base, the smallest batch that will do" if smallest else "no batch will do here",
    )
    finer = line.help.finer
    if finer is None:
        said = "no usual balance will do"
    elif finer.there:
        said = f"take {_called(finer.there)}, which reads {finer.there.readability_g:f} g"
    else:
        said = f"one that reads {finer.division_g:f} g"
    yield from _point("finer", said)
    if isinstance(line.help.premix, NoPremix):
        yield from _point("premix", visible(line.help.premix.why))
    else:
        for at, said in enumerate(_premix(line.help.premix), 1):
            yield from _point("premix" if at == 1 else "", f"{at}. {said}")


def _premix(mix: Premix) -> Iterator[str]:
    name, carrier, on = visible(mix.material), visible(mix.carrier), _called(mix.balance)
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


def _point(word: str, said: str) -> list[str]:
    return wrapped(said, _INDENT + 8, f"{' ' * _INDENT}{word:<8}")


# ---- the three ways --------------------------------------------------------------------------------------


def _comparison(made: BenchPlan) -> Iterator[str]:
    rows = []
    for way in made.ways:
        out = sum(not line.within for line in way.lines)
        rows.append(
            [
                f"{'* ' if way is made.way else '  '}{_SHORT[way.manner]}",
                f"{out} of {len(way.lines)}",
                f"\u00b1 {significant(way.standard_g):f} g",
                f"{tarings(way)}",
                f"{len(way.vessels)}" if way.carried else "none will do",
            ]
        )
    yield from table(["The three ways", "out", "whole batch", "tare", "vessels"], rows, "<<<><")
