"""Accounts for a person: one calm table a test."""

from __future__ import annotations

import functools
import textwrap
from collections.abc import Iterable, Iterator

from glost.chemistry.additive import HELD_AT_LEAST, HELD_AT_MOST, Estimate
from glost.chemistry.body_fit import CAUTION, SAID, BodyFit
from glost.chemistry.unity import COLOURANTS, GROUPS, Group, Term, Unity
from glost.language.width import padded
from glost.output import figures
from glost.output.escape import visible
from glost.output.formula.account import Account
from glost.output.formula.granted import made_up, sentences

GROUP_NAMES: dict[Group, str] = {"RO": "R2O, RO", "R2O3": "R2O3", "RO2": "RO2"}

RANKS = "It ranks glazes and does not replace a firing test."
ORDER = "It ranks like glazes; only a firing test tells when one is ripe."
_COLUMNS = 100
_LABEL = 20


def part(account: Account) -> str:
    """The table of one test."""
    return "".join([f"{line}\n" for line in _lines(account)])


def whole(parts: Iterable[str]) -> str:
    """All tables, one empty line between."""
    return "\n".join(parts)


def heading(account: Account) -> list[str]:
    """The name of the test, its file, and what keeps the figures below from being those of the whole."""
    fired = account.fired
    lines = [visible(account.test.name), f"  {visible(account.file)}"]
    if not fired.nearly_known:
        share = figures.percent(fired.unknown_percent)
        lines += wrapped(
            f"PARTIAL: {share} % of the dry batch is unknown. Every figure below is that of the known rest, and none "
            "that of the glaze.",
            2,
        )
        for one in fired.unknown:
            lines += wrapped(
                f"- {visible(one.name)}, {figures.percent(one.percent)} %: {visible(one.reason)}", 2, 4
            )
    said = made_up(account)
    if said:
        lines += wrapped(visible(said), 2)
    broken = set() if fired.nearly_known else {f"{one.name}: {one.reason}" for one in fired.unknown}
    for problem in fired.problems:
        if problem not in broken:
            lines += wrapped(visible(problem), 2)
    return lines


def _lines(account: Account) -> Iterator[str]:
    yield from heading(account)
    melt, unity = account.fired.melt, account.fired.unity
    if melt is None:
        return
    if account.oxides:
        yield ""
        yield from _table(account)
    yield ""
    if unity is not None:
        yield from taken_as_one(account, unity)
        ratio = unity.silica_to_alumina
        yield _row("SiO2 : Al2O3", "no alumina" if ratio is None else figures.percent(ratio))
        if account.choice.on == "flux":
            yield _row("R2O : RO", f"{figures.percent(unity.alkali)} : {figures.percent(1 - unity.alkali)}")
        yield _row("B2O3", figures.unity(unity.boron))
    known = "" if account.fired.nearly_known else " (the known rest)"
    yield _row("loss on ignition", f"{figures.percent(melt.loss)} % of the dry batch{known}")
    yield from wrapped(f"{'unknown':<{_LABEL}}{_unknown(account)}", 2, 2 + _LABEL)
    for name, estimate, caution in (
        ("expansion", account.expansion, RANKS),
        ("fusibility", account.softening, ORDER),
    ):
        if estimate is not None:
            yield from _estimate(name, estimate, caution)
    if account.fit is not None:
        yield from _body_fit(account.fit)
    taken = sentences(account)
    if taken:
        yield from wrapped(f"{'taken for granted':<{_LABEL}}{visible('; '.join(taken))}.", 2, 2 + _LABEL)
    for remark in account.remarks:
        yield from wrapped(f"note: {remark}", 2, 8)


def _unknown(account: Account) -> str:
    """How much of the batch is unknown, and where it is little, what."""
    fired = account.fired
    if not fired.unknown:
        return "none"
    names = ""
    if fired.nearly_known:
        names = f": {', '.join(dict.fromkeys(visible(one.name) for one in fired.unknown))}"
    return f"{figures.percent(fired.unknown_percent)} % of the dry batch{names}"


