"""docs/safety.md: the tables of the figures that are held."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from glost.recipe.safety.incompatible import called, pairs
from glost.recipe.safety.limits import exposure_limits, food_metals, leaching_limits
from tests.conftest import TOP

PAGE = TOP / "docs" / "safety.md"


def exposure_table() -> str:
    return _table(
        ("in the air", "limit", "mean of", "whose", "rule", "how far checked"),
        (
            (
                row.substance,
                f"{row.value} {row.unit}",
                row.over.removeprefix("mean of "),
                row.authority,
                row.rule,
                row.standing,
            )
            for row in exposure_limits()
        ),
    )


def leaching_table() -> str:
    wares: dict[tuple[str, str, str], dict[str, str]] = {}
    for row in leaching_limits():
        wares.setdefault((row.rule, row.ware, row.standing), {})[row.metal] = f"{row.value} {row.unit}"
    return _table(
        ("rule", "ware", "lead", "cadmium", "how far checked"),
        (
            (rule, ware, limits.get("lead", ""), limits.get("cadmium", ""), standing)
            for (rule, ware, standing), limits in wares.items()
        ),
    )


def pairs_table() -> str:
    return _table(
        ("this", "with this", "harm", "where it stands written", "how far checked"),
        (
            (
                called(pair.first),
                called(pair.second),
                pair.harm,
                pair.source.removesuffix(f", {pair.standing}"),
                pair.standing,
            )
            for pair in pairs()
        ),
    )


def metals_table() -> str:
    return _table(
        ("metal", "asked after from", "or where a name says"),
        (
            (
                metal.metal,
                f"{metal.above} % {metal.oxide}" if metal.oxide else "any amount",
                ", ".join(metal.words),
            )
            for metal in food_metals()
        ),
    )


def _table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    return "\n".join(f"| {' | '.join(row)} |" for row in (heads, ["---"] * len(heads), *rows)).replace(
        "  |", " |"
    )


def files() -> dict[Path, str]:
    page = PAGE.read_text("utf-8")
    for table in (pairs_table(), exposure_table(), leaching_table(), metals_table()):
        head = table.partition("\n")[0]
        before, found, rest = page.partition(f"{head}\n")
        assert found, head
        lines = rest.split("\n")
        end = next(at for at, line in enumerate(lines) if not line.startswith("|"))
        page = before + "\n".join([table, *lines[end:]])
    return {PAGE: page}
