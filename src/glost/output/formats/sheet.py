"""Batch sheets in plain text: to print, to carry to the bench, to tick off and to fill in by hand."""

from __future__ import annotations

import re
from collections.abc import Sequence

from glost.output.format import Format, Job
from glost.output.model.text import COLUMNS, as_text
from glost.output.sheet_content import pages


def write(jobs: Sequence[Job]) -> str:
    """One sheet a test and the hazard statements once a recipe, each page but the last followed by a form feed, so that
    a printer begins a new one."""
    return "\f\n".join(as_text(page) for job in jobs for page in pages(job, 1))


FORMAT = Format(
    name="sheet",
    ending=".txt",
    summary="batch sheets in plain text, one a test, to print and fill in at the bench",
    write=write,
    mark=re.compile(rf"^={{{COLUMNS}}}\n(?:.+\n)*?(?:  )?file {{6,}}", re.MULTILINE),
    together=True,
    between="\f\n",
    by_test=True,
)