def _table(account: Account) -> Iterator[str]:
    unity = account.fired.unity
    partial = "" if account.fired.nearly_known else "partial "
    yield f"  {'':<8} {'':<7}{partial + 'unity':>14}{'fired wt %':>13}{'mol %':>10}"
    if unity is None:
        for oxide in account.oxides:
            yield _cells("", oxide, "-", account)
        return
    for group in GROUPS:
        for at, term in enumerate(unity.group(group)):
            mark = "*" if _left_out(term, account) else ""
            yield _cells(
                GROUP_NAMES[group] if not at else "",
                term.oxide + mark,
                figures.unity(term.equivalents),
                account,
            )


def _cells(group: str, oxide: str, unity: str, account: Account) -> str:
    bare = oxide.rstrip("*")
    weight = figures.percent(account.fired_weight[bare])
    mol = figures.percent(account.fired_mol[bare])
    return f"  {group:<8} {oxide:<7}{unity:>14}{weight:>13}{mol:>10}"


def _left_out(term: Term, account: Account) -> bool:
    """Whether an oxide of the fluxes' group stands there without counting."""
    return account.choice.on == "flux" and not term.counted and term.group == "RO"


def taken_as_one(account: Account, unity: Unity) -> Iterator[str]:
    """Which oxides together are the 1, and which of their group are not."""
    counted = " + ".join(term.oxide for term in unity.terms if term.counted)
    yield from wrapped(f"{'taken as 1':<{_LABEL}}{counted}", 2, 2 + _LABEL)
    left_out = [term.oxide for term in unity.terms if _left_out(term, account)]
    if left_out:
        colours = all(oxide in COLOURANTS for oxide in left_out)
        why = "a colouring oxide" if colours else "an oxide of this group"
        yield from wrapped(f"{'':<{_LABEL}}* {why} that does not count towards the 1", 2, 2 + _LABEL)


def _estimate(name: str, estimate: Estimate, caution: str) -> Iterator[str]:
    digits = 0 if estimate.unit == "°C" else 1
    unit = f" {estimate.unit}"
    yield _row(
        name,
        f"{estimate.value:.{digits}f}{unit} ({_held(estimate)} like it: {estimate.low:.0f} to {estimate.high:.0f}), "
        f"model {estimate.model}",
    )
    yield from wrapped(f"{'':<{_LABEL}}{caution} {_sentence(estimate.note)}", 2, 2 + _LABEL)


def _held(estimate: Estimate) -> str:
    """How many measured glasses the interval held, where that is not about nine of ten."""
    share = round(estimate.held)
    return "nine of ten" if HELD_AT_LEAST <= share <= HELD_AT_MOST else f"{share} of 100"


def _body_fit(fit: BodyFit) -> Iterator[str]:
    yield from wrapped(
        f"{'on the body':<{_LABEL}}{visible(fit.body.name)}: {fit.difference:+.1f} 1e-7/K ({fit.low:+.0f} to "
        f"{fit.high:+.0f}), body less glaze. {_sentence(SAID[fit.leaning])}",
        2,
        2 + _LABEL,
    )
    body = fit.body
    how_sure = f" ± {body.plus_or_minus.normalize():f}" if body.plus_or_minus is not None else ""
    told = [
        (
            f"The body has {body.expansion.normalize():f}{how_sure}, {body.range} ({visible(body.source)}); the glaze "
            f"{fit.glaze.value:.1f}, about {fit.glaze_range}."
        ),
        *(_sentence(note) for note in fit.notes),
        CAUTION,
    ]
    yield from wrapped(f"{'':<{_LABEL}}{' '.join(told)}", 2, 2 + _LABEL)


def _sentence(note: str) -> str:
    return f"{note[:1].upper()}{note[1:]}."


def _row(label: str, value: str) -> str:
    return f"  {padded(label, _LABEL)}{value}"


@functools.lru_cache(maxsize=1024)  # the same few sentences stand below many tests, and wrapping is slow
def wrapped(text: str, indent: int, below: int | None = None) -> tuple[str, ...]:
    """``text`` on lines of at most ``_COLUMNS``, the first ``indent`` in, the others ``below``."""
    return tuple(
        textwrap.wrap(
            text,
            _COLUMNS,
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent if below is None else below),
            break_long_words=False,
            break_on_hyphens=False,
        )
    )
