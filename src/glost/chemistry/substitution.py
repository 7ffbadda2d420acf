"""From a test to the same oxides out of the materials at hand, and what is then still different."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from typing import Final, Literal, NamedTuple

from glost.chemistry import expansion
from glost.chemistry.additive import CompositionError, Estimate
from glost.chemistry.analysis import Analysis
from glost.chemistry.firing import Calculator, Fired, Unknown
from glost.chemistry.matching import WITHIN, Candidate, Fit, fit, nearest
from glost.chemistry.melt import Melt
from glost.chemistry.stock import ADDED, Stock, in_order, known
from glost.chemistry.unity import PLAIN, place
from glost.errors import GlostError
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.materials.elements import exact_enough
from glost.recipe.recipe import Part, Test
from glost.weighing.rounding import largest_remainder, plain, round_to

Basis = Literal["flux", "alumina", "total"]

_WHOLE: Final = Decimal(100)
_DECIMALS: Final = (2, 3, 4)
_UNMOVED: Final = Decimal("0.001")
"""Amounts get as many decimals as it takes for rounding to move no oxide by more than this, in mol."""
_CLAY: Final = Decimal(5)
STAND_IN: Final = ("Li2O", "Na2O", "K2O")
"""Alkalis that may stand in for each other; lithia only where nothing brings it."""
CORRECTING: Final = ("silica", "kaolin")
"""What a simple swap is corrected by (common practice)."""


class MatchError(GlostError):
    """There is nothing to match, or nothing to match with; ``hint`` says what to do."""


class Line(NamedTuple):
    """A material of the new recipe: parts of a base of 100, or beside it. ``before``: what the old recipe had of it
    there, as parts of its base of 100, or None. ``kept``: it was not searched for, but taken over."""

    material: str
    parts: Decimal
    before: Decimal | None
    kept: bool
    note: str = ""


class Difference(NamedTuple):
    """An oxide in both. Mol where what is taken as 1 is 1, and fired percent by mass. ``why``: where it is not
    reached, what stands in the way."""

    oxide: str
    wanted: Decimal
    reached: Decimal
    wanted_percent: Decimal
    reached_percent: Decimal
    why: str

    @property
    def off(self) -> Decimal:
        with localcontext(exact_enough()):
            return self.reached - self.wanted

    @property
    def off_percent(self) -> Decimal:
        with localcontext(exact_enough()):
            return self.reached_percent - self.wanted_percent

    @property
    def within(self) -> bool:
        return abs(self.off) <= WITHIN


class Swap(NamedTuple):
    """A simple swap: ``material`` in the place of ``gone``, of its role where there is one, corrected by silica and
    kaolin alone. ``base`` are its lines in parts of the old base of 100, so that they need not total 100."""

    gone: str
    material: str
    base: tuple[Line, ...]
    oxides: tuple[Difference, ...]
    expansion: tuple[Estimate, Estimate] | None

    @property
    def missed(self) -> tuple[Difference, ...]:
        return tuple(one for one in self.oxides if not one.within)


@dataclass(frozen=True, slots=True)
class Matched:
    """A test and its match. ``basis``: what is taken as 1. ``possible``: whether any amounts of the materials at hand
    bring every oxide within WITHIN. ``test`` is the match as a test of the old recipe. ``left_out``: lines of the old
    recipe that bring nothing in the fire and are not at hand. ``remarks``: what the figures leave out, and what else
    changes. ``alkalis``: those that stood in for each other; () where none may. ``expansion``: of both, None where a
    side has no estimate. ``swap``: the simple swap for the one material of the base that is not at hand, if any."""

    target: Fired
    fired: Fired
    basis: Basis
    without: tuple[str, ...]
    base: tuple[Line, ...]
    additions: tuple[Line, ...]
    oxides: tuple[Difference, ...]
    possible: bool
    left_out: tuple[str, ...]
    remarks: tuple[str, ...]
    alkalis: tuple[str, ...] = ()
    expansion: tuple[Estimate, Estimate] | None = None
    swap: Swap | None = None

    @property
    def test(self) -> Test:
        return self.fired.test

    @property
    def missed(self) -> tuple[Difference, ...]:
        return tuple(one for one in self.oxides if not one.within)


def match(
    test: Test,
    kiln: Calculator,
    stock: Stock,
    without: Sequence[str] = (),
    keep: Set[str] = frozenset(),
    alkalis: bool = False,
) -> Matched:
    """The match of a test that ``kiln`` fires. ``without``: canonical names of what is not at hand. ``keep``:
    canonical names of materials of the base that stay as they are. ``alkalis``: soda and potash may stand in for each
    other even where both are brought. Raises MatchError."""
    target = kiln.fire(test)
    return _Match(test, target, stock, tuple(without), keep, alkalis).matched()


class _Found(NamedTuple):
    fired: Fired
    base: tuple[Line, ...]
    additions: tuple[Line, ...]
    oxides: tuple[Difference, ...]
    possible: bool


class _Match:
    def __init__(
        self,
        test: Test,
        target: Fired,
        stock: Stock,
        without: tuple[str, ...],
        keep: Set[str],
        alkalis: bool = False,
    ) -> None:
        if target.melt is None or not test.base_total > 0:
            raise MatchError("nothing is weighed in this recipe", "write the amounts of its base")
        self._test = test
        self._target = target
        self._melt = target.melt
        self._stock = stock
        self._without = without
        self._kiln = Calculator(stock.catalogue)
        with localcontext(exact_enough()):
            self._scale = _WHOLE / test.base_total
        self._gone = set(without)
        self._tiers = dict(in_order(stock, self._kiln, _names(test.base), self._gone))
        self._base_kept = [
            part for part in test.base if part.parts and (part.called in keep or self._fires_away(part))
        ]
        self._added_kept = [part for part in test.additions if part.parts and self._stays(part)]
        self._left_out: list[str] = []
        self._check(keep)
        self._basis, self._one = self._taken_as_one()
        self._alkalis_asked = alkalis
        self._together: tuple[str, ...] = ()

    def _stays(self, part: Part) -> bool:
        """Whether an addition is taken over as it is: colourants and the like, unless they have run out, and
        whatever else is at hand."""
        if part.called in self._gone:
            return False
        material = self._stock.catalogue.find(part.called)
        return part.called in self._tiers or (material is not None and material.role in ADDED)

    def _fires_away(self, part: Part) -> bool:
        """Whether a material is at hand that nothing is left of in the fire, such as a gum."""
        analysis = self._old(part)
        return part.called not in self._gone and analysis is not None and not analysis.moles

    def _check(self, keep: Set[str]) -> None:
        for name in sorted(keep & self._gone):
            raise MatchError(f"{name} is to be kept, and is not at hand", "take one of the two away")
        for name in sorted(keep - set(_names(self._test.base))):
            raise MatchError(f"{name} is to be kept, and is not in the base", "take it away from --keep")
        taken_over = {id(part) for part in (*self._base_kept, *self._added_kept)}
        for part in (*self._test.base, *self._test.additions):
            analysis = self._old(part)
            # What is taken over may be unknown, as long as it is so on both sides.
            if not part.parts or (
                id(part) in taken_over and (analysis is not None or isinstance(self._new(part), Unknown))
            ):
                continue
            if analysis is None:
                hint = "enter its analysis in the collection's materials.yaml"
                if part in self._test.base and part.called not in self._gone:
                    hint += f', or leave it as it is with  --keep "{part.called}"'
                broken = [
                    f" ({one.reason})" for one in self._target.unknown if one.name == part.name and one.broken
                ]
                raise MatchError(
                    f"what {part.name} brings is not known{''.join(broken)}, so it cannot be matched", hint
                )
            if not analysis.moles:
                self._left_out.append(part.called)

    def _old(self, part: Part) -> Analysis | None:
        """What a line of the old recipe brings."""
        lines = self._melt.lines
        return next((line.analysis for line in lines if line.material == part.called), None)

    def _new(self, part: Part) -> Analysis | Unknown:
        return self._kiln.analysis(part.called)

    def _taken_as_one(self) -> tuple[Basis, frozenset[str]]:
        moles = self._melt.moles
        if not moles:
            raise MatchError("nothing that is known of this recipe stays in the fire", "match another one")
        if self._test.recipe.kind == "body" and moles.get("Al2O3"):
            return "alumina", frozenset({"Al2O3"})
        if any(moles.get(oxide) for oxide in PLAIN.fluxes):
            return "flux", PLAIN.fluxes
        return "total", frozenset(moles)

    def matched(self) -> Matched:
        with localcontext(exact_enough()):
            # The melt is told for 100 g of everything; here all counts as parts of a base of 100.
            share = self._melt.total_parts * self._scale / _WHOLE
            wanted = {oxide: amount * share for oxide, amount in self._melt.moles.items()}
        kept = self._brought((*self._base_kept, *self._added_kept))
        candidates = [
            Candidate(name, analysis.moles, tier)
            for name, tier in self._tiers.items()
            if (analysis := known(self._kiln, name)) is not None
        ]
        if not candidates:
            raise MatchError(
                "no material is at hand that stays in the fire and whose composition is known",
                "name some with --using-materials, or enter their analyses in materials.yaml",
            )
        self._together = self._alkalis(wanted, candidates, kept)
        found = self._found(wanted, candidates, kept)
        short = [one.oxide for one in found.oxides if one.oxide in STAND_IN and one.off < -WITHIN]
        if short and not self._together:
            # What brings it brings too much else with it: perhaps its like does better.
            self._together = _in_order({*short, *_able(candidates)})
            other = self._found(wanted, candidates, kept) if len(self._together) > 1 else found
            if len(_no_alkalis(other)) < len(_no_alkalis(found)):
                found = other
            else:
                self._together = ()
        return Matched(
            self._target,
            found.fired,
            self._basis,
            self._without,
            found.base,
            found.additions,
            found.oxides,
            found.possible,
            tuple(self._left_out),
            tuple(self._remarks(found.fired, found.base, found.additions)),
            self._together,
            self._expansions(found.fired),
            self._swap(wanted, candidates),
        )

    def _found(
        self, wanted: Mapping[str, Decimal], candidates: Sequence[Candidate], kept: Mapping[str, Decimal]
    ) -> _Found:
        """The nearest recipe, rounded, and how far off it is."""
        found = fit(
            self._merged(wanted),
            [candidate._replace(moles=self._merged(candidate.moles)) for candidate in candidates],
            self._one,
            self._merged(kept),
        )
        exact = self._fire(*self._lines(found, None))
        for decimals in _DECIMALS:
            base, additions = self._lines(found, decimals)
            fired = self._fire(base, additions)
            if decimals == _DECIMALS[-1] or self._apart(exact, fired) <= _UNMOVED:
                break
        possible = found.possible
        if self._together:  # an alkali that another stands in for is not reached
            possible = fit(wanted, candidates, self._one, kept).possible
        return _Found(fired, base, additions, tuple(self._differences(fired, candidates)), possible)

    def _alkalis(
        self, wanted: Mapping[str, Decimal], candidates: Sequence[Candidate], kept: Mapping[str, Decimal]
    ) -> tuple[str, ...]:
        """The alkalis that are counted as one: those that nothing brings, with those that may stand in for them; where
        it is asked for, soda and potash in any case."""
        one = sum((amount for oxide, amount in wanted.items() if oxide in self._one), Decimal(0))
        missing = [
            oxide
            for oxide in STAND_IN
            if wanted.get(oxide, Decimal(0)) > WITHIN * one
            and not kept.get(oxide)
            and not any(candidate.moles.get(oxide) for candidate in candidates)
        ]
        able = _able(candidates)
        held = {*missing, *able} if missing and able else set()
        if self._alkalis_asked and able:
            held |= {*STAND_IN[1:]}
        return _in_order(held) if len(held) > 1 else ()

    def _merged(self, moles: Mapping[str, Decimal]) -> Mapping[str, Decimal]:
        """Oxides with the alkalis that stand in for each other under the name of the first."""
        if not self._together:
            return moles
        out = {oxide: amount for oxide, amount in moles.items() if oxide not in self._together}
        with localcontext(exact_enough()):
            together = sum((moles.get(oxide, Decimal(0)) for oxide in self._together), Decimal(0))
        if together:
            out[self._together[0]] = together
        return out

    def _expansions(self, fired: Fired) -> tuple[Estimate, Estimate] | None:
        """The estimates of both, by the same model; None where one of them cannot be made, and for what is no glass."""
        if self._basis != "flux" or self._test.recipe.kind != "glaze":
            return None
        found: list[Estimate] = []
        for side in (self._target, fired):
            if side.melt is None or not side.nearly_known:
                return None
            try:
                made = expansion.estimate({o: float(grams) for o, grams in side.melt.oxides.items()})
            except CompositionError:
                return None
            if not isinstance(made, Estimate):
                return None
            found.append(made)
        return found[0], found[1]

    def _swap(self, wanted: Mapping[str, Decimal], candidates: Sequence[Candidate]) -> Swap | None:
        """One material for the one that is gone, the rest of the base as it was but for silica and kaolin."""
        gone = [part for part in self._test.base if part.parts and part.called in self._gone]
        if len(gone) != 1 or any(part.called in self._gone for part in self._test.additions if part.parts):
            return None
        (out,) = gone
        fixed = [
            part
            for part in self._test.base
            if part.parts and part is not out and part.called not in CORRECTING
        ]
        if any(isinstance(self._new(part), Unknown) for part in fixed):
            return None
        held = self._brought((*fixed, *self._added_kept))
        by_name = {candidate.name: candidate for candidate in candidates}
        correcting = [by_name[name] for name in CORRECTING if name in by_name]
        best: tuple[float, str, Fit] | None = None
        catalogue = self._stock.catalogue
        role = material.role if (material := catalogue.find(out.called)) else ""
        others = [one for one in candidates if one.name not in (*CORRECTING, out.called)]
        alike = [one for one in others if (held_one := catalogue.find(one.name)) and held_one.role == role]
        for candidate in alike or others:
            those = [one._replace(moles=self._merged(one.moles)) for one in (candidate, *correcting)]
            amounts, away = nearest(self._merged(wanted), those, self._one, self._merged(held))
            if amounts.get(candidate.name) and (best is None or away < best[0]):
                best = away, candidate.name, Fit(amounts, False)
        if best is None:
            return None
        base = {part.called: part.parts * self._scale for part in fixed}
        for name, amount in best[2].amounts.items():
            base[name] = base.get(name, Decimal(0)) + Decimal(amount)
        before = {part.called: part.parts * self._scale for part in self._test.base}
        order = [*(name for name in before if name in base), *(name for name in base if name not in before)]
        division = Decimal(1).scaleb(-_DECIMALS[0])
        lines = tuple(
            Line(name, round_to(base[name], division), before.get(name), name not in (best[1], *CORRECTING))
            for name in order
            if round_to(base[name], division)
        )
        additions = tuple(
            Line(part.called, plain(part.parts * self._scale), part.parts * self._scale, True, part.note)
            for part in self._added_kept
        )
        fired = self._fire(lines, additions)
        differences = tuple(self._differences(fired, candidates))
        return Swap(out.called, best[1], lines, differences, self._expansions(fired))

    def _brought(self, parts: Iterable[Part]) -> dict[str, Decimal]:
        """Mol that parts of a base of 100 bring, of what is known by the stock."""
        out: dict[str, Decimal] = {}
        with localcontext(exact_enough()):
            for part in parts:
                analysis = self._kiln.analysis(part.called)
                if isinstance(analysis, Unknown):
                    continue
                for oxide, amount in analysis.moles.items():
                    out[oxide] = out.get(oxide, Decimal(0)) + amount * part.parts * self._scale / _WHOLE
        return out

    def _lines(self, found: Fit, decimals: int | None) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
        """The new recipe on a base of 100, its amounts rounded to so many decimals."""
        before = {part.called: part.parts * self._scale for part in self._test.base}
        added_before = {part.called: part.parts * self._scale for part in self._test.additions}
        base = {part.called: part.parts * self._scale for part in self._base_kept}
        added = {part.called: part.parts * self._scale for part in self._added_kept}
        taken_over = {*base, *added}
        notes = {part.called: part.note for part in (*self._base_kept, *self._added_kept)}
        for name, amount in found.amounts.items():
            where = added if self._is_added(name) else base
            where[name] = where.get(name, Decimal(0)) + Decimal(amount)
        if not base:
            base, added = (
                {name: amount for name, amount in added.items() if name not in taken_over},
                {name: amount for name, amount in added.items() if name in taken_over},
            )
        with localcontext(exact_enough()):
            whole = sum(base.values(), Decimal(0))
            shares: Iterable[Decimal] = (amount * _WHOLE / whole for amount in base.values())
            beside = [amount * _WHOLE / whole for amount in added.values()]
        if decimals is not None:
            division = Decimal(1).scaleb(-decimals)
            shares = largest_remainder(list(base.values()), _WHOLE, division)
            beside = [round_to(amount, _fine(amount, division)) for amount in beside]
        first = [name for name in before if name in base]
        order = {name: at for at, name in enumerate((*first, *(n for n in base if n not in before)))}
        lines = [
            Line(
                name,
                plain(parts),
                before.get(name),
                name in taken_over and name not in added,
                notes.get(name, ""),
            )
            for name, parts in zip(base, shares, strict=True)
            if parts
        ]
        lines.sort(key=lambda line: order[line.material])
        return tuple(lines), tuple(
            Line(name, plain(parts), added_before.get(name), name in taken_over, notes.get(name, ""))
            for name, parts in zip(added, beside, strict=True)
            if parts
        )

    def _is_added(self, name: str) -> bool:
        """Whether a material that was found goes below the additions: one that is made to be added, unless the old
        base holds such ones too, or is no glaze's."""
        catalogue = self._stock.catalogue
        roles = {
            part.called: material.role
            for part in self._test.base
            if (material := catalogue.find(part.called))
        }
        if self._test.recipe.kind != "glaze" or name in roles:
            return False
        material = catalogue.find(name)
        return material is not None and material.role in ADDED and material.role not in roles.values()

    def _fire(self, base: Iterable[Line], additions: Iterable[Line]) -> Fired:
        return self._kiln.fire(replace(self._test, base=_parts(base), additions=_parts(additions)))

    def _equivalents(self, melt: Melt | None) -> dict[str, Decimal]:
        """Mol of each oxide where what is taken as 1 is 1; empty where there is none of it."""
        if melt is None:
            return {}
        one = frozenset(melt.moles) if self._basis == "total" else self._one
        with localcontext(exact_enough()):
            whole = sum((amount for oxide, amount in melt.moles.items() if oxide in one), Decimal(0))
            return {oxide: amount / whole for oxide, amount in melt.moles.items()} if whole else {}

    def _apart(self, first: Fired, second: Fired) -> Decimal:
        one, other = self._equivalents(first.melt), self._equivalents(second.melt)
        return max(
            (abs(one.get(oxide, Decimal(0)) - other.get(oxide, Decimal(0))) for oxide in {*one, *other}),
            default=Decimal(0),
        )

    def _differences(self, fired: Fired, candidates: Sequence[Candidate]) -> Iterator[Difference]:
        wanted, reached = self._equivalents(self._melt), self._equivalents(fired.melt)
        in_percent = self._melt.weight_percent()
        reached_percent = fired.melt.weight_percent() if fired.melt else {}
        nothing = Decimal(0)
        for oxide in sorted({*wanted, *reached}, key=place):
            one = Difference(
                oxide,
                wanted.get(oxide, nothing),
                reached.get(oxide, nothing),
                in_percent.get(oxide, nothing),
                reached_percent.get(oxide, nothing),
                "",
            )
            yield one if one.within else one._replace(why=self._why(one, fired, candidates))

    def _why(self, one: Difference, fired: Fired, candidates: Sequence[Candidate]) -> str:
        if one.oxide in self._together:
            others = [oxide for oxide in self._together if oxide != one.oxide]
            listed = " and ".join(others)
            anything = any(candidate.moles.get(one.oxide) for candidate in candidates)
            none = "" if anything else f"no material at hand brings {one.oxide}; "
            return f"{none}{listed} may stand in for it" if one.off < 0 else f"it may stand in for {listed}"
        sources = [candidate.name for candidate in candidates if candidate.moles.get(one.oxide)]
        if one.off < 0:
            if not sources:
                return f"no material at hand brings {one.oxide}"
            shown = ", ".join(sources[:3]) + (f" and {len(sources) - 3} more" if len(sources) > 3 else "")
            return f"more of what brings it ({shown}) would put other oxides further off"
        short = [oxide for oxide in self._one if oxide != one.oxide and self._lacks(oxide, candidates)]
        if one.oxide in self._one and short:
            return f"what is taken as 1 stays 1, so it makes up for {' and '.join(sorted(short, key=place))}"
        melt = fired.melt
        brought = melt.origin().get(one.oxide, ()) if melt else ()
        lines = melt.lines if melt else ()
        ranked = sorted(zip(brought, lines, strict=True), key=lambda pair: -pair[0])
        names = [line.material for amount, line in ranked[:2] if amount]
        return f"it comes along with {' and '.join(names)}"

    def _lacks(self, oxide: str, candidates: Sequence[Candidate]) -> bool:
        """Whether more of an oxide is wanted than is kept, and nothing at hand brings any."""
        return self._equivalents(self._melt).get(oxide, Decimal(0)) > WITHIN and not any(
            candidate.moles.get(oxide) for candidate in candidates
        )

    def _remarks(self, fired: Fired, base: Sequence[Line], additions: Sequence[Line]) -> Iterator[str]:
        catalogue = self._stock.catalogue
        made_up = dict.fromkeys((*self._target.invented, *fired.invented))
        if made_up:
            yield (
                f"{', '.join(made_up)}: made up; no real composition is held, and the figures rest on an invented one"
            )
        for unknown in fired.unknown:
            yield f"{unknown.name} is taken over as it is; what it brings is not known, and not in the figures"
        for name in self._left_out:
            yield f"{name} is left out: it brings nothing in the fire, but the slurry may miss it"
        clay, clay_now = (
            sum((amount for name, amount in pairs if _is_clay(catalogue, name)), Decimal(0))
            for pairs in (
                [(part.called, part.parts * self._scale) for part in self._test.base],
                [(line.material, line.parts) for line in base],
            )
        )
        if clay - clay_now >= _CLAY:
            yield (
                f"raw clay: {clay:.0f} parts before, {clay_now:.0f} now; with less of it a slurry settles faster and "
                "the dry coat is softer (common practice)"
            )
        elif clay_now - clay >= _CLAY:
            yield (
                f"raw clay: {clay:.0f} parts before, {clay_now:.0f} now; with more of it the coat shrinks more as it "
                "dries, and may crawl (common practice)"
            )
        old = {*_names(self._test.base), *_names(self._test.additions)}
        for line in (*base, *additions):
            material = catalogue.find(line.material)
            if material is None or line.material in old:
                continue
            if material.soluble != "no":
                much = "dissolves" if material.soluble == "yes" else "dissolves a little"
                yield f"{line.material} {much} in the glaze water"
            if material.restricted:
                yield f"{line.material} is a restricted material ({material.restricted})"


