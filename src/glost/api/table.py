"""The table of a collection."""

from __future__ import annotations

from collections.abc import Sequence

from glost.api.recipes import PathLike, parted
from glost.output.catalog.as_jsonl import as_jsonl
from glost.workspace.collection import Collections
from glost.workspace.paths import whole
from glost.workspace.runs.catalog import gather, see_all


def catalog(path: PathLike | Sequence[PathLike], beside: PathLike | Sequence[PathLike] = ()) -> str:
    """Every recipe and test in files, or below folders, as ``glost catalog --to jsonl`` prints it: JSON Lines, a row a
    line (schema/catalog.schema.json). ``beside`` as for ``lint``: the tables of parts, one behind the other, are that
    of the whole. Raises NotFoundError, ConfigError."""
    met = Collections()
    chosen, others = parted(path, beside, met)
    wanted = {whole(one) for one in chosen}
    seen = list(see_all(sorted([*chosen, *others], key=whole) if others else chosen, met, 1))
    files = {row.about.file for one in seen if whole(one.path) in wanted for row in one.rows}
    return as_jsonl(row for row in gather(seen, met).rows if row.about.file in files)
