"""How git takes a word apart that names a revision, or a path in one (gitrevisions(7))."""

from __future__ import annotations

from typing import Final

_BY_MESSAGE: Final = ":/"


def is_by_message(word: str) -> bool:
    """Whether a word is ``:/TEXT``, the youngest commit whose message has that text: all of the word is the text."""
    return word.startswith(_BY_MESSAGE) and len(word) > len(_BY_MESSAGE)


def revision_and_path(word: str) -> tuple[str, str] | None:
    """REV and PATH of ``REV:PATH``, with "" for the index; None for a word that names no path. A colon in braces, as in
    ``main^{/fix: the lime}``, belongs to the revision."""
    if is_by_message(word):
        return None
    depth = 0
    for at, sign in enumerate(word):
        if sign == "{":
            depth += 1
        elif sign == "}" and depth:
            depth -= 1
        elif sign == ":" and not depth:
            return word[:at], word[at + 1 :]
    return None


def peeled(word: str) -> str:
    """The word with which git is asked for the commit that a word means, through tags."""
    return word if is_by_message(word) else f"{word}^{{commit}}"
