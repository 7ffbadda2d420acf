"""Whether a page may be written anew in its own place, as --fix and format do it: a page that is not this collection's
own, or that somebody protects, is left alone and named."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from glost.workspace.paths import whole


def hindrance(path: Path, root: Path | None) -> str:
    """Why a page of the collection in ``root`` is left as it is; "" where nothing stands in the way.

    A link may lead to a page within the collection, never out of it; nor out of the working folder, where the page was
    named by its way through that. Who runs as root may write anything: what counts is the mode that the page has.
    """
    real = os.path.realpath(path)
    written = whole(path)
    here = Path.cwd()
    for folder in (
        root,
        here if written.is_relative_to(here) else None,
        written.parent if root is None else None,
    ):
        if folder is not None and not _lies_in(real, folder):
            out_of = "the collection" if folder == root else "its folder"
            return f"it lies behind a link that leads out of {out_of}, to {real}"
    try:
        about = os.stat(real)  # noqa: PTH116 (the path may be one that pathlib takes apart)
    except OSError as error:
        return error.strerror or str(error)
    if not about.st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH):
        return "it is read-only"
    if about.st_nlink > 1:
        return "it has a second name (a hard link), which would keep the old text; give it a file of its own first"
    return ""


def _lies_in(real: str, folder: Path) -> bool:
    return real.startswith(os.path.join(os.path.realpath(folder), ""))  # noqa: PTH118
