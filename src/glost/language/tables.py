"""The tables that a page is read with, derived from the grammar.

The grammar is regular above its lines: a page is lead lines and blocks, a block is a head and lines. So all
that reading needs of it is, for each place, which lines may stand there and in which order they are tried.
Each line is one expression, whose named groups are the parts that the grammar names: one match accepts a line and
takes it apart. lark analyses the grammar and gives all that; the result is kept beside it in grammar/lines.json, so
that a usual start need neither import lark nor analyse anything. A grammar that was changed since is analysed anew,
and tests hold the tables and lark's own parser against each other.
"""

from __future__ import annotations

import functools
import json
import re
from binascii import crc32
from collections.abc import Iterable
from typing import Any, NamedTuple

from glost.language.shipped import shipped

GRAMMAR = "glost.lark"
TABLES = "lines.json"
PARTS = (
    "KIND",
    "KEY",
    "OWN_KEY",
    "ENTRY_KEY",
    "START",
    "HEAT",
    "RATE",
    "TIME",
    "HOLD",
    "VALUE",
    "NAME",
    "USED",
    "NAMES",
    "QUOTED",
    "STEP",
    "AMOUNT",
    "AMOUNTS",
    "NOTE",
    "PROSE",
    "REMARK",
)
"""The terminals that become named groups, in small letters, where they are part of a line and not of one another."""


ODD_BLANKS = r"\xa0\u1680\u2000-\u200a\u202f\u205f\u3000"
"""Blanks of other widths, as the inside of a character class: seen as a blank, and none."""


class Lexicon(NamedTuple):
    """The words and characters of the language, each as the grammar writes it, once.

    ``kinds``: of recipes. ``heads``: the words that open a block. ``units``: of an amount, "%" among them. ``number``:
    the expression of a number. ``name``: of a name, bare or quoted. ``hidden``: the characters that stand nowhere in a
    page, as the inside of a character class."""

    kinds: tuple[str, ...]
    heads: tuple[str, ...]
    units: tuple[str, ...]
    number: str
    name: str
    hidden: str

    @property
    def masses(self) -> tuple[str, ...]:
        """The units that are masses: all but the sign of a percentage."""
        return tuple(unit for unit in self.units if unit != "%")

    @property
    def unit(self) -> str:
        """The expression of a unit; the longest that fits is found first."""
        return _any_of(self.units)

    @property
    def mass(self) -> str:
        """The expression of a unit of mass."""
        return _any_of(self.masses)

    @property
    def figures(self) -> int:
        """The most figures of a number before its point."""
        return max(self._lengths)

    @property
    def decimals(self) -> int:
        """The most figures of a number behind its point."""
        return min(self._lengths)

    @property
    def _lengths(self) -> list[int]:
        return [int(most) for most in re.findall(r"\{1,([0-9]+)\}", self.number)]


class Tables(NamedTuple):
    """``patterns``: the expression of each kind of line. ``lead``: the kinds that may stand before the first
    block, in the order they are tried; ``heads``: for each kind that opens a block, the block's role and the
    kinds that may stand below. ``parts``: the same of the page of a firing."""

    patterns: dict[str, str]
    lead: tuple[str, ...]
    heads: dict[str, tuple[str, tuple[str, ...]]]
    lexicon: Lexicon
    parts: dict[str, tuple[str, tuple[str, ...]]]


def _any_of(words: tuple[str, ...]) -> str:
    return f"(?:{'|'.join(map(re.escape, sorted(words, key=len, reverse=True)))})"


def in_words(words: tuple[str, ...]) -> str:
    """Several words to choose from, as a sentence lists them: g, kg, oz or lb."""
    *others, last = words
    return f"{', '.join(others)} or {last}" if others else last


