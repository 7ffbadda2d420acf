"""The table of a collection."""

from __future__ import annotations

from collections.abc import Sequence

from glost.api.recipes import PathLike, parted
from glost.output.catalog.as_jsonl import as_jsonl
from glost.workspace.collection import Collections
from glost.workspace.paths import whole
from glost.workspace.runs.catalog import Beside, see_all


def catalog(path: PathLike | Sequence[PathLike], beside: PathLike | Sequence[PathLike] = ()) -> str:
    """Every recipe and test in files, or below folders, as ``glost catalog --to jsonl`` prints it: JSON Lines, a row a
    line (schema/catalog.schema.json). ``beside`` as for ``lint``: the tables of parts, one behind the other, are that
    of the whole. Raises NotFoundError, ConfigError."""
    met = Collections()
    chosen, others = parted(path, beside, met)
    beside_them = Beside(sorted([*chosen, *others], key=whole) if others else chosen, met, workers=1)
    in_order = sorted(chosen, key=whole) if others else chosen
    return "".join(as_jsonl(beside_them.rows(see_all(in_order, met, 1))))
