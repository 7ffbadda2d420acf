"""Slips of the pen: how many letters two words differ by."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection


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


def corrected(word: str, known: Collection[str]) -> list[str]:
    """The known words that ``word`` is likeliest a slip for: those with the fewest slips, and of these the ones that
    begin as it does, where there are such. Empty where nothing is near."""
    word = plain_letters(word)
    most = allowed(word)
    if not most:
        return [word] if word in known else []
    best: list[tuple[int, bool, str]] = []
    for one in known:
        if len(one) > 2 and abs(len(one) - len(word)) <= most:
            limit = min(most, allowed(one) or 1)
            slips = distance(word, one, limit)
            if slips <= limit:
                best.append((slips, one[:2] != word[:2], one))
    best.sort()
    return [one for *how, one in best if how == list(best[0][:2])]
