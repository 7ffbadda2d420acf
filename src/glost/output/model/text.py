"""Nodes as plain text for a terminal or a printer: 80 columns at most, where nobody says otherwise, figures aligned."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import chain, compress, groupby
from typing import Final, TypeAlias

from glost.language.width import padded, pushed, widest, width
from glost.output.board_rows import in_columns, rows_of
from glost.output.escape import is_plain, visible, visible_lines
from glost.output.model import (
    Band,
    Blank,
    Cell,
    Changed,
    Column,
    Entries,
    Entry,
    Form,
    Heading,
    Leaf,
    Line,
    Map,
    Named,
    Node,
    Paragraph,
    Prose,
    Row,
    Section,
    Table,
    Terms,
    Tick,
    Trend,
    stands,
)

COLUMNS = 80
"""What a page fills at most: the width of a page of typescript and of the narrowest terminal."""
_LEAST_TERM, _MOST_TERM = 9, 18
_LEAST_NAME = 12
"""Columns that a name keeps in a table, however much else there is."""
_LEAST_CELL = 8
_BOX = 4
_INSET = 2
_LEADS = {"attention": "!   ", "fact": "  "}
_DEEPEST = COLUMNS // 2
"""Free text that is indented further than this is not indented further on the page."""


def as_text(nodes: Iterable[Node], columns: int = COLUMNS, margin: int = 0) -> str:
    """The nodes, with an empty line before whatever begins anew. ``margin``: how far in paragraphs and tables stand;
    lists stand in by two as it is."""
    lines: list[str] = []
    before: Leaf | None = None
    block_before: Section | None = None
    for node, block, inset in _placed(nodes):
        if before is not None and (
            block is not block_before or (block is None and _apart(before, node))
        ):  # those of sections among them
            lines.append("")
        if margin and _at_margin(node):
            inset += margin
        own = _lines(node, columns - inset)
        lines += [f"{'':{inset}}{line}" if line else "" for line in own] if inset else own
        before, block_before = node, block
    return "".join([f"{line}\n" for line in lines])


_Placed: TypeAlias = tuple[Leaf, Section | None, int]
"""A node, the section of no empty lines in which it stands, and how far in its sections bring it. To name the three
took a tenth of the time of a sheet's text."""


def _placed(nodes: Iterable[Node], block: Section | None = None, inset: int = 0) -> Iterator[_Placed]:
    for node in nodes:
        if isinstance(node, Section):
            yield from _placed(
                node.nodes, node if node.close and block is None else block, inset + _INSET * node.inset
            )
        elif stands(node):
            yield node, block, inset


def _at_margin(node: Leaf) -> bool:
    return isinstance(node, Table) or (isinstance(node, Paragraph) and node.kind != "fact")


def _apart(before: Leaf, node: Leaf) -> bool:
    """Whether an empty line stands between two nodes."""
    if isinstance(node, Heading) or isinstance(before, Heading):
        return isinstance(node, Heading)
    if isinstance(before, Paragraph):
        # An aside belongs to what it stands with; paragraphs of one kind are read as one.
        return before.kind != "aside" and not (isinstance(node, Paragraph) and node.kind == before.kind)
    return type(node) is not type(before) or isinstance(node, Table)


def _lines(node: Leaf, columns: int) -> Iterable[str]:
    if isinstance(node, _TEXTS) or (isinstance(node, _LISTS) and isinstance(node.rows, tuple)):
        return _same(node, columns)
    return _laid_out(node, columns)


_TEXTS: Final = (Heading, Paragraph, Prose)
_LISTS: Final = (Terms, Entries, Table)


@lru_cache(maxsize=4096, typed=True)
def _same(node: Leaf | Entry, columns: int) -> tuple[str, ...]:
    """The lines of what sheets say again and again, such as cautions and notes: to lay each out once is a quarter of
    the time of their text. Of lists and tables it is those whose rows are a tuple of tuples."""
    return tuple(_laid_out(node, columns))


