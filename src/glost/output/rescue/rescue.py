"""Too much of a line went in: what was weighed, as a potter writes it, against the plan of a test."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from glost.errors import ValueRefusedError, refused_at
from glost.language.nearest import nearest
from glost.output.batch.amount import Asked
from glost.output.batch.plan import BenchPlan, bench_plan
from glost.output.format import Job
from glost.recipe.materials.catalogue import Catalogue, key
from glost.recipe.recipe import Part, Test
from glost.weighing.batch import Plan
from glost.weighing.overshoot import Rescue, rescue
from glost.weighing.rounding import exact_sum
from glost.weighing.units import read_mass


class InCup(NamedTuple):
    """One material of the cup as it was written: the name, and grams."""

    name: str
    grams: Decimal


@dataclass(frozen=True, slots=True)
class BenchRescue:
    """What to do with the cup of one test. names: material to the name that the recipe writes. plan: what was
    planned. found: what to do, see Rescue. taken: what a short name was taken for, in words."""

    made: BenchPlan
    plan: Plan
    names: Mapping[str, str]
    found: Rescue
    taken: tuple[str, ...] = ()

    @property
    def planned_g(self) -> dict[str, Decimal]:
        """The plan's targets by material, lines of one material together."""
        sums: dict[str, list[Decimal]] = {}
        for line in self.plan.lines:
            sums.setdefault(line.material, []).append(line.target_g)
        return {material: exact_sum(targets) for material, targets in sums.items()}


def read_weighed(text: str) -> list[InCup]:
    """What is in the cup, from "silica=24.6, kaolin=16 g": names and masses, grams where no unit is written. A name
    that holds a comma or an equals sign stands in double quotes. Raises ValueError that says what to write."""
    found: list[InCup] = []
    for part in _parted(text):
        name, equals, mass = _at_equals(part)
        if not equals:
            comma = found and part.replace(".", "").isdigit()
            also = "; write decimals with a point" if comma else ""
            raise ValueRefusedError(
                f"'{part}' has no =", f"write such as silica=24.6, with commas between{also}"
            )
        name = " ".join(name.strip().removeprefix('"').removesuffix('"').split())
        if not name:
            raise ValueRefusedError(f"'{part}' names no material", "write such as silica=24.6")
        found.append(InCup(name, _grams(mass.strip(), name)))
    if not found:
        raise ValueRefusedError(
            "nothing is in the cup", "write what was weighed, such as silica=24.6, kaolin=16"
        )
    return found


def _parted(text: str) -> Iterator[str]:
    """The parts between commas that stand outside of quotes."""
    quoted, part = False, ""
    for character in text:
        quoted ^= character == '"'
        if character == "," and not quoted:
            if part.strip():
                yield part.strip()
            part = ""
        else:
            part += character
    if quoted:
        raise ValueRefusedError("a double quotation mark is not closed", 'write such as "frit, fine"=10')
    if part.strip():
        yield part.strip()


def _at_equals(part: str) -> tuple[str, str, str]:
    """The name, the sign and the mass, parted at the first = outside of quotes."""
    quoted = False
    for at, character in enumerate(part):
        quoted ^= character == '"'
        if character == "=" and not quoted:
            return part[:at], "=", part[at + 1 :]
    return part, "", ""


def _grams(text: str, name: str) -> Decimal:
    bare = text.rstrip(" g").rstrip()
    if bare and not bare.strip("0.") and bare.count(".") < 2:
        return Decimal(0)  # a jar that was opened and left; read_mass takes masses above 0 alone
    try:
        return read_mass(f"{text} g" if text[-1:].isdigit() or text[-1:] == "." else text)
    except ValueError as error:
        raise refused_at(name, error) from None


def bench_rescue(
    job: Job, test: Test, asked: Asked, weighed: list[InCup], balance: str | None = None
) -> BenchRescue:
    """What to do with the cup. Raises ValueError in a potter's words for a name that is not one material of this test,
    a material named twice, and as bench_plan does."""
    made = bench_plan(job, test, asked, balance=balance)
    plan = made.sheet.plan
    assert plan is not None  # bench_plan refuses an empty base
    parts = [line.part for line in made.lines]
    inside: dict[str, Decimal] = {}
    taken: list[str] = []
    for one in weighed:
        material, short = material_meant(one.name, parts, job.catalogue)
        if short:
            taken.append(f"'{one.name}' is taken for {material}, the only such material of this test")
        if material in inside:
            raise ValueRefusedError(
                f"'{material}' is named twice", "write all that is in the cup of it as one mass"
            )
        inside[material] = one.grams
    names: dict[str, str] = {}
    for part in parts:
        names.setdefault(part.called, part.name)
    return BenchRescue(made, plan, names, rescue(plan, inside, made.tolerance), tuple(taken))


def material_meant(name: str, parts: list[Part], catalogue: Catalogue) -> tuple[str, bool]:
    """The material of the recipe that a name means, and whether the name is only a part of it: as the recipe writes it,
    any of its other names, or words of a name that no other material of this test has ("cobalt" where cobalt carbonate
    is the only cobalt). Raises ValueError, with what may be meant, for a name that means none or several."""
    found = catalogue.find(name)
    known = {found.name} if found else set()
    fitting = {part.called for part in parts if key(part.name) == key(name) or part.called in known}
    if len(fitting) == 1:
        return fitting.pop(), False
    there = {part.called: part.name for part in parts}
    if fitting:
        raise ValueRefusedError(f"'{name}' may mean {_or(sorted(fitting))} here", "write which")
    if found:
        raise ValueRefusedError(
            f"'{name}' is {found.name}, which this test does not hold",
            "no larger batch makes that right: if it is in the cup, begin anew; the test holds "
            + ", ".join(there.values()),
        )
    words = set(key(name).split())
    short = [
        called for called, written in there.items() if any(words <= _words(one) for one in (written, called))
    ]
    if len(short) == 1:
        return short[0], True
    from glost.recipe.materials.meant import meant  # only a name that is unclear needs it

    may_mean = meant(name, catalogue)
    among = {one.name for one in may_mean.candidates} & set(there)
    alike = [
        written
        for called, written in there.items()
        if called in among or key(name) in key(written) or key(name) in key(called)
    ]
    several = [there[called] for called in short] or alike
    if len(several) > 1:
        raise ValueRefusedError(f"'{name}' may mean {_or(several)} here", "write which")
    if alike and among and may_mean.how == "ambiguous":
        return among.pop(), True  # of all that such a short word may mean, one is in the cup
    near = several or nearest(key(name), [key(written) for written in there.values()], 1)
    meant_here = f"did you mean '{near[0]}'? It" if near else "it"
    raise ValueRefusedError(
        f"'{name}' is not in this test", f"{meant_here} holds {', '.join(there.values())}"
    )


def _words(name: str) -> set[str]:
    return set(re.findall(r"[^\W_]+", key(name)))


def _or(names: list[str]) -> str:
    quoted = [f"'{name}'" for name in names]
    return " or ".join([", ".join(quoted[:-1]), quoted[-1]] if len(quoted) > 1 else quoted)
