"""Text to tree. The grammar says what a line may be, and which parts it has; here each becomes a node of the tree."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from typing import Any

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.no_recipe import is_recipe, no_recipe
from glost.language.source import Edit, Source, Span, apply
from glost.language.tables import lexicon, tables

_BAD = ("BAD_HEAD", "BAD_PART", "BAD_LINE")


def parse(source: Source) -> tree.Page:
    """Read a page. Never raises for anything a text may hold: what cannot be read is among the diagnostics."""
    text = source.text
    start = 1 if text.startswith("\ufeff") else 0
    ended = text if text.endswith("\n") else text + "\n"
    diagnostics: list[Diagnostic] = []
    if start or "\r\n" in text:
        from glost.language import errors

        diagnostics += errors.of_the_whole(source)
    if text[start:].strip(" \r\n") == "":
        from glost.language import errors

        return tree.Page(source, (), (), tuple(diagnostics) or (errors.empty(),))
    if is_firing(source):
        lead, blocks = _read(ended, start, tables().parts)
        diagnostics += _faults_of(source, lead, blocks, accepts_in_firing)
        diagnostics.sort(key=lambda diagnostic: diagnostic.span)
        return tree.Page(source, lead, blocks, tuple(diagnostics), is_firing=True)
    lead, blocks = _read(ended, start, tables().heads)
    recipe = is_recipe(source, lead, blocks)
    if not recipe and any(_unread(lead, blocks)) and not _merges(source):
        return tree.Page(source, lead, blocks, (no_recipe(source, lead, blocks),), recipe)
    diagnostics += _faults_of(source, lead, blocks)
    diagnostics.sort(key=lambda diagnostic: diagnostic.span)
    return tree.Page(source, lead, blocks, tuple(diagnostics), recipe)


FIRING = ".firing"
"""What the file of a firing ends in."""


def is_firing(source: Source) -> bool:
    """Whether a text is the page of a firing: by its first line that says something, or by what its file ends in."""
    return source.path.endswith(FIRING) or (
        "firing" in source.text[:_HEAD_OF_PAGE].lower() and _first_is_firing().match(source.text) is not None
    )


_HEAD_OF_PAGE = 4000
"""Characters in which the first line of a firing stands, whatever comments are above it."""


@functools.cache
def _first_is_firing() -> re.Pattern[str]:
    return re.compile(r'\ufeff?(?:[ ]*(?:#[^\n]*)?\r?\n)*+ *(?i:firing) *["\u201c-\u201f]')


def _merges(source: Source) -> list[Diagnostic]:
    from glost.language import errors

    return list(errors.unfinished_merges(source)) if "<<<<<<<" in source.text else []


def _read(
    text: str, at: int, heads: dict[str, tuple[str, tuple[str, ...]]]
) -> tuple[tuple[tree.Line, ...], tuple[tree.Block, ...]]:
    """The lead lines and the blocks of a text that ends in a line break, from ``at`` on."""
    match = _matchers(_hidden_sign().search(text) is not None)
    begins = _begins()
    opening = _opening(tuple(heads))
    lead: list[tree.Line] = []
    blocks: list[tree.Block] = []
    role, head, lines, kinds = "", None, lead, tables().lead
    end = len(text)
    while at < end:
        # A column-one line is tried as a head first, an indented one as a line of the block; the last kind of
        # every list takes any line, so one of them always fits.
        sign = text[at]
        for kind in kinds if sign in " \n#\r" else (*opening[sign], *kinds):
            if kind in begins and not text.startswith(begins[kind], at):
                continue
            found = match[kind](text, at)
            if found is not None:
                break
        else:
            raise AssertionError(f"no kind of line takes what stands at {at}")
        stop = found.end()
        node = _READERS[kind](found, Span(at, stop - (2 if text[stop - 2 : stop - 1] == "\r" else 1)))
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


def _faults_of(
    source: Source,
    lead: tuple[tree.Line, ...],
    blocks: tuple[tree.Block, ...],
    accepts: Callable[[str, str], str | None] | None = None,
) -> list[Diagnostic]:
    accepts = accepts or accepts_in_recipe
    unread = list(_unread(lead, blocks))
    if not unread:
        return []
    from glost.language import errors

    merges = _merges(source)
    diagnostics = [
        errors.of_a_line(source, span, role, accepts, accepts is accepts_in_firing)
        for span, role in unread
        if not any(merge.span.start <= span.start < merge.span.end for merge in merges)
    ]
    if not merges and accepts is accepts_in_recipe:
        diagnostics += _faults_below(source, blocks, diagnostics)
    return merges + diagnostics


def _faults_below(
    source: Source, blocks: tuple[tree.Block, ...], heads: list[Diagnostic]
) -> Iterator[Diagnostic]:
    """The diagnostics of lines below a head that cannot be read, where it is certain which head is meant."""
    from glost.language import errors

    certain = {diagnostic.span.start: diagnostic for diagnostic in heads if diagnostic.edits}
    for block in blocks:
        if not isinstance(block.head, tree.Unread):
            continue
        start, end = block.head.span
        edits = next((diagnostic.edits for at, diagnostic in certain.items() if start <= at <= end), ())
        if not edits:
            continue
        here = [Edit(Span(e.span.start - start, e.span.end - start), e.text) for e in edits]
        becomes = apply(source.text[start:end], here).partition("\n")[0]
        role, _ = tables().heads.get(accepts(becomes, "page") or "", ("", ()))
        for line in block.lines if role else ():
            written = source.text[line.span.start : line.span.end]
            if isinstance(line, tree.Prose) and accepts(written, role) is None:
                yield errors.of_a_line(source, line.span, role, accepts)


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
    """The grammar's expressions, each compiled when it is first asked for. ``hidden``: the text may hold characters
    that stand nowhere; without, they need not be looked for, and an expression compiles in a third of the time."""

    def __init__(self, hidden: bool) -> None:
        super().__init__()
        self._passed_over = "" if hidden else _beyond_control(lexicon().hidden)

    def __missing__(self, kind: str) -> Callable[[str, int], re.Match[str] | None]:
        pattern = tables().patterns[kind]
        self[kind] = re.compile(
            pattern.replace(self._passed_over, "") if self._passed_over else pattern
        ).match
        return self[kind]


def _beyond_control(hidden: str) -> str:
    """The inside of the class of hidden characters without the control characters of ASCII, a line break among them,
    which it begins with."""
    _, _, beyond = hidden.partition("\x1f")
    return beyond


@functools.cache
def _hidden_sign() -> re.Pattern[str]:
    return re.compile(f"[{_beyond_control(lexicon().hidden)}]")


@functools.cache
def _matchers(hidden: bool = True) -> _Matchers:
    return _Matchers(hidden)


class _Opening(dict[str, tuple[str, ...]]):
    """The kinds of heads that may begin with a sign; most are never tried, nor compiled."""

    def __init__(self, heads: tuple[str, ...]) -> None:
        super().__init__()
        self._heads = heads

    def __missing__(self, sign: str) -> tuple[str, ...]:
        begins = _begins()
        self[sign] = tuple(
            kind
            for kind in self._heads
            if kind not in begins or any(word.startswith(sign) for word in begins[kind])
        )
        return self[sign]


@functools.cache
def _opening(heads: tuple[str, ...]) -> _Opening:
    return _Opening(heads)


@functools.cache
def _begins() -> dict[str, tuple[str, ...]]:
    """How a line begins, for the kinds of which that is one of a few words: "base:", "variation ", a kind of recipe."""
    words = re.compile(r"([a-z]+(?: (?=\+)|:))|\(\?P<kind>\(\?:([a-z|]+)\)\)")
    found = {kind: words.match(pattern) for kind, pattern in tables().patterns.items()}
    return {kind: tuple((one[1] or one[2]).split("|")) for kind, one in found.items() if one}


def accepts(line: str, role: str) -> str | None:
    """The grammar's token for ``line`` in a block of that role, or None where it cannot stand there."""
    return _accepts(line, role, tables().heads)