def _laid_out(node: Leaf | Entry, columns: int) -> Iterable[str]:
    match node:
        case Line(text):
            return [f"{'':{_INSET}}{visible(text)}"]
        case Terms(rows, _, _, least):
            return _terms([(visible(word), _cell(text)) for word, text in rows], columns, least)
        case Entries(rows):
            return [line for entry in rows for line in _same(entry, columns)]
        case Form(words, long):
            return _form(tuple(words), long)
        case Map():
            return [*rows_of(node, columns), "", *in_columns(node, columns)]
        case Table():
            return _table(node, columns)
        case _:
            return _said(node, columns)


def _said(node: Heading | Paragraph | Prose | Entry, columns: int) -> Iterable[str]:
    match node:
        case Heading(text, level):
            return _heading(visible(text), level, columns)
        case Paragraph(text, kind, lead):
            line = visible(f"{lead}: {text}" if lead else text)
            attention = kind == "attention"
            # An aside goes on below its text, so that the eye finds its lead.
            hung = min(width(visible(lead)) + 2, _DEEPEST) if lead and kind == "aside" else 0
            indent = 4 if attention or kind == "fact" else hung
            return wrapped(line, indent, _LEADS.get(kind, ""), columns)
        case Prose(text):
            return _prose(text, columns)
        case Entry(text, lead, attention):
            line = visible(f"{lead}: {text}" if lead else text)
            return wrapped(line, 4, "  ! " if attention else "  - ", columns)


def _prose(text: str, columns: int) -> Iterator[str]:
    for line in visible_lines(text):
        indent = len(line) - len(line.lstrip(" "))
        yield from wrapped(line, min(2 + indent, _DEEPEST), None, columns) or [""]


@lru_cache(maxsize=16)
def _form(words: tuple[str, ...], long: str) -> tuple[str, ...]:
    """Two blanks a line, and an empty line where a hand needs the room."""
    lines: list[str] = []
    edge = max(map(width, (*words, long))) + 2
    half = COLUMNS // 2
    for at in range(0, len(words), 2):
        pair = [padded(word, edge) + "_" * (half - edge - 2) for word in words[at : at + 2]]
        lines += ("", "".join(padded(blank, half) for blank in pair).rstrip())
    return (*lines, "", padded(long, edge) + "_" * (COLUMNS - edge), "", "_" * COLUMNS)


def _heading(text: str, level: int, columns: int) -> list[str]:
    lines = wrapped(text, 2, "", columns)
    if level == 1:
        return [*lines, "=" * columns]
    return [*lines, "-" * max(map(width, lines), default=0)] if level == 2 else lines


def _terms(rows: Sequence[tuple[str, str]], columns: int, least: int) -> list[str]:
    lines: list[str] = []
    longest = max(width(word) for word, _ in rows)
    most = max(least, _MOST_TERM)
    edge = 2 + min(max(longest, least or _LEAST_TERM), most)
    for word, text in rows:
        if width(word) > most:
            lines += wrapped(word, 4, "  ", columns)
            word = ""
        lines += wrapped(text, edge + 1, f"{padded(f'  {word}', edge)} ", columns) or [f"  {word}".rstrip()]
    return lines


# ---- tables --------------------------------------------------------------------------------------------


def _table(node: Table, columns: int) -> Iterator[str]:
    rows = [row for row in node.rows if isinstance(row, Row)]
    cells = [[cell if isinstance(cell, str) else _cell(cell) for cell in row.cells] for row in rows]
    if not is_plain("".join(chain.from_iterable(cells))):
        cells = [list(map(visible, row)) for row in cells]
    # As filled() leaves columns out, but of texts: to make a second table of rows took a seventh of the time of one.
    shown = map(any, zip(*cells, strict=True)) if rows else [False] * len(node.columns)
    kept = [one.least or full for one, full in zip(node.columns, shown, strict=True)]
    every = all(kept) or not any(kept)
    if not every:
        cells = [list(compress(row, kept)) for row in cells]
    heads, signs, least, groups = _heads(tuple(node.columns if every else compress(node.columns, kept)))
    if len(heads) > 1 and any(isinstance(row.cells[0], Tick) for row in rows):
        heads, cells, signs = _with_boxes(heads, cells, signs)
        least, groups = least[1:], groups[1:]
    elif node.stepped:
        cells = [[f"{'':{_INSET}}{name}", *others] for name, *others in cells]
    head, *bodies = blocks(heads, cells, signs, columns=columns, least=least, groups=groups)
    yield from head if any(heads) else ()
    remaining = iter(bodies)
    before: Row | Band | None = None
    for row in node.rows:
        if node.written:
            strong = isinstance(row, Row) and row.strong
            yield "-" * columns if strong or before is None else ""
        before = row
        if isinstance(row, Band):
            yield from wrapped(visible(row.text), 2, "", columns)
        else:
            yield from next(remaining)
            if row.below:
                yield from wrapped(visible(row.below), _BOX + 2, None, columns)


