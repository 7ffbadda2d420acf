"""Text to tree. The grammar says what a line may be; here each line that it accepted is taken apart."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Any

from glost.language import tree
from glost.language.no_recipe import is_recipe, no_recipe
from glost.language.source import Edit, Fault, Source, Span, apply
from glost.language.tables import tables

# These only take apart what the grammar has already accepted, so they may be looser than it is. Each runs
# in time that grows with the line and no faster, like the grammar's own expressions.
_COMMENT = r"(?: +(?P<comment>#.*))? *$"
_TITLE = re.compile(r'(?P<word>[a-z]+) +(?P<name>"[^"]*")' + _COMMENT)
_NAMED = re.compile(r'(?P<word>[a-z]+) +(?P<name>"[^"]*"):' + _COMMENT)
_HEAD = re.compile(r"(?P<word>[^:]+):" + _COMMENT)
_ONE_AMOUNT = r"[0-9.]+(?: *(?:%|kg|g|oz|lb))?"
_ITEM = re.compile(
    rf' +(?P<name>"[^"]*"|[^" ]+(?: +[^" ]+)*?) +(?P<amounts>{_ONE_AMOUNT}(?:, +{_ONE_AMOUNT})*)'
    r" *(?P<note>\([^()]*\))?" + _COMMENT
)
_AMOUNT = re.compile(r"([0-9.]+) *([%a-z]*)")
_NAME = re.compile(r'"[^"]*"|[^", :]+(?: +[^", :]+)*')
_COMMENT_IN_TEXT = re.compile(r" #(?= |$)")


def parse(source: Source) -> tree.Page:
    """Read a page. Never raises for anything a text may hold: what cannot be read is among the faults."""
    text = source.text
    start = 1 if text.startswith("\ufeff") else 0
    ended = text if text.endswith("\n") else text + "\n"
    faults: list[Fault] = []
    if start or "\r\n" in text:
        from glost.language import accidents

        faults += accidents.of_the_whole(source)
    if text[start:].strip(" \r\n") == "":
        from glost.language import accidents

        return tree.Page(source, (), (), tuple(faults) or (accidents.empty(),))
    lead, blocks = _read(ended, start)
    recipe = is_recipe(source, lead, blocks)
    if not recipe and any(_unread(lead, blocks)) and not _merges(source):
        return tree.Page(source, lead, blocks, (no_recipe(source, lead, blocks),), recipe)
    faults += _faults_of(source, lead, blocks)
    faults.sort(key=lambda fault: fault.span)
    return tree.Page(source, lead, blocks, tuple(faults), recipe)


def _merges(source: Source) -> list[Fault]:
    from glost.language import accidents

    return list(accidents.unfinished_merges(source)) if "<<<<<<<" in source.text else []


def _read(text: str, at: int) -> tuple[tuple[tree.Line, ...], tuple[tree.Block, ...]]:
    """The lead lines and the blocks of a text that ends in a line break, from ``at`` on."""
    match = _matchers()
    heads = tables().heads
    opening = tuple(heads)
    lead: list[tree.Line] = []
    blocks: list[tree.Block] = []
    role, head, lines, kinds = "", None, lead, tables().lead
    end = len(text)
    while at < end:
        # A column-one line is tried as a head first, an indented one as a line of the block; the last kind of
        # every list takes any line, so one of them always fits.
        indented = text[at] in " \n#\r"
        for kind in kinds if indented else (*opening, *kinds):
            found = match[kind](text, at)
            if found is not None:
                break
        else:
            raise AssertionError(f"no kind of line takes what stands at {at}")
        stop = found.end()
        written = text[at : stop - 1].removesuffix("\r")
        node = _READERS[kind](written, at, Span(at, at + len(written)))
        if kind in heads:
            if head is not None:
                blocks.append(tree.Block(role, head, tuple(lines)))
            role, kinds = heads[kind]
            head, lines = node, []
        else:
            lines.append(node)
        at = stop
    if head is not None:
        blocks.append(tree.Block(role, head, tuple(lines)))
    return tuple(lead), tuple(blocks)


def _faults_of(source: Source, lead: tuple[tree.Line, ...], blocks: tuple[tree.Block, ...]) -> list[Fault]:
    unread = list(_unread(lead, blocks))
    if not unread:
        return []
    from glost.language import accidents

    merges = _merges(source)
    faults = [
        accidents.of_a_line(source, span, role, accepts)
        for span, role in unread
        if not any(merge.span.start <= span.start < merge.span.end for merge in merges)
    ]
    if not merges:
        faults += _faults_below(source, blocks, faults)
    return merges + faults


def _faults_below(source: Source, blocks: tuple[tree.Block, ...], heads: list[Fault]) -> Iterator[Fault]:
    """The faults of lines below a head that cannot be read, where it is certain which head is meant."""
    from glost.language import accidents

    certain = {fault.span.start: fault for fault in heads if fault.edits}
    for block in blocks:
        if not isinstance(block.head, tree.Unread):
            continue
        start, end = block.head.span
        edits = next((fault.edits for at, fault in certain.items() if start <= at <= end), ())
        if not edits:
            continue
        here = [Edit(Span(e.span.start - start, e.span.end - start), e.text) for e in edits]
        becomes = apply(source.text[start:end], here).partition("\n")[0]
        role, _ = tables().heads.get(accepts(becomes, "page") or "", ("", ()))
        for line in block.lines if role else ():
            written = source.text[line.span.start : line.span.end]
            if isinstance(line, tree.Prose) and accepts(written, role) is None:
                yield accidents.of_a_line(source, line.span, role, accepts)


def _unread(lead: tuple[tree.Line, ...], blocks: tuple[tree.Block, ...]) -> Iterator[tuple[Span, str]]:
    """The lines that cannot be read, each with the role of the block it stands in; "page" for a head."""
    for line in lead:
        if isinstance(line, tree.Unread):
            yield line.span, "lead"
    for block in blocks:
        if isinstance(block.head, tree.Unread):
            yield block.head.span, "page"
        for line in block.lines:
            if isinstance(line, tree.Unread):
                yield line.span, block.role


class _Matchers(dict[str, Callable[[str, int], "re.Match[str] | None"]]):
    """The grammar's expressions, each compiled when it is first asked for."""

    def __missing__(self, kind: str) -> Callable[[str, int], re.Match[str] | None]:
        self[kind] = re.compile(tables().patterns[kind]).match
        return self[kind]