accepts_in_recipe = accepts


def accepts_in_firing(line: str, role: str) -> str | None:
    """The same on the page of a firing."""
    return _accepts(line, role, tables().parts)


def _accepts(line: str, role: str, opening: dict[str, tuple[str, tuple[str, ...]]]) -> str | None:
    ended = line + "\n"
    below = next((lines for named, lines in opening.values() if named == role), ())
    heads: Iterable[str] = () if ended[0] in " \n#\r" else opening  # as in _read()
    for kind in (*heads, *below, "COMMENT"):
        if kind in _BAD:
            continue
        found = _matchers()[kind](ended, 0)
        if found is not None and found.end() == len(ended):
            return kind
    return None


# ---- the node of a line, from the parts that the grammar names ----------------------------------------------


def _part(match: re.Match[str], group: str) -> tree.Text:
    start, end = match.span(group)
    return tree.Text(match[group], Span(start, end))


def _remark(match: re.Match[str]) -> tree.Text | None:
    text: str | None = match["remark"]
    if text is None:
        return None
    text = text.rstrip(" ")
    start = match.start("remark")
    return tree.Text(text, Span(start, start + len(text)))


def _named(match: re.Match[str], group: str) -> tree.Name:
    return _name(match[group], match.start(group))


def _name(written: str, start: int) -> tree.Name:
    span = Span(start, start + len(written))
    if written.startswith('"'):
        return tree.Name(written[1:-1].strip(" "), True, span)
    return tree.Name(written, False, span)