def _able(candidates: Iterable[Candidate]) -> list[str]:
    """The alkalis that may stand in for others: soda and potash, where anything brings them."""
    held = list(candidates)
    return [oxide for oxide in STAND_IN[1:] if any(one.moles.get(oxide) for one in held)]


def _in_order(alkalis: Set[str]) -> tuple[str, ...]:
    return tuple(oxide for oxide in STAND_IN if oxide in alkalis)


def _no_alkalis(found: _Found) -> list[Difference]:
    """The oxides that are not reached, but for alkalis."""
    return [one for one in found.oxides if not one.within and one.oxide not in STAND_IN]


def _is_clay(catalogue: Catalogue, name: str) -> bool:
    material = catalogue.find(name)
    return material is not None and material.role == "clay" and "calcined" not in name and "grog" not in name


def _fine(amount: Decimal, division: Decimal) -> Decimal:
    """Small additions keep three figures: half a part of cobalt is no matter of hundredths."""
    return min(division, Decimal(1).scaleb(amount.adjusted() - 2)) if amount else division


def _names(parts: Iterable[Part]) -> list[str]:
    return list(dict.fromkeys(part.called for part in parts if part.parts))


def _parts(lines: Iterable[Line]) -> tuple[Part, ...]:
    return tuple(Part(line.material, line.material, line.parts, line.note) for line in lines)
