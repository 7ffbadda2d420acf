"""Batch sheets as a page of GitHub-flavoured Markdown: what the plain sheet says, one section a test."""

from __future__ import annotations

import re
from collections.abc import Sequence

from glost.output.format import Format, Job
from glost.output.model.markdown import as_markdown
from glost.output.sheet_content import pages


def write(jobs: Sequence[Job]) -> str:
    """All tests of all recipes, each under a heading of its own, and the hazard statements once a recipe."""
    return "\n".join(as_markdown(page) for job in jobs for page in pages(job, 2))


FORMAT = Format(
    name="markdown",
    ending=".md",
    summary="batch sheets as a page of GitHub-flavoured Markdown, one section a test",
    write=write,
    mark=re.compile(r"^## .+\n(?:.*\n){1,40}?- \*\*kind\*\*: .+\n(?:- .+\n)*?- \*\*file\*\*: ", re.MULTILINE),
    together=True,
    between="\n",
    by_test=True,
)
