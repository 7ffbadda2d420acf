"""The tables of docs/models.md, out of the shipped figures and the extracts that the tests hold.

python -m tests.fit.tables writes them anew between their marks; --check says what is stale. No data is needed that is
not in the repository.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from glost.chemistry import expansion, softening
from glost.chemistry.additive import Fit, Spread
from tests.fit import held_out
from tests.fit.corners import Row, row, table

PAGE = Path(__file__).parents[2] / "docs" / "models.md"

HEAD = (
    "glasses",
    "authors",
    "typical error",
    "1 in 10 worse than",
    "lean",
    "typical, by author",
    "1 in 10, by author",
)
HELD = ("of 100 held", "by author")


def markdown(head: Sequence[str], lines: Iterable[Sequence[object]]) -> str:
    every = [head, ["---"] * len(head), *lines]
    return "\n".join("| " + " | ".join(str(cell) for cell in line) + " |" for line in every)


def _errors(of: Row | Spread) -> list[object]:
    return [
        of.glasses,
        of.authors,
        of.median,
        of.ninetieth,
        f"{of.bias:+}",
        of.median_by_author,
        of.ninetieth_by_author,
    ]


def _spreads(named: Mapping[str, Spread], first: str) -> str:
    lines = [
        [name, *_errors(one), one.held, one.held_by_author, f"{one.base:g}"] for name, one in named.items()
    ]
    return markdown([first, *HEAD, *HELD, "half width"], lines)


def models() -> str:
    """The models of expansion on glasses like glazes."""
    return _spreads({name: expansion.spread(name, "like a glaze") for name in expansion.MODELS}, "model")


def kinds(fit: Fit) -> str:
    return _spreads(fit.spreads, "kind")


def corners(name: str) -> str:
    found = table(held_out.glazes(name)) | {
        "later than the fit": row(held_out.later(name)),
        "PbO above 5 mol %, like a glaze or not": row(held_out.lead(name)),
    }
    for decade in range(1950, 2020, 10):
        those = [one for one in held_out.glazes(name) if decade <= one.year < decade + 10]
        found[f"reported {decade}-{decade + 9}"] = row(those)
    lines = [[corner, *_errors(one), one.held, one.held_by_author, one.half] for corner, one in found.items()]
    return markdown(["by mass", *HEAD, *HELD, "typical half width"], lines)


def steps(fit: Fit) -> str:
    lines: list[Sequence[object]] = []
    for kind, spread in fit.spreads.items():
        lines.append([kind, "", f"{spread.base:g}", spread.glasses, spread.held, spread.held_by_author])
        for step in spread.steps:
            unit = "mol % beyond the ranges" if step.what == "beyond" else f"% {step.what}"
            lines.append(
                [
                    "",
                    f"from {step.least:g} {unit}",
                    f"{step.add:+g}",
                    step.glasses,
                    step.held,
                    step.held_by_author,
                ]
            )
    return markdown(["kind", "where", "half width", "glasses", "of 100 held", "by author"], lines)


def factors(fit: Fit, further: Fit | None = None) -> str:
    lines = []
    for oxide, factor in fit.factors.items():
        low, high = fit.ranges[oxide]
        more = [f"{further.factors[oxide] - factor:+.1f}"] if further else []
        lines.append([oxide, f"{factor:g}", f"{fit.plain[oxide]:g}", *more, f"{low:g} to {high:g}"])
    head = [
        "oxide",
        "factor",
        "in the plain sum",
        *(["further, to 400 °C"] if further else []),
        "range, mol %",
    ]
    return markdown(head, lines)


def products(fit: Fit) -> str:
    lines = [
        [f"{one} × {other}" if one != other else f"{one}²", f"{factor:g}"]
        for (one, other), factor in fit.products.items()
    ]
    return markdown(["product", "factor"], lines)


def order(fit: Fit) -> str:
    lines = [[f"{apart:g}", f"{right:.0%}".replace("%", " %")] for apart, right in fit.order]
    return markdown(["difference of the estimates, up to the next", "same order when measured"], lines)


TABLES: Mapping[str, Callable[[], str]] = {
    "models": models,
    "expansion kinds": lambda: kinds(expansion.fit()),
    "expansion corners": lambda: corners("expansion"),
    "expansion intervals": lambda: steps(expansion.fit()),
    "expansion order": lambda: order(expansion.fit()),
    "expansion factors": lambda: factors(expansion.fit(), expansion.fit_to_400()),
    "expansion products": lambda: products(expansion.fit()),
    "expansion to 400 °C": lambda: kinds(expansion.fit_to_400()),
    "fusibility kinds": lambda: kinds(softening.fit()),
    "fusibility corners": lambda: corners("softening"),
    "fusibility intervals": lambda: steps(softening.fit()),
    "fusibility order": lambda: order(softening.fit()),
    "fusibility factors": lambda: factors(softening.fit()),
    "fusibility products": lambda: products(softening.fit()),
}

_MARKED = re.compile(r"(<!-- table: (?P<name>[^>]+?) -->\n).*?(<!-- end of table -->)", re.DOTALL)


def written(page: str) -> str:
    """The page with every marked table as it is now."""
    return _MARKED.sub(lambda match: f"{match[1]}\n{TABLES[match['name']]()}\n\n{match[3]}", page)


def named(page: str) -> list[str]:
    return [match["name"] for match in _MARKED.finditer(page)]


def main(arguments: Sequence[str]) -> int:
    page = PAGE.read_text("utf-8")
    if written(page) == page:
        return 0
    if "--check" in arguments:
        print(f"{PAGE} is stale: python -m tests.fit.tables")
        return 1
    PAGE.write_text(written(page), "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