@lru_cache(maxsize=256)
def _heads(columns: tuple[Column, ...]) -> tuple[Sequence[str], str, Sequence[int], Sequence[str]]:
    """What stands above the columns, a sign for each (see ``blocks``), what each takes at least, and its group. Most
    tables of a run have the same."""
    return (
        tuple(visible(column.head) for column in columns),
        "".join(">" if column.figures else "=" if column.unbroken else "<" for column in columns),
        tuple(column.least for column in columns),
        tuple(visible(column.group) for column in columns),
    )


def _with_boxes(
    heads: Sequence[str], rows: list[list[str]], signs: str
) -> tuple[list[str], list[list[str]], str]:
    """The table with the boxes before what is to be ticked off, in one column with it."""
    names = [heads[1], *(row[1] for row in rows)]
    if signs[1] == ">":
        names[1:] = aligned(names[1:])
        size = max(map(width, names))
        names = [" " * (size - width(name)) + name for name in names]
    cells = [[f"{row[0]:<{_BOX}}{name}", *row[2:]] for row, name in zip(rows, names[1:], strict=True)]
    return [f"{'':{_BOX}}{names[0]}".rstrip(), *heads[2:]], cells, f"<{signs[2:]}"


def _cell(cell: Cell) -> str:
    if isinstance(cell, str):
        return visible(cell)
    if isinstance(cell, Named):  # before the others, of which there are fewer
        return visible(cell.text)
    if isinstance(cell, Blank):
        return _blank(cell)
    match cell:
        case Tick(_, attention):
            return "[ ]!" if attention else "[ ]"
        case Changed(text):
            return visible(f"*{text}")
        case Trend():
            return visible(cell.text)


@lru_cache(maxsize=64)
def _blank(blank: Blank) -> str:
    return " ".join(filter(None, (visible(blank.before), "_" * blank.width, visible(blank.after))))


def aligned(figures: Sequence[str]) -> list[str]:
    """Figures one above the other, points aligned, all of one width. A sign in the place of one stands where units do;
    words end where figures do."""
    words = list(map(_in_words, figures))
    behind = [
        0 if "." not in figure or said else width(figure[figure.find(".") :])
        for figure, said in zip(figures, words, strict=True)
    ]
    most = max(behind, default=0)
    level = [
        figure if said else figure + " " * (most - own)
        for figure, own, said in zip(figures, behind, words, strict=True)
    ]
    size = widest(level)
    return [pushed(figure, size) for figure in level]


def _in_words(figure: str) -> bool:
    return len(figure) > 1 and not figure[0].isdigit() and not any(map(str.isdigit, figure))


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], signs: str, indent: int = 0) -> list[str]:
    """Lines of a table: the heads, then the rows; see ``blocks``."""
    return [line for block in blocks(heads, rows, signs, indent) for line in block]