@functools.cache
def _matchers() -> _Matchers:
    return _Matchers()


_UNREAD = ("BAD_HEAD", "BAD_LINE")


def accepts(line: str, role: str) -> str | None:
    """The grammar's token for ``line`` in a block of that role, or None where it cannot stand there."""
    ended = line + "\n"
    below = next((lines for named, lines in tables().heads.values() if named == role), ())
    heads: Iterable[str] = () if ended[0] in " \n#\r" else tables().heads  # as in _read()
    for kind in (*heads, *below, "COMMENT"):
        if kind in _UNREAD:
            continue
        found = _matchers()[kind](ended, 0)
        if found is not None and found.end() == len(ended):
            return kind
    return None


def _text(match: re.Match[str], group: str, start: int) -> tree.Text | None:
    found = match[group]
    if found is None:
        return None
    found = found.rstrip(" ")
    return tree.Text(found, Span(start + match.start(group), start + match.start(group) + len(found)))


def _name(written: str, start: int) -> tree.Name:
    span = Span(start, start + len(written))
    if written.startswith('"'):
        return tree.Name(written[1:-1].strip(" "), True, span)
    return tree.Name(written, False, span)


def _match(pattern: re.Pattern[str], written: str) -> re.Match[str]:
    match = pattern.match(written)
    if match is None:  # the grammar accepted the line, so this is a mistake of ours, not of the text's
        raise AssertionError(f"the grammar accepts a line that its reader does not: {written!r}")
    return match