def _word(match: re.Match[str], span: Span, end: str) -> tree.Text:
    """What a line begins with, up to the sign ``end``."""
    written = match[0]
    word = written[: written.index(end)]
    return tree.Text(word, Span(span.start, span.start + len(word)))


def _read_title(match: re.Match[str], span: Span) -> tree.Title:
    return tree.Title(_part(match, "kind"), _named(match, "quoted"), _remark(match), span)


def _read_firing(match: re.Match[str], span: Span) -> tree.Title:
    word = tree.Text("firing", Span(span.start, span.start + len("firing")))
    return tree.Title(word, _named(match, "quoted"), _remark(match), span)


def _read_entry(match: re.Match[str], span: Span) -> tree.Own:
    return tree.Own(_part(match, "entry_key"), _part(match, "value"), _remark(match), span)


def _read_ramp(match: re.Match[str], span: Span) -> tree.Ramp:
    first = match["start"] is not None
    return tree.Ramp(
        first,
        _heat(match, "start" if first else "heat"),
        None if match["rate"] is None else _heat(match, "rate"),
        _time(match, "time"),
        _time(match, "hold"),
        _remark(match),
        span,
    )


def _heat(match: re.Match[str], group: str) -> tree.Heat:
    written = match[group].removesuffix("/h")
    return tree.Heat(Decimal(written[:-1].rstrip(" ")), written[-1], Span(*match.span(group)))


def _time(match: re.Match[str], group: str) -> tree.Time | None:
    written = match[group]
    if written is None:
        return None
    hours, h, minutes = written.rpartition("h")
    minutes = minutes.removesuffix("min").strip(" ")
    return tree.Time(int(hours) if h else None, int(minutes) if minutes else None, Span(*match.span(group)))


def _read_named(match: re.Match[str], span: Span) -> tree.Head:
    return tree.Head(_word_before_name(match, span), _named(match, "quoted"), _remark(match), span)


def _read_blend(match: re.Match[str], span: Span) -> tree.Head:
    found = _number_pattern().search(match.string, *match.span("step"))
    assert found is not None, "a step is written with a number"
    at = Span(found.start(), match.end("step"))
    step = _amount(found[0], "%", at)
    return tree.Head(_word_before_name(match, span), _named(match, "quoted"), _remark(match), span, step)


def _word_before_name(match: re.Match[str], span: Span) -> tree.Text:
    """The word or the two words of a head; of several blanks between them one is kept."""
    written = match.string[span.start : match.start("quoted")].rstrip(" ")
    return tree.Text(" ".join(written.split()), Span(span.start, span.start + len(written)))


def _read_head(match: re.Match[str], span: Span) -> tree.Head:
    return tree.Head(_word(match, span, ":"), None, _remark(match), span)


