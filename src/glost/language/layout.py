"""Tree to text: the one layout of a page, and the proof that laying it out changed nothing else.

Only white space and the spelling of numbers change (.5 becomes 0.5). Nothing is reordered, no comment is lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from glost.errors import GlostError
from glost.language import tree
from glost.language.parse import parse
from glost.language.source import Source
from glost.language.width import padded, width

INDENT = "    "
_LEAST_NAME = 20
"""Names up to this width share one column of amounts, so that one longer name does not move every line."""
_MOST_NAME = 60
"""A name beyond this width moves no other line, or one endless name would fill every line with blanks."""
_LEAST_WHOLE = 3
_SECTIONS = (
    "base",
    "additions",
    "variation",
    "series",
    "blend",
    "base_variation",
    "base_series",
    "base_blend",
    "handling",
    "notes",
    "schedule",
    "tile",
)


class FormatError(GlostError):
    """The page is not laid out: it holds diagnostics, or the proof failed. The text says which."""


def format_text(page: tree.Page) -> str:
    """The text of ``page`` in the one layout, proven: read again it gives the same tree and the same
    comments, and laying it out again changes nothing. Raises FormatError otherwise."""
    if page.diagnostics:
        if all(diagnostic.takes_nothing for diagnostic in page.diagnostics):
            raise FormatError(page.diagnostics[0].message, "fix that first: glost lint --fix does")
        count = len(page.diagnostics)
        raise FormatError(
            f"{count} line{'s' if count > 1 else ''} cannot be read",
            f"fix {'them' if count > 1 else 'it'} first",
        )
    text = "".join(line + "\n" for line in _lines(page))
    again = parse(Source(page.source.path, text))
    if again.diagnostics or content(again) != content(page):
        raise FormatError("laying it out would change what it says (a mistake in glost, please report it)")
    if "".join(line + "\n" for line in _lines(again)) != text:
        raise FormatError("laying it out twice gives two results (a mistake in glost, please report it)")
    return text


def content(page: tree.Page) -> tuple[object, ...]:
    """All that a page says, comments too, without where it stands and how it is spaced."""
    said: list[object] = []
    for block in [tree.Block("lead", tree.Unread(page.source.line_span(1)), page.lead), *page.blocks]:
        if block.role != "lead":
            said.append((block.role, *_said_by(block.head, 0)))
        edge = _edge(block.lines)
        said += [_said_by(line, edge) for line in _without_outer_blanks(block.lines)]
    return tuple(part for part in said if part != ())


def _said_by(  # noqa: PLR0911 (a case a kind of line)
    line: tree.Line | tree.Title | tree.Field | tree.Head, edge: int
) -> tuple[object, ...]:
    match line:
        case tree.Title(kind, name, comment):
            return ("title", kind.text, name.text, comment and comment.text)
        case tree.Field(key, value, comment):
            return ("field", key.text, value.text, comment and comment.text)
        case tree.Head(word, named, comment, _, step):
            per_cent = step and step.value
            return ("head", word.text, named and named.text, per_cent, comment and comment.text)
        case tree.Own(key, value, comment):
            return ("own", key.text, value.text, comment and comment.text)
        case tree.Item(name, amounts, note, comment):
            return (
                "item",
                name.text,
                name.quoted,
                name.kind,
                tuple((a.value, a.unit) for a in amounts),
                note and note.text,
                comment and comment.text,
            )
        case tree.Ramp(first, heat, rate, time, hold, comment):
            return (
                "ramp",
                first,
                *heat[:2],
                rate and rate[:2],
                time and time[:2],
                hold and hold[:2],
                comment and comment.text,
            )
        case tree.Instruction(names, text, comment):
            return ("handling", tuple((n.text, n.quoted) for n in names), text.text, comment and comment.text)
        case tree.Prose(text, indent):
            return ("text", text, indent - edge)
        case tree.Remark(text):
            return ("comment", text)
        case tree.Blank():
            return ()
        case tree.Unread(span):
            return ("unread", span)


def _without_outer_blanks(lines: Iterable[tree.Line]) -> Iterator[tree.Line]:
    return (line for line in lines if not isinstance(line, tree.Blank))


def _edge(lines: Iterable[tree.Line]) -> int:
    """The least indent of a block's text: deeper lines keep what they have beyond it."""
    return min((line.indent for line in lines if isinstance(line, tree.Prose)), default=0)


