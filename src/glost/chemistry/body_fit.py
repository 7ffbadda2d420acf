"""How a glaze would sit on a body: the difference of their expansions, with what is not known of it.

The one figure is an estimate of a glass, the other somebody's measurement of a body; neither knows the layer that grows
between them, how thick the glaze lies, or how the body was fired this time. So this says which way it leans, and how
surely, and never that a glaze fits.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from glost.chemistry import expansion
from glost.chemistry.additive import Basis, Estimate, Glass, Withheld
from glost.chemistry.estimate_span import Span
from glost.recipe.body import Body

Leaning = Literal["pulled", "pressed", "unsure"]

CAUTION: Final = (
    "Calculated, and no test: the layer between glaze and body, the thickness of the glaze, quartz and cristobalite in "
    "the body and the firing change it. Test fired pieces, with heat and cold and over weeks, before anybody relies "
    "on it."
)
SAID: Final[Mapping[Leaning, str]] = {
    "pulled": "the glaze shrinks more than the body and is pulled: it is likely to craze",
    "pressed": (
        "the glaze shrinks less than the body and is pressed: that keeps it from crazing, and too much of it makes it "
        "shiver"
    ),
    "unsure": "within its uncertainty the difference may lie on either side: it tells neither crazing nor shivering",
}
_LATER: Final = 350
"""A body measured up to this many °C and further is compared with the estimate up to 400 °C."""


@dataclass(frozen=True, slots=True)
class BodyFit:
    """``difference``: mean linear expansion of the body less that of the glaze, in 1e-7/K; nine of ten such lie between
    ``low`` and ``high``. ``glaze_range``: the temperatures that the figure of the glaze holds between, such as
    "20-400 °C". ``notes``: what stands in the way of taking it as it is."""

    body: Body
    glaze: Estimate
    glaze_range: str
    difference: float
    low: float
    high: float
    notes: tuple[str, ...]

    @property
    def leaning(self) -> Leaning:
        if self.high < 0:
            return "pulled"
        return "pressed" if self.low > 0 else "unsure"


def body_fit(
    oxides: Glass,
    body: Body,
    model: str = expansion.OWN,
    basis: Basis = "wt",
    moved_by: Callable[[expansion.Span], Span | None] = lambda _: None,
) -> BodyFit | Withheld:
    """How a glaze of these fired oxides would sit on a body. ``moved_by``: how far the estimate of a span of
    temperature moves with what the materials may be. Without a figure for the glaze there is none here either. Raises
    as ``expansion.estimate`` does."""
    degrees: expansion.Span = "20-400 °C" if body.high >= _LATER else "20-300 °C"
    glaze = expansion.estimate(oxides, model, basis, degrees)
    if isinstance(glaze, Withheld):
        return glaze
    own = float(body.plus_or_minus) if body.plus_or_minus is not None else 0.0
    difference = float(body.expansion) - glaze.value
    moved = moved_by(degrees) or Span(glaze.value, glaze.value)
    # Three uncertainties that know nothing of each other: of the model, of the body, of the materials. Those of the
    # glaze need not lie evenly around its figure.
    below = math.hypot(glaze.high - glaze.value, own, moved.high - glaze.value)
    above = math.hypot(glaze.value - glaze.low, own, glaze.value - moved.low)
    notes = []
    if body.plus_or_minus is None:
        notes.append(
            "nobody has said how far the body's figure may be off, so that only the glaze's uncertainty is in it"
        )
    of_glaze = degrees if model == expansion.OWN else expansion.published(model).span
    if not _same_span(body, of_glaze):
        notes.append(f"the body's figure is that of {body.range}, the glaze's that of about {of_glaze}")
    if glaze.outside:
        notes.append(
            f"the figure of the glaze lies outside what its model knows ({', '.join(glaze.outside)})"
        )
    return BodyFit(body, glaze, of_glaze, difference, difference - below, difference + above, tuple(notes))


def _same_span(body: Body, of_glaze: str) -> bool:
    """Whether both were measured between about the same temperatures: room temperature differs from house to house."""
    low, high = (int(part) for part in of_glaze.removesuffix(" °C").split("-"))
    return abs(body.low - low) <= 10 and abs(body.high - high) <= 20
