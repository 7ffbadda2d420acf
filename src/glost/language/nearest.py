"""The nearest of a set of names to one that is not among them."""

from __future__ import annotations

from collections.abc import Iterable


def nearest(word: str, names: Iterable[str], most: int = 3) -> list[str]:
    """At most ``most`` names that ``word`` may be a misspelling of, the likeliest first; often none.

    difflib's ratio, imported here since only a finding needs it. The cut-off 0.7 lets two slips in a word
    of ten letters through and keeps apart what only shares an ending ('tin oxide', 'zinc oxide').
    """
    import difflib

    # difflib compares every pair in full; a name of a hundred characters is not a slip of the pen.
    if not word or len(word) > 100:
        return []
    return difflib.get_close_matches(word, list(names), most, 0.7)