def _lines(page: tree.Page) -> list[str]:
    column = _Column.of(page)
    out: list[str] = []
    for line in page.lead:
        _put(out, _line(line, 0, column, bool(page.blocks)))
    for block in page.blocks:
        if block.role in _SECTIONS:
            _open_space(out)
        _put(out, _head(block.head))
        edge = _edge(block.lines)
        for line in block.lines:
            _put(out, _line(line, edge, column, True))
    while out and out[-1] == "":
        out.pop()
    return out


def _put(out: list[str], line: str) -> None:
    """Adds a line; of several empty ones only the first, and none at the top."""
    if line or (out and out[-1]):
        out.append(line)


def _open_space(out: list[str]) -> None:
    """An empty line above a section, and above the comments in column one that lead to it."""
    at = len(out)
    while at and out[at - 1].startswith("#"):
        at -= 1
    if at and out[at - 1]:
        out.insert(at, "")


def _head(head: tree.Title | tree.Field | tree.Head | tree.Unread) -> str:
    match head:
        case tree.Title(kind, name, comment):
            return _commented(f'{kind.text} "{name.text}"', comment)
        case tree.Field(key, value, comment):
            return _commented(f"{key.text}: {value.text}", comment)
        case tree.Head(word, None, comment):
            return _commented(f"{word.text}:", comment)
        case tree.Head(word, tree.Name(name), comment, _, step):
            by = f" by {_number(step)} %" if step else ""
            return _commented(f'{word.text} "{name}"{by}:', comment)
        case _:
            raise FormatError("a head cannot be read", "fix it first")


def _line(line: tree.Line, edge: int, column: _Column, inside: bool) -> str:
    match line:
        case tree.Blank():
            return ""
        case tree.Remark(text, indented):
            return INDENT + text if indented and inside else text
        case tree.Item():
            return column.item(line)
        case tree.Own(key, value, comment):
            return _commented(f"{INDENT}{key.text}: {value.text}", comment)
        case tree.Ramp(_, _, _, _, _, comment):
            return _commented(INDENT + ramp_text(line), comment)
        case tree.Instruction(names, text, comment):
            return _commented(f"{INDENT}{', '.join(name.written for name in names)}: {text.text}", comment)
        case tree.Prose(text, indent):
            return INDENT + " " * (indent - edge) + text
        case tree.Unread():
            raise FormatError("a line cannot be read", "fix it first")


def _commented(text: str, comment: tree.Text | None) -> str:
    return text if comment is None else f"{text}  {comment.text}"


def ramp_text(ramp: tree.Ramp) -> str:
    """A line of a schedule, as a page has it."""
    heat = f"{ramp.heat.value.normalize():f} {ramp.heat.unit}"
    if ramp.first:
        return f"from {heat}"
    way = "freely"
    if ramp.rate is not None:
        way = f"at {ramp.rate.value.normalize():f} {ramp.rate.unit}/h"
    elif ramp.time is not None:
        way = f"in {ramp.time.written}"
    return f"to {heat} {way}{f', hold {ramp.hold.written}' if ramp.hold else ''}"


class _Column:
    """The page's column of amounts, aligned on the decimal point."""

    def __init__(self, name: int, whole: int) -> None:
        self._name = name
        self._whole = whole

    @classmethod
    def of(cls, page: tree.Page) -> _Column:
        items = [line for block in page.blocks for line in block.lines if isinstance(line, tree.Item)]
        widths = (width(item.name.written) for item in items)
        name = max((wide for wide in widths if wide <= _MOST_NAME), default=0)
        whole = max((len(_number(item.amounts[0]).partition(".")[0]) for item in items), default=0)
        return cls(max(name, _LEAST_NAME), max(whole, _LEAST_WHOLE))

    def item(self, item: tree.Item) -> str:
        first, *others = (_number(amount) + (amount.unit and " " + amount.unit) for amount in item.amounts)
        whole = first.partition(" ")[0].partition(".")[0]
        text = f"{INDENT}{padded(item.name.written, self._name)}  {' ' * (self._whole - len(whole))}{first}"
        text = ", ".join([text, *others])
        if item.note is not None:
            text += f"  ({item.note.text})"
        return _commented(text, item.comment)


def _number(amount: tree.Amount) -> str:
    """The amount as the notebook writes it: a figure before the point, no idle zeros in front."""
    text = f"{amount.value:f}"
    whole, point, rest = text.partition(".")
    return (whole.lstrip("0") or "0") + point + rest