@functools.cache
def tables() -> Tables:
    """The tables of the shipped grammar."""
    grammar = shipped("grammar", GRAMMAR).read_bytes()
    kept = shipped("grammar", TABLES)
    if kept.exists():
        data = json.loads(kept.read_text("utf-8"))
        if data["grammar"] == crc32(grammar):
            heads, parts = (
                {name: (role, tuple(lines)) for name, (role, lines) in data[kept].items()}
                for kept in ("heads", "parts")
            )
            words: dict[str, Any] = {
                name: tuple(word) if isinstance(word, list) else word
                for name, word in data["lexicon"].items()
            }
            return Tables(data["patterns"], tuple(data["lead"]), heads, Lexicon(**words), parts)
    return derive(grammar.decode("utf-8"))


def lexicon() -> Lexicon:
    """The words and characters of the shipped grammar."""
    return tables().lexicon


@functools.cache
def field_words() -> tuple[str, ...]:
    """The words that stand before the colon of a field. The grammar takes any; what they are is the recipe's to say,
    and comes here with the tables, for messages about a line that is no field yet."""
    kept = shipped("grammar", TABLES)
    return tuple(json.loads(kept.read_text("utf-8"))["fields"]) if kept.exists() else ()


@functools.cache
def hidden() -> re.Pattern[str]:
    """A character that stands nowhere in a page, since it cannot be seen, steers what shows it, or is no plain blank;
    or half of a surrogate pair, which no file can hold."""
    return re.compile(f"[{lexicon().hidden}\ud800-\udfff]")


@functools.cache
def unprintable() -> re.Pattern[str]:
    """Such a character that is no blank either: what has to be written out where it is shown or sent."""
    return re.compile(rf"{hidden().pattern}(?<![{ODD_BLANKS}])")


@functools.cache
def steering() -> re.Pattern[str]:
    """The same but for the line break, which JSON is laid out with, and which may stand in a cell of a table."""
    # A look back from the few that are found, where a look ahead from each character takes twice the time.
    return re.compile(rf"{hidden().pattern}(?<![\n{ODD_BLANKS}])")


_UNSEEN = "\u034f\u115f\u1160\u17b4\u17b5\u3164\uffa0\ufffc"
"""The hidden characters that Python takes for printable."""


def steers_nothing(text: str) -> bool:
    """Whether a text holds none of these, told in a tenth of the time of a search: an account of a test has 4,000
    characters. False for one with line breaks or odd blanks, too."""
    return text.isprintable() and (text.isascii() or not any(map(text.__contains__, _UNSEEN)))


def code_point(found: re.Match[str]) -> str:
    """A hidden character written out where people read it, such as <U+202E>."""
    return f"<U+{ord(found[0]):04X}>"


def json_escape(found: re.Match[str]) -> str:
    """The same as JSON escapes it: beyond U+FFFF that takes two halves, since ``\\u`` has four digits."""
    halves = found[0].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{halves[at]:02x}{halves[at + 1]:02x}" for at in range(0, len(halves), 2))


def as_json(grammar: bytes, fields: Iterable[str]) -> str:
    """The text of grammar/lines.json. ``fields``: the words that stand before the colon of one."""
    derived = derive(grammar.decode("utf-8"))
    lexicon = derived.lexicon._asdict()
    data = {"grammar": crc32(grammar), **derived._asdict(), "lexicon": lexicon, "fields": list(fields)}
    return json.dumps(data, indent=1) + "\n"


