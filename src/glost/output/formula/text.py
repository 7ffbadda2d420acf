"""Accounts for a person: one calm table a test."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from glost.chemistry.additive import HELD_AT_LEAST, HELD_AT_MOST, Estimate
from glost.chemistry.body_fit import CAUTION, SAID, BodyFit
from glost.chemistry.unity import COLOURANTS, GROUPS, Group, Term, Unity
from glost.output import figures
from glost.output.formula.account import Account
from glost.output.formula.granted import made_up, sentences
from glost.output.model import (
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
)
from glost.output.model.text import as_text

GROUP_NAMES: dict[Group, str] = {"RO": "R2O, RO", "R2O3": "R2O3", "RO2": "RO2"}

RANKS = "It ranks glazes and does not replace a firing test."
ORDER = "It ranks like glazes; only a firing test tells when one is ripe."
_COLUMNS = 100
_LABEL = 19


def part(account: Account) -> str:
    """The table of one test."""
    return shown(nodes_of(account))


def whole(parts: Iterable[str]) -> Iterator[str]:
    """All tables, one empty line between."""
    between = ""
    for part in parts:
        yield between + part
        between = "\n"


def shown(nodes: Iterable[Node]) -> str:
    """What is told of a test as text."""
    return as_text(nodes, _COLUMNS, margin=2)


def nodes_of(account: Account) -> Iterator[Node]:
    """All that is told of one test."""
    yield block(heading(account))
    if account.fired.melt is None:
        return
    if account.oxides:
        yield _table(account)
    yield block(
        [
            terms(_figures(account)),
            *(Paragraph(remark, "aside", "note") for remark in account.remarks),
        ]
    )


def block(nodes: Iterable[Node]) -> Section:
    """Nodes without an empty line between them."""
    return Section("", list(nodes), close=True)


def terms(rows: Iterable[tuple[str, str]]) -> Terms:
    """Figures with their names, which stand alike for every test."""
    return Terms(list(rows), least=_LABEL)


def heading(account: Account) -> Iterator[Node]:
    """The name of the test, its file, and what keeps the figures below from being those of the whole."""
    fired = account.fired
    yield Heading(account.test.name, 3)
    yield Line(account.file)
    if not fired.nearly_known:
        share = figures.percent(fired.unknown_percent)
        yield Paragraph(
            f"PARTIAL: {share} % of the dry batch is unknown. Every figure below is that of the known rest, and none "
            "that of the glaze."
        )
        yield Entries(
            [Entry(f"{one.name}, {figures.percent(one.percent)} %: {one.reason}") for one in fired.unknown]
        )
    invented = made_up(account)
    if invented:
        yield Paragraph(invented)
    told = set() if fired.nearly_known else {f"{one.name}: {one.reason}" for one in fired.unknown}
    yield from (Paragraph(problem) for problem in fired.problems if problem not in told)


def _figures(account: Account) -> Iterator[tuple[str, str]]:
    """What is told below the table, by its name; a row without one continues the one before."""
    melt, unity = account.fired.melt, account.fired.unity
    assert melt is not None
    if unity is not None:
        yield from taken_as_one(account, unity)
        ratio = unity.silica_to_alumina
        yield "SiO2 : Al2O3", "no alumina" if ratio is None else figures.percent(ratio)
        if account.choice.on == "flux":
            yield "R2O : RO", f"{figures.percent(unity.alkali)} : {figures.percent(1 - unity.alkali)}"
        yield "B2O3", figures.unity(unity.boron)
    known = "" if account.fired.nearly_known else " (the known rest)"
    yield "loss on ignition", f"{figures.percent(melt.loss)} % of the dry batch{known}"
    yield "unknown", _unknown(account)
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
        yield "taken for granted", f"{'; '.join(taken)}."


def _unknown(account: Account) -> str:
    """How much of the batch is unknown, and where it is little, what."""
    fired = account.fired
    if not fired.unknown:
        return "none"
    names = ""
    if fired.nearly_known:
        names = f": {', '.join(dict.fromkeys(one.name for one in fired.unknown))}"
    return f"{figures.percent(fired.unknown_percent)} % of the dry batch{names}"


def _table(account: Account) -> Table:
    unity = account.fired.unity
    partial = "" if account.fired.nearly_known else "partial "
    columns = [
        Column("", least=7),
        Column("", least=6),
        Column(f"{partial}unity", figures=True, least=13),
        Column("fired wt %", figures=True, least=11),
        Column("mol %", figures=True, least=8),
    ]
    if unity is None:
        return Table(columns, [_row("", oxide, "-", account) for oxide in account.oxides])
    return Table(
        columns,
        [
            _row(
                GROUP_NAMES[group] if not at else "",
                f"{term.oxide}*" if _left_out(term, account) else term.oxide,
                figures.unity(term.equivalents),
                account,
            )
            for group in GROUPS
            for at, term in enumerate(unity.group(group))
        ],
    )


def _row(group: str, oxide: str, unity: str, account: Account) -> Row:
    bare = oxide.rstrip("*")
    weight = figures.percent(account.fired_weight[bare])
    return Row((group, oxide, unity, weight, figures.percent(account.fired_mol[bare])))


def _left_out(term: Term, account: Account) -> bool:
    """Whether an oxide of the fluxes' group stands there without counting."""
    return account.choice.on == "flux" and not term.counted and term.group == "RO"


def taken_as_one(account: Account, unity: Unity) -> Iterator[tuple[str, str]]:
    """Which oxides together are the 1, and which of their group are not."""
    yield "taken as 1", " + ".join(term.oxide for term in unity.terms if term.counted)
    left_out = [term.oxide for term in unity.terms if _left_out(term, account)]
    if left_out:
        colours = all(oxide in COLOURANTS for oxide in left_out)
        why = "a colouring oxide" if colours else "an oxide of this group"
        yield "", f"* {why} that does not count towards the 1"


def _estimate(name: str, estimate: Estimate, caution: str) -> Iterator[tuple[str, str]]:
    digits = 0 if estimate.unit == "°C" else 1
    yield (
        name,
        (
            f"{estimate.value:.{digits}f} {estimate.unit} ({_held(estimate)} like it: {estimate.low:.0f} to "
            f"{estimate.high:.0f}), model {estimate.model}"
        ),
    )
    yield "", f"{caution} {_sentence(estimate.note)}"


def _held(estimate: Estimate) -> str:
    """How many measured glasses the interval held, where that is not about nine of ten."""
    share = round(estimate.held)
    return "nine of ten" if HELD_AT_LEAST <= share <= HELD_AT_MOST else f"{share} of 100"


def _body_fit(fit: BodyFit) -> Iterator[tuple[str, str]]:
    body = fit.body
    yield (
        "on the body",
        (
            f"{body.name}: {fit.difference:+.1f} 1e-7/K ({fit.low:+.0f} to {fit.high:+.0f}), body less glaze. "
            f"{_sentence(SAID[fit.leaning])}"
        ),
    )
    how_sure = f" ± {body.plus_or_minus.normalize():f}" if body.plus_or_minus is not None else ""
    told = [
        (
            f"The body has {body.expansion.normalize():f}{how_sure}, {body.range} ({body.source}); the glaze "
            f"{fit.glaze.value:.1f}, about {fit.glaze_range}."
        ),
        *(_sentence(note) for note in fit.notes),
        CAUTION,
    ]
    yield "", " ".join(told)


def _sentence(note: str) -> str:
    return f"{note[:1].upper()}{note[1:]}."