def blocks(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    signs: str,
    indent: int = 0,
    columns: int = COLUMNS,
    least: Sequence[int] = (),
    groups: Sequence[str] = (),
) -> list[list[str]]:
    """The heads and each row of a table, as lines. ``signs`` has one a column: ``>`` for figures, which are aligned on
    their point, ``<`` for text, ``=`` for text that is never broken. A name in the first column that is longer than the
    page allows stands above its row; a longer text in another column goes on below. ``least``: what each column takes
    at least. ``groups``: what stands above the head of each and of those beside it."""
    stacks: list[list[str]] = []
    for at, sign in enumerate(signs):
        cells = [row[at] for row in rows]
        stacks.append([heads[at], *(aligned(cells) if sign == ">" else cells)])
    wide = [max(size, widest(stack)) for size, stack in zip(least or [0] * len(stacks), stacks, strict=True)]
    _widen(wide, groups)
    sizes = _sizes(stacks, wide, signs, columns - indent)
    if sizes is None:
        names = (
            [", ".join(filter(None, names)) for names in zip(groups, heads, strict=True)] if groups else heads
        )
        return [[], *(_stacked(names, row, indent, columns) for row in rows)]
    by_rows = list(zip(*stacks, strict=True))
    if sizes == wide:  # most tables fit as they are
        head, *shown = _unbroken(by_rows, sizes, signs, indent)
    else:
        head, *shown = [_block(row, sizes, signs, indent, columns) for row in by_rows]
    return [[*([_above(groups, sizes)] if any(groups) else []), *head], *shown]


def _widen(sizes: list[int], groups: Sequence[str]) -> None:
    """Gives the last column of each group the room that the words above it need."""
    at = 0
    for group, members in groupby(groups):
        first, at = at, at + len(list(members))
        sizes[at - 1] += max(0, width(group) - sum(sizes[first:at]) - 2 * (at - first - 1))


def _above(groups: Sequence[str], sizes: Sequence[int]) -> str:
    """The line of what stands above several heads, each in the middle of them."""
    line = ""
    for group, members in groupby(zip(groups, sizes, strict=True), key=lambda one: one[0]):
        room = sum(size + 2 for _, size in members) - (0 if line else 2)
        line += f"{group:^{room}}"
    return line.rstrip()


def _sizes(stacks: Sequence[Sequence[str]], wide: list[int], signs: str, room: int) -> list[int] | None:
    """The columns of a table made to fit; None where even its figures are too wide. What is never broken runs over. The
    widest columns narrow first, all to one width, and none below its longest word as long as another has room; then
    words are broken behind their hyphens, and only then anywhere, the longest first."""
    room -= 2 * (len(wide) - 1)
    if "=" in signs or sum(wide) <= room:
        return wide
    sizes = wide
    for end in _ENDS:
        # A name that is too long for its column stands above its row, so that no word of it is broken.
        least = [
            _LEAST_NAME,
            *(_least(end, *column) for column in zip(stacks[1:], wide[1:], signs[1:], strict=True)),
        ]
        least = [min(pair) for pair in zip(sizes, least, strict=True)]
        if sum(least) <= room:
            return _narrowed(sizes, least, room)
        sizes = least
    return None


_BEHIND_HYPHEN: Final = re.compile(r"(?<=[^\W\d]-)(?=[^\W\d])")
_ENDS: Final = (re.compile(" "), re.compile(f" |{_BEHIND_HYPHEN.pattern}"), None)
"""Where a text is broken, the best first; None where it may be anywhere."""


def _least(end: re.Pattern[str] | None, cells: Sequence[str], wide: int, sign: str) -> int:
    """What a column takes at least if its texts are broken there alone."""
    if sign == ">":
        return wide
    parts: Iterable[str] = (part for cell in cells for part in end.split(cell)) if end else ()
    return max([_LEAST_CELL, *map(width, parts)])


def _narrowed(sizes: Sequence[int], least: Sequence[int], room: int) -> list[int]:
    """Columns that take up the room: what is wider than one level comes down to it, or to what it takes at least."""

    def at_level(level: int) -> list[int]:
        return [min(size, max(level, low)) for size, low in zip(sizes, least, strict=True)]

    level = bisect_right(range(max(sizes)), room, key=lambda level: sum(at_level(level))) - 1
    narrowed = at_level(level)
    left = room - sum(narrowed)
    for at, higher in enumerate(at_level(level + 1)):
        given = min(left, higher - narrowed[at])
        narrowed[at] += given
        left -= given
    return narrowed


def _stacked(heads: Sequence[str], row: Sequence[str], indent: int, columns: int) -> list[str]:
    pairs = (f"{head} {cell.strip(' ')}".strip() for head, cell in zip(heads, row, strict=True) if cell)
    return wrapped(";  ".join(pairs), indent + 2, " " * indent, columns)


