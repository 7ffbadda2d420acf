"""The tables that a page is read with, derived from the grammar.

The grammar is regular above its lines: a page is lead lines and blocks, a block is a head and lines. So all
that reading needs of it is, for each place, which lines may stand there and in which order they are tried.
lark analyses the grammar and gives that; the result is kept beside it in grammar/lines.json, so that a usual
start need neither import lark nor analyse anything. A grammar that was changed since is analysed anew, and
tests hold the tables and lark's own parser against each other.
"""

from __future__ import annotations

import functools
import json
from binascii import crc32
from typing import Any, NamedTuple

from glost.shipped import shipped

GRAMMAR = "glost.lark"
TABLES = "lines.json"


class Tables(NamedTuple):
    """``patterns``: the expression of each kind of line. ``lead``: the kinds that may stand before the first
    block, in the order they are tried; ``heads``: for each kind that opens a block, the block's role and the
    kinds that may stand below."""

    patterns: dict[str, str]
    lead: tuple[str, ...]
    heads: dict[str, tuple[str, tuple[str, ...]]]


@functools.cache
def tables() -> Tables:
    """The tables of the shipped grammar."""
    grammar = shipped("grammar", GRAMMAR).read_bytes()
    kept = shipped("grammar", TABLES)
    if kept.exists():
        data = json.loads(kept.read_text("utf-8"))
        if data["grammar"] == crc32(grammar):
            heads = {name: (role, tuple(lines)) for name, (role, lines) in data["heads"].items()}
            return Tables(data["patterns"], tuple(data["lead"]), heads)
    return derive(grammar.decode("utf-8"))


def as_json(grammar: bytes) -> str:
    """The text of grammar/lines.json."""
    derived = derive(grammar.decode("utf-8"))
    data = {"grammar": crc32(grammar), **derived._asdict()}
    return json.dumps(data, indent=1) + "\n"


def derive(grammar: str) -> Tables:
    """The tables of a grammar, by lark's analysis of it."""
    from lark import Lark

    lark: Any = Lark(grammar, parser="lalr", start="page", lexer="contextual")
    order = [terminal.name for terminal in lark.parser.lexer.root_lexer.terminals]
    patterns = {terminal.name: _expression(terminal.pattern) for terminal in lark.terminals}
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

    heads: dict[str, tuple[str, tuple[str, ...]]] = {}
    for rule in expansions["block"]:
        head, *rest = (symbol.name for symbol in rule.expansion)
        lines = {terminal for symbol in rest for terminal in below(symbol, frozenset())}
        if head not in heads or lines:
            heads[head] = (rule.alias, tuple(name for name in order if name in lines))
    page = next(rule for rule in expansions["page"] if len(rule.expansion) == 2)
    lead = below(page.expansion[0].name, frozenset())
    return Tables(
        patterns,
        tuple(name for name in order if name in lead),
        {name: heads[name] for name in order if name in heads},
    )


def _expression(pattern: Any) -> str:
    """A terminal's expression with its flags in a fixed order; lark keeps them in a set."""
    text: str = pattern.value if type(pattern).__name__ == "PatternRE" else pattern.to_regexp()
    for flag in sorted(pattern.flags):
        text = f"(?{flag}:{text})"
    return text
