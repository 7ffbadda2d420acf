"""Windows line breaks that git made: one finding a repository, which names the cause, in the place of one a page."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from glost.language.errors import CR_LF
from glost.linter.finding import SYNTAX, Finding

HINT: Final = (
    "run  glost git-setup  once in this clone: it tells git to leave the lines of recipes as they are, and ends those "
    "that lie here in LF"
)


def told_once(findings: Sequence[Finding]) -> list[Finding]:
    """The findings, with one for all pages whose line breaks are git's doing; it stands on the first of them."""
    ours = list(filter(_is_ours, findings))
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
        instead[files[0]] = _with_the_cause(by_file[files[0]], len(files))
    out: list[Finding] = []
    for finding in findings:
        kept: Finding | None = finding
        if _is_ours(finding):
            kept = instead.get(finding.file, finding)
        if kept is not None:
            out.append(kept)
    return out


def told_once_a_run(findings: Sequence[Finding]) -> list[Finding]:
    """The same for a command that tells page by page: the first page of a repository says it for all of its pages."""
    if not any(map(_is_ours, findings)):
        return list(findings)
    import click

    from glost.workspace.git.folders import top_of
    from glost.workspace.git.line_breaks import all_converted_by_git

    context = click.get_current_context(silent=True)
    run: _Run = _Run() if context is None else context.meta.setdefault(_MET, _Run())
    out = []
    for finding in findings:
        top = top_of(Path(finding.file).absolute().parent) if _is_ours(finding) else None
        if top is not None and top not in run.made:
            run.made[top] = all_converted_by_git(top)
        if top is None or os.path.realpath(finding.file) not in run.made[top]:
            out.append(finding)
        elif top not in run.told:
            run.told.add(top)
            out.append(_with_the_cause(finding, len(run.made[top])))
    return out


class _Run:
    """Of one run: the pages of each repository whose line breaks are git's doing, and where that was told."""

    def __init__(self) -> None:
        self.made: dict[Path, frozenset[str]] = {}
        self.told: set[Path] = set()


_MET: Final = "glost.line_breaks"
"""Where the run of a command keeps it."""


def _is_ours(finding: Finding) -> bool:
    return finding.rule == SYNTAX and CR_LF in finding.message


def _with_the_cause(finding: Finding, pages: int) -> Finding:
    said = "1 page here ends its lines" if pages == 1 else f"{pages} pages here end their lines"
    why = "since core.autocrlf or core.eol has git write them so; in the repository they end in LF"
    return finding._replace(message=f"{said} in CR LF, {why}", hint=HINT)
