"""Slips of the pen: how many letters two words differ by."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable


def plain_letters(word: str) -> str:
    """A word without accents."""
    if word.isascii():
        return word
    return "".join(sign for sign in unicodedata.normalize("NFKD", word) if not unicodedata.combining(sign))


def allowed(word: str) -> int:
    """How many slips a word of its length may hold and still be told: none in one of three letters."""
    return 0 if len(word) < 4 else 1 if len(word) < 8 else 2


def distance(one: str, other: str, most: int) -> int:
    """Letters left out, put in, changed or swapped with a neighbour between two words; ``most + 1`` for more.

    The restricted edit distance of Damerau and Levenshtein.
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for at, letter in enumerate(one, 1):
        before, last, row = row, before, [at]
        for there, against in enumerate(other, 1):
            cost = min(before[there] + 1, row[-1] + 1, before[there - 1] + (letter != against))
            if at > 1 and there > 1 and letter == other[there - 2] and one[at - 2] == against:
                cost = min(cost, last[there - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return row[-1]


def corrected(word: str, known: Iterable[str]) -> str | None:
    """The known word that ``word`` is a slip for: the one with the fewest, its first letters before others'. None
    where there is none, or where two are as likely and begin alike."""
    word = plain_letters(word)
    most = allowed(word)
    best: list[tuple[int, bool, str]] = []
    for one in known:
        if abs(len(one) - len(word)) > most or len(one) < 3:
            continue
        limit = min(most, allowed(one) or 1)
        slips = distance(word, one, limit)
        if slips <= limit:
            best.append((slips, one[:2] != word[:2], one))
    if not best:
        return None
    best.sort()
    return best[0][2] if len(best) == 1 or best[0][:2] != best[1][:2] else None