def _unbroken(
    rows: Sequence[tuple[str, ...]], sizes: Sequence[int], signs: str, indent: int
) -> list[list[str]]:
    """The same of a table in which nothing has to be broken."""
    # One format for all rows of plain letters: to pad each cell by itself took twice as long.
    line = " " * indent + "  ".join(
        f"%{size}s" if sign == ">" else f"%-{size}s" for size, sign in zip(sizes, signs, strict=True)
    )
    return [
        [(line % row).rstrip()] if "".join(row).isascii() else _block(row, sizes, signs, indent)
        for row in rows
    ]


def _block(
    row: Sequence[str], sizes: Sequence[int], signs: str, indent: int, columns: int = COLUMNS
) -> list[str]:
    name, *others = row
    above: list[str] = []
    if width(name) > sizes[0]:
        above, name = wrapped(name, indent + _BOX, " " * indent, columns), ""
    cells = [
        _hung(cell, size) if sign != ">" else [pushed(cell, size)]
        for cell, size, sign in zip((name, *others), sizes, signs, strict=True)
    ]
    lines = []
    for at in range(max(map(len, cells))):
        parts = (
            padded(cell[at] if at < len(cell) else "", size) for cell, size in zip(cells, sizes, strict=True)
        )
        lines.append(f"{' ' * indent}{'  '.join(parts)}".rstrip())
    return [*above, *lines]


def _hung(cell: str, size: int) -> Sequence[str]:
    """The lines of a cell, all as far in as the first."""
    text = cell.lstrip(" ")
    inset = len(cell) - len(text)
    if not inset or width(cell) <= size or inset > size - _LEAST_CELL:
        return broken(cell, size)
    return [f"{'':{inset}}{line}" for line in broken(text, size - inset)]


# ---- lines ---------------------------------------------------------------------------------------------


def wrapped(text: str, indent: int = 0, lead: str | None = None, columns: int = COLUMNS) -> list[str]:
    """``text`` on lines of at most ``columns``, each ``indent`` in; the first begins with ``lead``, if there is one. No
    line for no text."""
    text = text.strip(" ")
    if not text:
        return []
    edge = " " * indent
    lead = edge if lead is None else lead
    if width(text) <= columns - width(lead):  # nearly every text
        return [lead + text]
    first, *rest = broken(text, columns - width(lead), columns - indent)
    return [lead + first, *(edge + line for line in rest)]


def broken(text: str, columns: int, others: int | None = None) -> Sequence[str]:
    """``text`` in lines of at most ``columns``, or those behind the first of at most ``others``: broken at blanks, or
    within a word that is wider than a line, there behind a hyphen where it has one."""
    if width(text) <= columns:
        return (text,)
    return _broken(text, columns, columns if others is None else others)


@lru_cache(maxsize=2048)
def _broken(text: str, columns: int, others: int) -> tuple[str, ...]:
    """The same of a text that takes several lines. Sheets say the same cautions again and again."""
    lines: list[str] = []
    line, filled_to = "", 0
    for word in text.split(" "):
        size = width(word)
        if line and filled_to + 1 + size <= (others if lines else columns):
            line, filled_to = f"{line} {word}", filled_to + 1 + size
            continue
        if line:
            lines.append(line.rstrip(" "))
        line, filled_to = word, size
        while len(line) > (fits := _most_that_fits(line, others if lines else columns)):
            lines.append(line[:fits])
            line = line[fits:]
            filled_to = width(line)
    return (*lines, line.rstrip(" "))


def _most_that_fits(word: str, columns: int) -> int:
    """How many characters of a word fit, one at the least."""
    if width(word) <= columns:
        return len(word)
    fits, used = 1, width(word[0])
    while fits < len(word) and (used := used + width(word[fits])) <= columns:
        fits += 1
    hyphens = [found.start() for found in _BEHIND_HYPHEN.finditer(word, 0, fits + 1) if found.start() <= fits]
    return hyphens[-1] if hyphens else fits
