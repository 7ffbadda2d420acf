"""Windows line breaks that git made: one finding a repository, which names the cause, in the place of one a page."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from glost.cli.common import number_of
from glost.language.errors import CR_LF
from glost.linter.finding import SYNTAX, Finding

HINT = (
    "run  glost git-setup  once in this clone: it tells git to leave the lines of recipes as they are, and ends those "
    "that lie here in LF"
)


def told_once(findings: Sequence[Finding]) -> list[Finding]:
    """The findings, with one for all pages whose line breaks are git's doing; it stands on the first of them."""
    ours = [finding for finding in findings if finding.rule == SYNTAX and CR_LF in finding.message]
    if not ours:
        return list(findings)
    from glost.workspace.git.line_breaks import converted_by_git

    instead: dict[str, Finding | None] = {}
    by_file = {finding.file: finding for finding in ours}
    for made in converted_by_git([Path(finding.file) for finding in ours]):
        files = sorted(page.as_posix() for page in made.pages)
        if not files:
            continue
        instead |= dict.fromkeys(files)
        pages = number_of(len(files), "page")
        message = (
            f"git wrote {pages} here with lines that end in CR LF, since core.autocrlf or core.eol asks for it; "
            "in the repository they end in LF"
        )
        instead[files[0]] = by_file[files[0]]._replace(message=message, hint=HINT)
    out: list[Finding] = []
    for finding in findings:
        kept: Finding | None = finding
        if finding.rule == SYNTAX and CR_LF in finding.message:
            kept = instead.get(finding.file, finding)
        if kept is not None:
            out.append(kept)
    return out
