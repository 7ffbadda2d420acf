"""Whether a name is likely that of a material."""

from __future__ import annotations

import re
from typing import Final

from glost.importer.marks import Head, read_head
from glost.recipe.materials.catalogue import Catalogue

_WORD = re.compile(r"[^\W\d_]{3,}")
# fmt: off
_TELLS_NOTHING: Final = frozenset((
    "white", "red", "blue", "black", "grey", "gray", "green", "yellow", "brown", "fine", "soft", "hard",
    "coarse", "light", "heavy", "raw", "burnt", "dark", "high", "low", "the", "and", "for", "with",
    "old", "new", "water", "wood", "salt", "glass", "sand", "powder", "pure", "base", "clear",
    "crystal", "stone", "bone", "plaster",
))
# fmt: on
"""Words of names that stand as often in a title or in a sentence."""
_MOST_LOOKED_UP: Final = 100
"""Names whose nearest are looked for in one run: each is compared with every spelling that is known."""


class Names:
    """The names of a catalogue, and the words they are made of."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        spellings = (spelling for one in catalogue for spelling in (one.name, *one.aliases))
        self._words = {
            word.casefold() for spelling in spellings for word in _WORD.findall(spelling)
        } - _TELLS_NOTHING
        self._near: dict[str, list[str]] = {}

    def known(self, name: str) -> bool:
        return self.catalogue.find(name) is not None

    def likely(self, name: str) -> bool:
        """Whether it is known, or holds a word that names of materials hold."""
        return self.known(name) or any(word.casefold() in self._words for word in _WORD.findall(name))

    def is_head(self, text: str) -> bool:
        """Whether a head of a table is likely a material, whatever unit and mark stand about it."""
        return self.likely(self.read_head(text).name)

    def read_head(self, text: str) -> Head:
        return read_head(text, self.known)

    def near(self, name: str) -> list[str]:
        """Known names that may be meant; none where too many were asked for."""
        if name not in self._near:
            if len(self._near) >= _MOST_LOOKED_UP:
                return []
            self._near[name] = self.catalogue.nearest(name)
        return self._near[name]
