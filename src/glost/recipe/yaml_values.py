"""Typed values out of YAML nodes, each refusal with its place and how to write it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from glost.errors import Position, ValueRefusedError
from glost.language.nearest import nearest
from glost.language.source import Source
from glost.language.tables import lexicon
from glost.language.yaml_tree import ConfigError, Entry, Node, every, together

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Reader:
    """Reads the nodes of one file; everything it refuses is a ConfigError of that file. What is refused within ``part``
    is kept in ``refused``, and what stands behind it is read all the same; ``whole`` raises all of it together."""

    source: Source
    refused: list[ConfigError] = field(default_factory=list)

    @contextmanager
    def part(self) -> Iterator[None]:
        """One value or entry: what is wrong with it keeps nothing else from being read."""
        try:
            yield
        except ConfigError as error:
            self.refused.extend(every(error))

    def whole(self, read: Callable[[], T]) -> T:
        """What ``read`` gives, where nothing was refused. Raises ConfigError with all that was."""
        with self.part():
            value = read()
            if not self.refused:
                return value
        raise together(self.refused)

    def check(self) -> None:
        """Raises ConfigError with all that was refused so far, where what stands behind hangs on it."""
        if self.refused:
            raise together(self.refused)

    def refuse(self, at: Position, message: str, hint: str) -> ConfigError:
        return ConfigError(self.source, at, message, hint)

    def mapping(
        self, node: Node, what: str, known: Iterable[str] | None = None, else_hint: str = ""
    ) -> Mapping[str, Entry]:
        """What stands below each key. Keys that are not ``known`` are refused and left out; see has_all().
        ``else_hint``: where else that may belong which is written as a key."""
        if node.empty:
            return {}
        if not isinstance(node.value, dict):
            raise self.refuse(node.position, f"{what} is a mapping", "write  key: value  lines here")
        if known is None:
            return node.value
        names = tuple(known)
        taken: dict[str, Entry] = {}
        for word, entry in node.value.items():
            if word in names:
                taken[word] = entry
                continue
            near = nearest(word, names, 1)
            after_comma = self.behind_a_comma(word, entry)
            if after_comma and taken:
                taken.popitem()  # the value before it lacks its end, and is no mistake of its own
            meant = f"did you mean '{near[0]}'? " if near else after_comma
            self.refused.append(
                self.refuse(
                    entry.key,
                    f"'{word}' is not a key of {what}",
                    f"{meant}the keys are: {', '.join(names)}{else_hint}",
                )
            )
        return taken

    def has_all(
        self, node: Node, taken: Mapping[str, Entry], words: Iterable[tuple[str, str, str]], at: Position
    ) -> bool:
        """Whether the keys are there that must be: each word with what to say of it where it is not. Where another key
        was refused, that may be the one, so that no second mistake is made of it."""
        missing = [(message, hint) for word, message, hint in words if word not in taken]
        if not node.value:
            missing = missing[:1]  # what is empty lacks one thing: to be filled in
        if not isinstance(node.value, dict) or len(taken) == len(node.value):
            self.refused.extend(self.refuse(at, message, hint) for message, hint in missing)
        return not missing

    @staticmethod
    def behind_a_comma(word: str, entry: Entry) -> str:
        """What to say of a key that is the rest of a decimal comma, as in {readability: 0,01 g}."""
        return (
            "if a decimal comma stands before it, write a point; "
            if entry.node.empty and word[:1].isdigit()
            else ""
        )

    def items(
        self, node: Node, what: str, hint: str = "begin each line with  -  or write  [one, two]"
    ) -> list[Node]:
        if node.empty:
            return []
        if not isinstance(node.value, list):
            raise self.refuse(node.position, f"{what} is a list", hint)
        return node.value

    def text(self, node: Node, what: str) -> str:
        if not isinstance(node.value, str):
            raise self.refuse(node.position, f"{what} is a text", "write it on one line")
        text = " ".join(node.value.split())
        if not text:
            raise self.refuse(node.position, f"{what} is empty", "write a value, or take the key away")
        for character in text:
            if unicodedata.category(character) in ("Cc", "Cf", "Cs") and character not in _JOINERS:
                raise self.refuse(
                    node.position,
                    f"{what} holds an invisible character (U+{ord(character):04X})",
                    "take it out",
                )
        return text

    def texts(self, node: Node, what: str) -> tuple[str, ...]:
        return self.each(node, what, self.text)

    def each(self, node: Node, what: str, read: Callable[[Node, str], T]) -> tuple[T, ...]:
        """Every item of a list through ``read``, without those that are refused."""
        taken: list[T] = []
        for item in self.items(node, what):
            with self.part():
                taken.append(read(item, what))
        return tuple(taken)

    def one_of(self, node: Node, what: str, words: Iterable[str]) -> str:
        text = self.text(node, what)
        known = tuple(words)
        if text not in known:
            raise self.refuse(node.position, f"'{text}' is not a {what}", f"write one of: {', '.join(known)}")
        return text

    def yes_or_no(self, node: Node, what: str) -> bool:
        text = self.text(node, what).lower()
        if text in ("yes", "true"):
            return True
        if text in ("no", "false"):
            return False
        raise self.refuse(node.position, f"{what} is yes or no, not '{text}'", "write yes or no")

    def converted(self, node: Node, what: str, convert: Callable[[str], T]) -> T:
        """The text through ``convert``, whose ValueRefusedError says what is wrong and how to write it."""
        text = self.text(node, what)
        try:
            return convert(text)
        except ValueRefusedError as error:
            raise self.refuse(node.position, f"{what}: {error.message}", error.hint) from None


_JOINERS = "\u200c\u200d"
"""Invisible, but letters of several scripts need them."""


def percent(text: str) -> Decimal:
    """Per cent, as "2 %". Raises ValueRefusedError."""
    if not text.endswith("%"):
        raise ValueRefusedError(f"'{text}' is not a percentage", "write it with its sign, such as 2 %")
    return plain_number(text.removesuffix("%").rstrip())


def plain_number(text: str) -> Decimal:
    """A plain decimal number as recipes write it. Raises ValueRefusedError."""
    if re.fullmatch(lexicon().number, text) is None:
        raise ValueRefusedError(
            f"'{text}' is not a plain number", "write figures and a decimal point, such as 0.5"
        )
    return Decimal(text)
