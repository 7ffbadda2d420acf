"""git as it is started: which program, with which settings fixed, in which environment.

A repository may come from somebody else, and a person's own settings are meant for their own eyes. Neither may make git
run a program for us, nor change what it answers. docs/git.md says what is asked and what holds.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from glost.workspace.git.folders import in_folder

NOWHERE = "/dev/null"
"""git knows this name on every system."""

_RUNS_NOTHING = {
    "safe.bareRepository": "explicit",  # a folder of a repository may look like a repository itself
    "core.fsmonitor": "false",
    "core.hooksPath": NOWHERE,
    "core.sshCommand": "false",
    "core.askPass": "",
    "core.gitProxy": "",
    "core.editor": "false",
    "core.pager": "cat",
    "core.alternateRefsCommand": "",
    "sequence.editor": "false",
    "interactive.diffFilter": "",
    "credential.helper": "",
    "diff.external": "",
    "diff.trustExitCode": "false",
    "gpg.program": "false",
    "log.showSignature": "false",
    "uploadpack.packObjectsHook": "",
    "protocol.allow": "never",
    "gc.auto": "0",
    "maintenance.auto": "false",
    "submodule.recurse": "false",
    "fetch.recurseSubmodules": "false",
}

_ANSWERS_ALIKE = {
    "core.abbrev": "auto",
    "core.bigFileThreshold": "512m",
    "core.disambiguate": "none",
    "core.ignoreStat": "false",
    "core.quotePath": "false",
    "core.safecrlf": "false",
    "core.splitIndex": "false",
    "core.untrackedCache": "false",
    "core.useReplaceRefs": "true",
    "core.warnAmbiguousRefs": "true",
    "core.whitespace": "",
    "color.ui": "false",
    "color.diff": "false",
    "color.status": "false",
    "column.ui": "never",
    "column.status": "never",
    "diff.algorithm": "default",
    "diff.autoRefreshIndex": "true",
    "diff.colorMoved": "no",
    "diff.context": "3",
    "diff.dirstat": "",
    "diff.ignoreSubmodules": "all",
    "diff.indentHeuristic": "true",
    "diff.interHunkContext": "0",
    "diff.mnemonicPrefix": "false",
    "diff.noprefix": "false",
    "diff.orderFile": NOWHERE,
    "diff.relative": "false",
    "diff.renameLimit": "1000",
    "diff.renames": "true",
    "diff.statGraphWidth": "80",
    "diff.submodule": "short",
    "diff.suppressBlankEmpty": "false",
    "diff.wordRegex": "",
    "diff.wsErrorHighlight": "none",
    "format.notes": "false",
    "format.pretty": "medium",
    "i18n.commitEncoding": "UTF-8",
    "i18n.logOutputEncoding": "UTF-8",
    "log.abbrevCommit": "false",
    "log.date": "default",
    "log.decorate": "no",
    "log.diffMerges": "separate",
    "log.follow": "false",
    "log.mailmap": "false",
    "log.showRoot": "true",
    "merge.conflictStyle": "merge",
    "status.aheadBehind": "false",
    "status.branch": "false",
    "status.relativePaths": "false",
    "status.renameLimit": "1000",
    "status.renames": "false",
    "status.short": "false",
    "status.showStash": "false",
    "status.showUntrackedFiles": "all",
    "status.submoduleSummary": "false",
}

_KEPT_OF_THE_ENVIRONMENT = frozenset({"GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM", "GIT_CONFIG_NOSYSTEM"})
"""Of the names that begin with GIT_: where a person's own settings are. With those of _WRITTEN_OUT they can say whose
repositories are to be trusted; what is fixed here holds against them all."""
_WRITTEN_OUT = ("GIT_CONFIG_COUNT", "GIT_CONFIG_KEY_", "GIT_CONFIG_VALUE_", "GIT_CONFIG_PARAMETERS")

_SAID_TO_GIT = {
    "LC_ALL": "C",  # its messages are read, and shown to people who do not share one language
    "LANGUAGE": "",
    "GIT_ALLOW_PROTOCOL": "none",  # no setting of any protocol's own holds against this
    "GIT_ASKPASS": "",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_OPTIONAL_LOCKS": "0",  # a commit may be holding the lock that git would like for what it learns
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_TRACE2": "0",
    "GIT_TRACE2_EVENT": "0",
    "GIT_TRACE2_PERF": "0",
    "SSH_ASKPASS": "",
}


def words(more: Mapping[str, str]) -> list[str]:
    """The words of the command line that stand before what git is asked; ``more``: further settings."""
    fixed = {**_RUNS_NOTHING, **_ANSWERS_ALIKE, **more}
    settings = [word for name, value in fixed.items() for word in _setting(name, value)]
    return ["--no-pager", "--no-optional-locks", "--literal-pathspecs", *settings]


EMPTY = "GLOST_EMPTY"
"""An environment variable that is there and holds nothing."""


def _setting(name: str, value: str) -> list[str]:
    # git takes what stands behind the first = for the value, and a name may hold one.
    return [f"--config-env={name}={EMPTY}"] if "=" in name and not value else ["-c", f"{name}={value}"]


def environment(more: Mapping[str, str]) -> dict[str, str]:
    """What git is started with: nothing that sends it to another repository, or says how it is to show things."""
    return {**dict(_of_the_persons()), **_SAID_TO_GIT, EMPTY: "", **more}


def _of_the_persons() -> Iterator[tuple[str, str]]:
    for name, value in os.environ.items():
        if not name.startswith("GIT_") or name in _KEPT_OF_THE_ENVIRONMENT or name.startswith(_WRITTEN_OUT):
            yield name, value


_OF_ONE_TERMINAL = ("GIT_", "PYTHON", "VIRTUAL_ENV", "CONDA_", "GLOST_")


def for_trial(folder: Path) -> dict[str, str]:
    """What git is started with where it is tried whether it can call a program: nothing that only one terminal has."""
    left = {name: value for name, value in os.environ.items() if not name.startswith(_OF_ONE_TERMINAL)}
    if sys.platform != "win32":  # there git needs the path for itself
        left.pop("PATH", None)
    who = {f"GIT_{role}_{what}": "trial" for role in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")}
    alone = {
        "GIT_CONFIG_GLOBAL": NOWHERE,
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_CEILING_DIRECTORIES": str(folder.parent),
    }
    return {**left, **who, **alone, "GIT_TERMINAL_PROMPT": "0", "LC_ALL": "C.UTF-8"}


def program(top: Path | None) -> str | None:
    """The git of this system by its whole path. One that lies in the working folder or in the repository that is asked
    came with somebody's files, and is not taken. None where there is no other."""
    here = os.path.realpath(os.curdir)
    named = "git.exe" if sys.platform == "win32" else "git"
    for entry in os.environ.get("PATH", os.defpath).split(os.pathsep):
        found = os.path.join(entry, named)  # noqa: PTH118
        if not os.path.isabs(entry) or not (os.path.isfile(found) and os.access(found, os.X_OK)):  # noqa: PTH117, PTH113
            continue
        leads = {os.path.realpath(entry), os.path.dirname(os.path.realpath(found))}  # noqa: PTH120
        if here not in leads and not any(_comes_with(top, place) for place in leads):
            return found
    return None


def _comes_with(top: Path | None, place: str) -> bool:
    # A repository that is the whole disk holds the system's own programs too.
    return top is not None and top.parent != top and in_folder(place, top)
