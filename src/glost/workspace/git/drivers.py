"""The commands that git is given for recipes: glost, and what is done where glost cannot be called.

git runs them through a shell, years later, from any terminal or window: the environment that glost was installed in may
be gone, moved or not the one that is active. None of that may break a diff, or make a merge drop what one side did.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import Final

from glost import __version__

MERGED: Final = "merged"
CONFLICT: Final = "conflict"
"""What ``glost merge`` says on standard output when OURS holds the result, without and with marks. An exit status alone
would not do: a shell, and a Python that cannot find a module, end with those of a conflict too."""

_MARK: Final = ": glost git-setup"
"""How each command begins, so that --undo knows it again. It does nothing. Behind it stands the version of glost, since
git keeps what a command has shown of a page for as long as the command is the same."""
CACHE: Final = "refs/notes/textconv/glost"
"""Where git keeps what a page was shown as."""

NAME: Final = "recipes by what they mean"

_TEXTCONV: Final = """\
shown() { %s textconv -- "$1" 2>/dev/null || { \
git config --local --unset diff.glost.cachetextconv >/dev/null 2>&1; \
cat -- "$1" 2>/dev/null || git merge-file -p "$1" "$1" "$1"; }; }; shown"""
# What is shown in the place of glost must not be kept: git asks no more once it has been. git-setup begins anew.
# git merge-file prints a file that is merged with itself: git is there even where the path holds nothing else.

_MERGE: Final = f"""\
style=$(git config merge.conflictStyle 2>/dev/null || echo merge); \
if %s --version >/dev/null 2>&1; then \
case "$(%s merge --marker-size %%L --labels %%X %%S %%Y --conflict-style "$style" -- %%O %%A %%B %%P)" in \
{MERGED}) exit 0;; {CONFLICT}) exit 1;; esac; \
echo %%P': not merged by glost; merged line by line, as git does' >&2; else \
echo %%P': glost cannot be called, so it is merged line by line, as git does; glost git-setup notes where it is now' \
>&2; fi; \
case %%X in %%%%X) set -- ours base theirs;; *) set -- %%X %%S %%Y;; esac; \
git merge-file --marker-size=%%L -L "$1" -L "$2" -L "$3" %%A %%O %%B; s=$?; test $s -lt 128 && exit $s; \
{{ echo '<<<<<<< ours' && cat %%A && echo && echo ======= && cat %%B && echo && echo '>>>>>>> theirs'; }} >%%A.both \
&& mv -f %%A.both %%A && exit 1; exit 255"""
# Called for its version first: where it is gone, a shell would say so with this whole text in front.
# git 2.44 and newer put what they call the sides in the place of %X, %S and %Y, in quotes; an older one leaves these
# signs as they are. The style of conflicts may be set for one call alone, which only git itself knows.


def shell_words(command: Sequence[str]) -> str:
    """A command as a shell reads it."""
    return " ".join(map(shlex.quote, command))


def textconv(command: Sequence[str]) -> str:
    """What git is to run to show a page; the page's file stands behind it."""
    return f"{_MARK} {__version__}; {_TEXTCONV % shell_words(command)}"


def merge_driver(command: Sequence[str]) -> str:
    """What git is to run to merge a page; git puts files and names in the place of the words with %."""
    glost = shell_words(command).replace("%", "%%")
    return f"{_MARK}; {_MERGE % (glost, glost)}"


_BEFORE: Final = {
    "diff.glost.textconv": "glost textconv",
    "merge.glost.driver": "glost merge --marker-size %L -- %O %A %B %P",
}
"""What stood there before the commands knew where glost lies."""


def settings(command: Sequence[str]) -> dict[str, str]:
    """The settings of a repository that let git call glost."""
    return {
        "glost.command": shell_words(command),  # for a hook
        "diff.glost.textconv": textconv(command),
        "diff.glost.cachetextconv": "true",
        "merge.glost.name": NAME,
        "merge.glost.driver": merge_driver(command),
    }


def is_ours(name: str, value: str) -> bool:
    """Whether a setting was made by git-setup, for whatever place of glost."""
    if name in _BEFORE:
        return value.startswith(_MARK) or value == _BEFORE[name]
    return name in ("glost.command", "diff.glost.cachetextconv") or value == NAME
