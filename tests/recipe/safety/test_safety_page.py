"""The page on safety shows the figures that are held, and no shipped text calls a glaze or a material safe."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from tests.conftest import TOP
from tests.generate.safety_page import PAGE, exposure_table, leaching_table, metals_table

from glost.linter.rules import food_contact_risk
from glost.recipe.safety.limits import food_metals


@pytest.mark.parametrize("table", [exposure_table, leaching_table, metals_table])
def test_page_shows_what_is_held(table: object) -> None:
    assert callable(table)
    assert table() in PAGE.read_text("utf-8"), "run: python -m tests.generate safety"


def test_rule_on_food_names_the_lines_that_it_draws() -> None:
    why = " ".join(food_contact_risk.RULE.why.split())
    for metal in food_metals():
        assert metal.metal in why
        if metal.above is not None and metal.above >= 1:
            assert re.search(rf"\({metal.oxide}(?:,| above) {metal.above}[ )]", why), metal
        elif metal.above is not None:
            assert metal.above == Decimal("0.05")


# ---- nothing is called safe ----------------------------------------------------------------------------

CLAIMS = re.compile(
    r"\b(?:is|are|be|was|were|it's|as|quite|perfectly|completely|totally)\s+safe\b"
    r"|\b(?:food|dinnerware|tableware|kitchen|child|microwave|dishwasher|oven|skin|lead|drain)[ -]?safe\b"
    r"|\bsafe\s+(?:for|to|with|in|at|on|glazes?|materials?|levels?|amounts?|limits?|use|handling)\b"
    r"|\bnon-?toxic\b|\bharmless\b|\bnot (?:toxic|poisonous|dangerous|hazardous)\b"
    r"|\b(?:no|without(?: any)?) (?:risk|danger)\b|\bfit for (?:food|drink|use)\b",
    re.IGNORECASE,
)
DENIAL = re.compile(
    r"\b(?:no|not|never|nothing|none|neither|nor|cannot|whether|without|less|does not mean)\b", re.IGNORECASE
)
"""What a sentence that denies or leaves open has in it. A claim such as "not toxic" needs a second one."""

SHIPPED = sorted(
    path
    for pattern in (
        "src/glost/**/*.py",
        "src/glost/**/*.json",
        "src/glost/**/*.js",
        "docs/**/*.md",
        "corpus/**/*.glost",
        "corpus/**/*.yaml",
        "corpus/**/*.md",
        "schema/*.json",
        "README.md",
        "DEVELOPERS.md",
    )
    for path in TOP.glob(pattern)
)


def claims(text: str) -> Iterator[str]:
    """The sentences that say that something is without danger."""
    # Marks of comments, quotes and tables stand between the words of one sentence.
    plain = re.sub(r"[\s\"'`|*#\\]+", " ", text)
    for sentence in re.split(r"(?<=[.;:!?])\s", plain):
        for claim in CLAIMS.finditer(sentence):
            rest = sentence[: claim.start()] + " " + sentence[claim.end() :]
            if not DENIAL.search(rest):
                yield sentence


@pytest.mark.parametrize(
    "text",
    [
        "This glaze is food safe.",
        "Zinc is safe.",
        "A dinnerware-safe clear.",
        "The stain is non-toxic when fired.",
        "Frits are not toxic.",
        "It is fit for food.",
        "Below that it is safe for drinking cups",
        "colour: blue\nsurface: food-safe gloss",
    ],
)
def test_a_claim_is_found(text: str) -> None:
    assert list(claims(text))


@pytest.mark.parametrize(
    "text",
    [
        "Nothing here says whether a glaze is fit for food.",
        "No recipe shows that ware is fit for food or drink: a fired glaze can give off metals.",
        "No hazard statement on record here, which does not mean no hazard.",
        "The supplier's safety data sheet comes first.",
    ],
)
def test_a_denial_is_none(text: str) -> None:
    assert not list(claims(text))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: str(path.relative_to(TOP)))
def test_no_shipped_text_calls_anything_safe(path: Path) -> None:
    assert not list(claims(path.read_text("utf-8", "replace")))