def derive(grammar: str) -> Tables:
    """The tables of a grammar, by lark's analysis of it."""
    from lark import Lark

    lark: Any = Lark(grammar, parser="lalr", start=["page", "firing"], lexer="contextual")
    order = [terminal.name for terminal in lark.parser.lexer.root_lexer.terminals]
    terminals = _Terminals(grammar)
    lines = {terminal.name for terminal in lark.terminals}
    patterns = {name: terminals.expression(name) for name in order if name in lines}
    expansions: dict[str, list[Any]] = {}
    for rule in lark.rules:
        expansions.setdefault(str(rule.origin.name), []).append(rule)

    def below(name: str, met: frozenset[str]) -> set[str]:
        """All terminals that a list rule can come down to."""
        if name in patterns:
            return {name}
        if name in met:
            return set()
        inner = (symbol.name for rule in expansions[name] for symbol in rule.expansion)
        return {terminal for symbol in inner for terminal in below(symbol, met | {name})}

    def opening(kind: str) -> dict[str, tuple[str, tuple[str, ...]]]:
        """What opens a block of such a page, with the block's role and the lines below, in the order of trying."""
        found: dict[str, tuple[str, tuple[str, ...]]] = {}
        for rule in expansions[kind]:
            head, *rest = (symbol.name for symbol in rule.expansion)
            lines_below = {terminal for symbol in rest for terminal in below(symbol, frozenset())}
            if head not in found or lines_below:
                found[head] = (rule.alias, tuple(name for name in order if name in lines_below))
        return {name: found[name] for name in order if name in found}

    heads = opening("block")
    page = next(rule for rule in expansions["page"] if len(rule.expansion) == 2)
    lead = below(page.expansion[0].name, frozenset())
    return Tables(
        patterns,
        tuple(name for name in order if name in lead),
        heads,
        Lexicon(
            kinds=terminals.words("KIND"),
            heads=tuple(role for name, (role, _) in heads.items() if patterns[name].startswith(role)),
            units=terminals.words("UNIT"),
            number=terminals.expression("NUMBER", grouped=False),
            name=terminals.expression("NAME", grouped=False),
            hidden=terminals.expression("CHARS", grouped=False).removeprefix("[^").removesuffix("]*+"),
        ),
        opening("part"),
    )


class _Terminals:
    """The terminals of a grammar as lark has taken them apart, before it joins each to one expression. lark puts the
    very tree of a terminal where another names it, so identity tells which part is which."""

    def __init__(self, grammar: str) -> None:
        from lark.load_grammar import load_grammar

        load: Any = load_grammar
        loaded = load(grammar, GRAMMAR, [], False)[0]
        self._trees = {name: tree for name, (tree, _) in loaded.term_defs}
        self._names = {id(tree): name for name, tree in self._trees.items()}

    def expression(self, name: str, grouped: bool = True) -> str:
        """The expression of a terminal; ``grouped``: with the parts of PARTS as named groups."""
        return self._written(self._trees[name], grouped, name)

    def words(self, name: str) -> tuple[str, ...]:
        """The texts between which a terminal chooses."""
        return tuple(str(json.loads(token)) for token in self._trees[name].scan_values(lambda _: True))

    def _written(self, node: Any, grouped: bool, top: str = "") -> str:
        name = self._names.get(id(node), "")
        if grouped and name in PARTS and name != top:
            return f"(?P<{name.lower()}>{self._written(node, False)})"
        children = node.children[:1] if node.data == "expr" else node.children
        if node.data == "literal":
            return _literal(node.children[0])
        inner = [self._written(child, grouped, top) for child in children]
        if node.data == "expansions":
            return inner[0] if len(inner) == 1 else f"(?:{'|'.join(inner)})"
        if node.data == "expr":
            operator = str(node.children[1])
            return f"{inner[0] if _is_one(inner[0]) else f'(?:{inner[0]})'}{operator}"
        return "".join(inner)


_CLASS = re.compile(r"\[\^?\]?(?:[^\]\\]|\\.)*\]")


def _is_one(expression: str) -> bool:
    """Whether an operator behind the expression holds for all of it: it is one character class."""
    return _CLASS.fullmatch(expression) is not None


def _literal(token: Any) -> str:
    """A literal's expression, with its flags in a fixed order; lark keeps them in a set."""
    from lark.load_grammar import _literal_to_pattern

    read: Any = _literal_to_pattern
    pattern = read(token)
    text: str = pattern.value if type(pattern).__name__ == "PatternRE" else pattern.to_regexp()
    for flag in sorted(pattern.flags):
        text = f"(?{flag}:{text})"
    return text
