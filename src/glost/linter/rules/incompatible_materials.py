"""Two materials of one mix that must not be ground or stored together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from glost.language.diagnostics import Diagnostic
from glost.language.source import Span
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.safety.incompatible import WATER, Clash, called, clashes


def check(checked: Checked) -> Iterator[Diagnostic]:
    # A name that no catalogue holds is told by its words.
    placed: dict[str, Span] = {}
    for one in checked.weighed:
        placed.setdefault(one.called, one.item.name.span)
    if not any(True for _ in clashes(placed, checked.catalogue)):
        return  # what does not clash all together does so in no test of it
    told: set[Clash] = set()
    for test in checked.tests:
        used = dict.fromkeys(part.called for part in (*test.base, *test.additions) if part.parts)
        for clash in clashes(used, checked.catalogue):
            if clash in told:
                continue
            told.add(clash)
            span = next((placed[name] for name in clash.first if name in placed), None)
            if span is not None:
                yield _diagnostic(clash, span)


def _diagnostic(clash: Clash, span: Span) -> Diagnostic:
    pair = clash.pair
    first = f"{_listed(clash.first)} ({called(pair.first)})"
    if pair.second == WATER:
        message = f"{first} must not meet the water of the mix: {pair.harm}"
    else:
        second = f"{_listed(clash.second)} ({called(pair.second)})"
        message = f"{first} and {second} must not be ground or stored together: {pair.harm}"
    source = pair.source if pair.source.endswith(pair.standing) else f"{pair.source}, {pair.standing}"
    return Diagnostic(
        span,
        f"{message} ({source})",
        f"{pair.do}. The supplier's safety data sheet comes first. Where they never meet dry, say how behind the line: "
        "# allow incompatible-materials: why",
    )


def _listed(names: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


RULE = Rule(
    name="incompatible-materials",
    level="error",
    summary="Two materials of one mix that must not be ground or stored together.",
    why="""\
Saltpetre and sugar are a glaze material each, and ground together in a mortar they are what fireworks are made of. A
mix is ground, sieved and kept as a dry powder by somebody who sees two white powders and a page without a word. So the
rule looks for pairs in one mix: what feeds fire (nitrates, chlorates, permanganates, dichromates, red lead) with what
burns (sugar, gums, waxes and other organic binders, charcoal, sulfur), with a carbide, a sulfide or a metal powder;
quicklime with water, which every slurry has; an acid with a sulfide or a cyanide. A material is told by its hazard
statements, its formula, and the words of its name, so that one of your own materials.yaml, and a name that nobody
knows yet, are looked at as well. Each pair stands in the finding with where it is written and how far that was
checked. It knows these pairs and no others: section 10 of the supplier's safety data sheet says what a material may
not meet, and it comes first, with local codes and licensed practice.""",
    how_to_fix="""\
Bring the oxide from a frit or a carbonate, take whiting in the place of quicklime, leave the sulfide out; then
calculate and test it as a new recipe. Where the two never meet dry, as with a nitrate that is dissolved first and a gum
that is soaked apart, write that as a handling note and say so with an allowance.""",
    bad="""\
glaze "Harbour Mist"
cone: 04
atmosphere: oxidation
origin: own test
batch: 500 g

base:
    nepheline syenite      60
    saltpetre              40  # allow soluble-material: mixed and used the same day

additions:
    gum arabic              2
    silicon carbide         2

handling:
    saltpetre: gloves and goggles; away from heat.
""",
    expected=(
        Expected(
            9,
            5,
            "saltpetre (an oxidiser) and gum arabic (something that burns) must not be ground or stored together: dry "
            "and ground together they burn fiercely or explode, from a spark or from rubbing alone (that such "
            "mixtures are those of fireworks is common practice; P220 of Regulation (EC) 1272/2008, annex IV: keep "
            "away from clothing and other combustible materials, read)",
        ),
        Expected(
            9,
            5,
            "saltpetre (an oxidiser) and silicon carbide (a carbide) must not be ground or stored together: ground "
            "together they can catch fire, and in the kiln they react all at once (suppliers' safety data sheets of "
            "nitrates, section 10 (reducing agents), from memory)",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 04
atmosphere: oxidation
origin: own test
batch: 500 g

base:
    nepheline syenite      60
    potash borate frit     40

additions:
    gum arabic              2
    silicon carbide         2
""",
    check=check,
)