def _read_field(match: re.Match[str], span: Span) -> tree.Field:
    return tree.Field(_part(match, "key"), _part(match, "value"), _remark(match), span)


def _read_own(match: re.Match[str], span: Span) -> tree.Own:
    return tree.Own(_part(match, "own_key"), _part(match, "value"), _remark(match), span)


@functools.cache
def _number_pattern() -> re.Pattern[str]:
    return re.compile(lexicon().number)


@functools.cache
def _amount_pattern() -> re.Pattern[str]:
    words = lexicon()
    return re.compile(rf"({words.number}) *({words.unit})?")


def _amount(number: str, unit: str | None, span: Span) -> tree.Amount:
    return tree.Amount(Decimal(number), unit or "", span)


def _read_item(match: re.Match[str], span: Span) -> tree.Item:
    one = _amount_pattern().match(match.string, *match.span("amount"))
    assert one is not None, "the grammar says how an amount is written"
    return _item(match, (_amount(one[1], one[2], Span(*one.span())),), span)


def _read_steps(match: re.Match[str], span: Span) -> tree.Item:
    found = _amount_pattern().finditer(match.string, *match.span("amounts"))
    return _item(match, tuple(_amount(one[1], one[2], Span(*one.span())) for one in found), span)


def _item(match: re.Match[str], amounts: tuple[tree.Amount, ...], span: Span) -> tree.Item:
    note = None
    if match["note"] is not None:
        note = tree.Text(match["note"][1:-1].strip(" "), Span(*match.span("note")))
    name = _used(match) if match["used"] is not None else _named(match, "name")
    return tree.Item(name, amounts, note, _remark(match), span)


def _used(match: re.Match[str]) -> tree.Name:
    """The name of a recipe that stands as an ingredient."""
    kind, _, quoted = match["used"].partition(" ")
    return tree.Name(quoted.strip(" ")[1:-1].strip(" "), True, Span(*match.span("used")), kind)


@functools.cache
def _name_pattern() -> re.Pattern[str]:
    # What it is looked for in was accepted by the grammar, so it holds no hidden character.
    return re.compile(lexicon().name.replace(_beyond_control(lexicon().hidden), ""))


def _read_instruction(match: re.Match[str], span: Span) -> tree.Instruction:
    found = _name_pattern().finditer(match.string, *match.span("names"))
    names = tuple(_name(one[0], one.start()) for one in found)
    return tree.Instruction(names, _part(match, "value"), _remark(match), span)


def _read_prose(match: re.Match[str], span: Span) -> tree.Prose:
    return tree.Prose(match["prose"].rstrip(" "), match.start("prose") - span.start, span)


def _read_remark(match: re.Match[str], span: Span) -> tree.Remark:
    return tree.Remark(match["remark"].rstrip(" "), match.start("remark") > span.start, span)


def _read_blank(_: re.Match[str], span: Span) -> tree.Blank:
    return tree.Blank(span)


def _read_unread(_: re.Match[str], span: Span) -> tree.Unread:
    return tree.Unread(span)


_READERS: dict[str, Callable[[re.Match[str], Span], Any]] = {
    "TITLE": _read_title,
    "FIRING": _read_firing,
    "SCHEDULE": _read_head,
    "TILE": _read_named,
    "RAMP": _read_ramp,
    "ENTRY": _read_entry,
    "BAD_PART": _read_unread,
    "FIELD": _read_field,
    "HEAD": _read_head,
    "BASE": _read_head,
    "ADDITIONS": _read_head,
    "HANDLING": _read_head,
    "NOTES": _read_head,
    "VARIATION": _read_named,
    "SERIES": _read_named,
    "BLEND": _read_blend,
    "BASE_VARIATION": _read_named,
    "BASE_SERIES": _read_named,
    "BASE_BLEND": _read_blend,
    "ITEM": _read_item,
    "STEPS": _read_steps,
    "INSTRUCTION": _read_instruction,
    "OWN": _read_own,
    "TEXT": _read_prose,
    "BLANK": _read_blank,
    "COMMENT": _read_remark,
    "BAD_HEAD": _read_unread,
    "BAD_LINE": _read_unread,
}
