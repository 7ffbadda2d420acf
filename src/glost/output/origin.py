"""Where a row of data is from: the file, the collection and the revision of its recipe. Every form for programs says so
in the same words, so that rows can be joined with each other, with the table of a collection and with git."""

from __future__ import annotations

from typing import Any, Final

from glost.output.escape import visible
from glost.output.format import Job, Revision

ORIGIN_COLUMNS: Final = ("file", "collection", "revision", "revision day", "changed since")
_NOT_KNOWN: Final = "not known"


def origin_cells(job: Job) -> tuple[str, ...]:
    """The cells of ORIGIN_COLUMNS."""
    return (visible(job.file), job.collection, *revision_cells(job.revision))


def revision_cells(revision: Revision | None) -> tuple[str, str, str]:
    """The name of a revision, its day, and whether the file has changed since; empty where no commit holds it."""
    if revision is None:
        return "", "", ""
    if not revision.known:
        return _NOT_KNOWN, "", ""
    return revision.text, revision.day, "yes" if revision.changed else "no"


def revision_data(revision: Revision | None) -> dict[str, Any] | str | None:
    """A revision in JSON: null where no commit holds the file, a word where git does not say."""
    if revision is None:
        return None
    if not revision.known:
        return _NOT_KNOWN
    return {"name": revision.text, "day": revision.day, "changed": revision.changed}
