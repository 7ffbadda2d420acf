"""A shallow clone holds its oldest commits without what came before: git says of every line that these wrote it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from glost.cli.lineage import Version
from glost.cli.streams import note
from glost.workspace.git.folders import top_of
from glost.workspace.git.last_commit import cut_off


def tell_where_it_is_cut(path: Path, versions: Sequence[Version]) -> None:
    """Prints which of the commits of a recipe only seem to be where it began, or changed last. Raises GitError."""
    shown = {one.commit.name: one.commit.short for one in versions if one.commit is not None}
    top = top_of(path.absolute().parent)
    if top is None or not shown:
        return
    for name in sorted(cut_off(top, shown)):
        note(
            f"glost: this clone is shallow and begins with {shown[name]}: what is told of that commit may be older, "
            "and somebody else's; run  git fetch --unshallow  for what came before\n"
        )
