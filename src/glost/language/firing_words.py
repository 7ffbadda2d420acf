"""The words of the page of a firing: what its fields and the lines of a tile are called."""

from __future__ import annotations

from typing import Final

FIRING_FIELDS: Final = ("date", "kiln", "cone", "reached", "atmosphere", "body")
TILE_KEYS: Final = (
    "test",
    "batch",
    "body",
    "place",
    "surface",
    "colour",
    "flow",
    "faults",
    "photo",
    "remarks",
)
