"""YAML as a studio writes it: every value is the text that stands there.

Nothing is turned into a truth value, an octal number or a time of day, so `no`, `06` and `1:30` stay what
was written. Duplicate keys, aliases, tags and deep nesting are refused; every value knows its place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, NamedTuple, NoReturn, TypeAlias

from glost.errors import FIRST, GlostError, Position
from glost.language.source import LARGEST_FILE, Source

_DEEPEST = 12

_FORBIDDEN = "[^\t\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
"""What YAML forbids, and what it takes for the end of a line although editors do not show it as one."""


class ConfigError(GlostError):
    """A settings or materials file that cannot be taken: where, what is wrong, how to put it right. ``others``: what
    else is wrong there, and in the other file of the collection, so that all is told in one run."""

    position: Position
    others: tuple[ConfigError, ...] = ()

    def __init__(self, source: Source, position: Position, message: str, hint: str) -> None:
        super().__init__(message, hint, position)
        self.source = source


def every(error: ConfigError) -> tuple[ConfigError, ...]:
    """All that is wrong, one by one."""
    return (error, *error.others)


def _place(key: tuple[Position, str]) -> Position:
    return key[0]


def together(errors: Iterable[ConfigError]) -> ConfigError:
    """Several errors as one that holds them all: file by file as they came, in the order of each, no place told of
    twice in the same words. There is at least one."""
    files: dict[str, dict[tuple[Position, str], ConfigError]] = {}
    for error in (one for held in errors for one in every(held)):
        files.setdefault(error.source.path, {}).setdefault((error.position, error.message), error)
    first, *others = (found[key] for found in files.values() for key in sorted(found, key=_place))
    whole = ConfigError(first.source, first.position, first.message, first.hint)
    whole.others = tuple(
        ConfigError(one.source, one.position, one.message, one.hint) if one.others else one for one in others
    )
    return whole


class Node(NamedTuple):
    """A value and where it stands. A scalar is its text; `plain` says that it was written without quotes."""

    value: Value
    position: Position
    plain: bool = True

    @property
    def empty(self) -> bool:
        """Whether nothing at all is written here."""
        return self.value == "" and self.plain


class Entry(NamedTuple):
    """What stands under a key, and where the key stands."""

    node: Node
    key: Position


Value: TypeAlias = "str | list[Node] | dict[str, Entry]"


def as_plain(node: Node) -> Any:
    """A node as lists and texts that JSON can hold."""
    value: Any = node.value
    if isinstance(node.value, list):
        value = [[as_plain(item) for item in node.value]]
    elif isinstance(node.value, dict):
        value = {key: [as_plain(entry.node), *entry.key] for key, entry in node.value.items()}
    return [value, *node.position, node.plain]


def from_plain(data: Any) -> Node:
    """The node that as_plain() took apart. Raises ValueError, TypeError or KeyError for anything else."""
    held, line, column, plain = data
    value: Value = held
    if isinstance(held, list):
        value = [from_plain(item) for item in held[0]]
    elif isinstance(held, dict):
        value = {
            key: Entry(from_plain(node), Position(at_line, at_column))
            for key, (node, at_line, at_column) in held.items()
        }
    return Node(value, Position(line, column), plain)


def read(source: Source) -> Node:
    """The one document in ``source``. Raises ConfigError."""
    root, refused = read_as_far(source)
    if root is None or refused:
        raise together(refused)
    return root


def read_as_far(source: Source) -> tuple[Node | None, list[ConfigError]]:
    """The one document in ``source``, and what is refused in it: None where it cannot be told what stands there, else
    all but what was refused."""
    import yaml

    if len(source.text) > LARGEST_FILE:
        return None, [
            ConfigError(
                source,
                FIRST,
                "this file is too large for settings",
                f"keep it under {LARGEST_FILE:,} characters",
            )
        ]
    mark = len(source.text) - len(source.text.removeprefix("\ufeff"))
    # The mark that some editors put first is left to them. Lines end at LF, where else YAML may end them.
    text = source.text[mark:].replace("\r\n", " \n")
    odd = [
        ConfigError(
            source,
            _at(source, mark + found.start()),
            f"an invisible character (U+{ord(found[0]):04X}) stands here",
            "take it out",
        )
        for found in re.finditer(_FORBIDDEN, text)
    ]
    if odd:
        return None, list({error.position.line: error for error in reversed(odd)}.values())
    merges = _unfinished_merges(source)
    if merges:
        return None, merges
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    builder = _Builder(source, mark)
    try:
        return builder.build(yaml.parse(text, Loader=loader)), builder.refused
    except yaml.YAMLError as error:
        return None, [*builder.refused, _not_yaml(source, mark, error)]
    except ConfigError as error:
        return None, [*builder.refused, error]


def _unfinished_merges(source: Source) -> list[ConfigError]:
    """One error for each pair of sides that a merge has left, whatever the lines between the marks would be read as."""
    if "<<<<<<<" not in source.text:
        return []
    from glost.language.errors.conflict import unfinished_merges

    return [
        ConfigError(source, _at(source, merge.span.start), merge.message, merge.hint)
        for merge in unfinished_merges(source)
    ]


def _at(source: Source, offset: int) -> Position:
    return source.position(min(offset, len(source.text)))


_QUOTE_IT = 'put the whole text in double quotes, such as  "P100 respirator: wet-clean"'
_ACCIDENTS: tuple[tuple[str, bool, str, str], ...] = (
    (
        "mapping values are not allowed",
        False,
        "a colon stands here where no key can be",
        f"{_QUOTE_IT}; or check the indentation and the colon of the line above",
    ),
    ("tab character", False, "a tab stands here", "indent with blanks, never with tabs"),
    ("could not find expected ':'", True, "this line has no colon behind its key", "write  key: value"),
    ("unexpected end of stream", True, "the quotation mark that opens here is not closed", "close it"),
    (
        "expected ',' or ']'",
        True,
        "the square bracket that opens here is not closed, or a comma is missing behind it",
        "write such as  [one, two]",
    ),
    (
        "expected ',' or '}'",
        True,
        "the curly bracket that opens here is not closed, or a comma is missing behind it",
        "write such as  {name: fine, capacity: 300 g}",
    ),
    (
        "expected key",
        False,
        "this line fits neither the indentation above it nor the quotation marks",
        "begin keys that belong together in one column; a text with an apostrophe stands in double quotes",
    ),
    (
        "expected <block end>",
        False,
        "this line fits neither the indentation above it nor the quotation marks",
        "begin keys that belong together in one column; a text with an apostrophe stands in double quotes",
    ),
    (
        "expected '-' indicator",
        False,
        "a line of a list begins with -, and this one does not",
        "begin it with -, or indent it below the line it belongs to",
    ),
    ("nesting depth", False, "the nesting is too deep here", f"keep it under {_DEEPEST} levels"),
    (
        "sequence entries are not allowed",
        False,
        "a list begins here behind a key",
        "begin it on a line of its own, or write  [one, two]",
    ),
    (
        "unknown escape character",
        False,
        "a backslash stands in double quotes, where it has a meaning of its own",
        "write the text in single quotes",
    ),
    ("expected alphabetic or numeric", False, "anchors and aliases (& and *) are not read here", _QUOTE_IT),
)
"""What the YAML reader says, whether the place it means is where the thing began, and plain words for it."""


def _not_yaml(source: Source, shift: int, error: Exception) -> ConfigError:
    """The reader's error in plain words. The wording differs between its two builds; what is not known here
    is passed on as it comes."""
    problem = getattr(error, "problem", None) or str(error).splitlines()[0]
    mark = getattr(error, "problem_mark", None)
    began = getattr(error, "context_mark", None)
    for said, at_start, message, hint in _ACCIDENTS:
        if said in problem:
            place = began if at_start and began is not None else mark
            return ConfigError(source, _at(source, shift + place.index) if place else FIRST, message, hint)
    position = _at(source, shift + mark.index) if mark else FIRST
    sign = source.line(position.line)[position.column - 1 : position.column]
    if "cannot start any token" in problem and sign:
        if sign == "\t":
            return ConfigError(source, position, "a tab stands here", "indent with blanks, never with tabs")
        return ConfigError(source, position, f"{sign} cannot begin a value", _QUOTE_IT)
    return ConfigError(
        source,
        position,
        f"this is not YAML: {problem}",
        "check the indentation, the colons and the quotes around here; blanks, never tabs",
    )


class _Builder:
    """Builds nodes from YAML events with a stack of its own, so that nesting cannot exhaust Python's. ``refused``: what
    is wrong and keeps nothing behind it from being read."""

    def __init__(self, source: Source, shift: int) -> None:
        self.refused: list[ConfigError] = []
        self._source = source
        self._shift = shift
        self._stack: list[tuple[Node, Position | None, str | None]] = []
        self._root: Node | None = None
        self._key: tuple[str, Position] | None = None

    def build(self, events: object) -> Node:
        import yaml

        for event in events:  # type: ignore[attr-defined]
            at = _at(self._source, self._shift + event.start_mark.index)
            if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
                self._note(
                    at,
                    "anchors and aliases (& and *) are not read here",
                    "write the value out where it is needed; a text that begins with & or * stands in quotes",
                )
            if getattr(event, "tag", None) is not None:
                self._note(
                    at,
                    "tags (!) are not read here",
                    "take the tag away; a text that begins with ! stands in quotes",
                )
            if isinstance(event, yaml.AliasEvent):
                raise self.refused.pop()  # what stands here is not known
            if isinstance(event, yaml.ScalarEvent):
                self._value(Node(event.value, at, not event.style))
            elif isinstance(event, yaml.MappingStartEvent):
                self._open(Node({}, at))
            elif isinstance(event, yaml.SequenceStartEvent):
                self._open(Node([], at))
            elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
                node, key_at, key = self._stack.pop()
                self._key = None if key is None or key_at is None else (key, key_at)
                self._value(node)
            elif isinstance(event, yaml.DocumentStartEvent) and self._root is not None:
                self._refuse(at, "a second document begins here", "keep one document in a file")
        return self._root or Node({}, FIRST)

    def _open(self, node: Node) -> None:
        if len(self._stack) >= _DEEPEST:
            self._refuse(node.position, "the nesting is too deep here", f"keep it under {_DEEPEST} levels")
        if self._in_mapping() and self._key is None:
            self._refuse(
                node.position, "a key is a plain word here, not a list or a mapping", "write  key: value"
            )
        key, at = self._key if self._key else (None, None)
        self._stack.append((node, at, key))
        self._key = None

    def _in_mapping(self) -> bool:
        return bool(self._stack) and isinstance(self._stack[-1][0].value, dict)

    def _value(self, node: Node) -> None:
        if not self._stack:
            self._root = node
            return
        holder = self._stack[-1][0].value
        if isinstance(holder, list):
            holder.append(node)
        elif isinstance(holder, dict):
            if self._key is None:
                text = node.value if isinstance(node.value, str) else ""
                if text in holder:
                    self._note(
                        node.position,
                        f"the key '{text}' stands here a second time (first on line {holder[text].key.line})",
                        "keep one of them",
                    )
                self._key = (text, node.position)
            else:
                key, at = self._key
                holder.setdefault(key, Entry(node, at))
                self._key = None

    def _note(self, at: Position, message: str, hint: str) -> None:
        self.refused.append(ConfigError(self._source, at, message, hint))

    def _refuse(self, at: Position, message: str, hint: str) -> NoReturn:
        raise ConfigError(self._source, at, message, hint)