def _word(match: re.Match[str], group: str, start: int) -> tree.Text:
    return tree.Text(match[group], Span(start + match.start(group), start + match.end(group)))


def _read_title(written: str, start: int, span: Span) -> tree.Title:
    match = _match(_TITLE, written)
    name = _name(match["name"], start + match.start("name"))
    return tree.Title(_word(match, "word", start), name, _text(match, "comment", start), span)


def _read_named(written: str, start: int, span: Span) -> tree.Head:
    match = _match(_NAMED, written)
    name = _name(match["name"], start + match.start("name"))
    return tree.Head(_word(match, "word", start), name, _text(match, "comment", start), span)


def _read_head(written: str, start: int, span: Span) -> tree.Head:
    match = _match(_HEAD, written)
    return tree.Head(_word(match, "word", start), None, _text(match, "comment", start), span)


def _key_and_value(written: str, start: int, colon: int) -> tuple[tree.Text, tree.Text | None]:
    """The value behind the colon at that index, and the comment behind the value."""
    found = _COMMENT_IN_TEXT.search(written, colon + 1)
    end = found.start() if found else len(written)
    value = written[colon + 1 : end].strip(" ")
    at = start + written.index(value, colon + 1)
    comment = None if found is None else _rest(written, start, end + 1)
    return tree.Text(value, Span(at, at + len(value))), comment


def _rest(written: str, start: int, at: int) -> tree.Text:
    text = written[at:].rstrip(" ")
    return tree.Text(text, Span(start + at, start + at + len(text)))


def _read_field(written: str, start: int, span: Span) -> tree.Field:
    colon = written.index(":")
    value, comment = _key_and_value(written, start, colon)
    return tree.Field(tree.Text(written[:colon], Span(start, start + colon)), value, comment, span)


def _read_item(written: str, start: int, span: Span) -> tree.Item:
    match = _match(_ITEM, written)
    at = start + match.start("amounts")
    amounts = tuple(
        tree.Amount(Decimal(found[1]), found[2], Span(at + found.start(), at + found.end()))
        for found in _AMOUNT.finditer(match["amounts"])
    )
    name = _name(match["name"], start + match.start("name"))
    note = _text(match, "note", start)
    if note is not None:
        note = tree.Text(note.text[1:-1].strip(" "), note.span)
    return tree.Item(name, amounts, note, _text(match, "comment", start), span)


def _read_instruction(written: str, start: int, span: Span) -> tree.Instruction:
    names = []
    at = 0
    while written[at] != ":":
        found = _NAME.search(written, at)
        if found is None:
            break
        names.append(_name(found[0], start + found.start()))
        at = found.end()
        while written[at] in " ,":
            at += 1
    value, comment = _key_and_value(written, start, at)
    return tree.Instruction(tuple(names), value, comment, span)


def _read_prose(written: str, start: int, span: Span) -> tree.Prose:
    bare = written.strip(" ")
    return tree.Prose(bare, written.index(bare), span)


def _read_remark(written: str, start: int, span: Span) -> tree.Remark:
    return tree.Remark(written.strip(" "), written.startswith(" "), span)


def _read_blank(written: str, start: int, span: Span) -> tree.Blank:
    return tree.Blank(span)


def _read_unread(written: str, start: int, span: Span) -> tree.Unread:
    return tree.Unread(span)


_READERS: dict[str, Callable[[str, int, Span], Any]] = {
    "TITLE": _read_title,
    "FIELD": _read_field,
    "HEAD": _read_head,
    "BASE": _read_head,
    "ADDITIONS": _read_head,
    "HANDLING": _read_head,
    "NOTES": _read_head,
    "VARIATION": _read_named,
    "SERIES": _read_named,
    "ITEM": _read_item,
    "STEPS": _read_item,
    "INSTRUCTION": _read_instruction,
    "TEXT": _read_prose,
    "BLANK": _read_blank,
    "COMMENT": _read_remark,
    "BAD_HEAD": _read_unread,
    "BAD_LINE": _read_unread,
}
