"""Characters that cannot be seen, against the Unicode standard."""

from __future__ import annotations

import sys
import unicodedata

import regex

from glost.language.parse import parse
from glost.language.source import Source
from glost.language.tables import hidden, unprintable

# Joiners, which several scripts need to be written at all, and selectors of the look of the character before them.
SEEN = regex.compile(r"[\u200c\u200d\p{Variation_Selector}]")


def test_what_is_invisible_by_the_standard_stands_nowhere_in_a_page() -> None:
    """Source: Unicode Character Database, property Default_Ignorable_Code_Point (DerivedCoreProperties), and the
    control characters (general category Cc), as the general-purpose package regex holds them."""
    ignorable = regex.compile(r"[\p{Default_Ignorable_Code_Point}\p{Cc}\p{Bidi_Control}\p{Zl}\p{Zp}]")
    characters = [chr(code) for code in range(sys.maxunicode + 1) if not 0xD800 <= code <= 0xDFFF]
    missed = [c for c in characters if ignorable.match(c) and not SEEN.match(c) and not hidden().match(c)]
    assert [f"U+{ord(c):04X}" for c in missed] == []


def test_no_letter_sign_or_figure_is_taken_for_an_invisible_one() -> None:
    """Source: general categories of the Unicode Character Database (letters, figures, punctuation, symbols), as Python
    holds them; what that database calls ignorable is left out, such as the fillers of Hangul."""
    ignorable = regex.compile(
        r"[\p{Default_Ignorable_Code_Point}\ufffc]"
    )  # U+FFFC: a thing that could not be pasted
    taken = [
        f"U+{code:04X}"
        for code in range(sys.maxunicode + 1)
        if unicodedata.category(chr(code))[0] in "LNPS"
        and unprintable().match(chr(code))
        and not ignorable.match(chr(code))
    ]
    assert taken == []


def test_an_invisible_character_in_a_title_is_found() -> None:
    for sign in ("\u061c", "\u115f", "\u17b4", "\u3164", "\U000e0041"):
        page = parse(Source("x.glost", f'glaze "A{sign}B"\nbase:\n    silica 100\n'))
        assert [diagnostic.span.start for diagnostic in page.diagnostics] == [8], f"U+{ord(sign):04X}"
