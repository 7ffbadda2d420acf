"""Two changes of a materials.yaml or a glost.yaml put together: entry by entry, and in an entry key by key.

Two people who add a material each are never in each other's way. What both changed otherwise is kept twice, between the
usual marks of a conflict. An analysis and its loss are one measurement, and stay together.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple, TypeAlias

from glost.changes.merge import Conflict, Marks, MergeError, MergeLines, in_order
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError, Node, read
from glost.recipe.materials.catalogue import key

_DEEPEST: Final = 3
"""The file, its lists, their entries: what stands below a key of an entry is one thing."""
_TOGETHER: Final = (frozenset({"analysis", "loss"}), frozenset({"expansion", "plus or minus", "range"}))
"""Keys that are one measurement."""
_IN_BRACES: Final = re.compile(r"(?P<head>[^{#]*\{)(?P<inside>[^{}\[\]\"'#]*)(?P<tail>\}.*)")
"""An entry on one line, with plain values."""

_Plain: TypeAlias = "str | list[_Plain] | dict[str, _Plain]"


def merged_settings(
    base: str, ours: str, theirs: str, merge_lines: MergeLines, marks: Marks
) -> tuple[str, list[Conflict]]:
    """The file that holds both changes, and what both changed otherwise. Raises MergeError where a side cannot be read,
    or the result would not say what both mean."""
    files = [_File(text) for text in (base, ours, theirs)]
    merger = _Merger(merge_lines)
    meant = merger.merge((), files[0].root, files[1].root, files[2].root)
    text = _text(merger.lines, marks)
    if not merger.conflicts:
        if _plain(_read(text)) != meant:
            raise MergeError("the merged file would not say what was meant")
    elif not merger.free:
        for side in (0, 2):
            _read(_text(merger.lines, side))
    return text, merger.conflicts


def _read(text: str) -> Node:
    if "\r" in text:
        raise MergeError("a side has line breaks of another kind")
    try:
        return read(Source("merge", text))
    except ConfigError as error:
        raise MergeError(f"a side cannot be read whole: {error.message}") from None


def _plain(node: Node) -> _Plain:
    if isinstance(node.value, dict):
        return {name: _plain(entry.node) for name, entry in node.value.items()}
    if isinstance(node.value, list):
        return [_plain(item) for item in node.value]
    return node.value


# ---- a file in parts -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Part:
    """A key or an entry: the comments above it, its lines, what it says, and, where it is a block, its head and the
    parts in it. ``named``: an entry of a list."""

    lead: tuple[str, ...]
    lines: tuple[str, ...]
    value: _Plain
    head: tuple[str, ...] = ()
    parts: Mapping[str, _Part] | None = None
    named: bool = False

    @property
    def says(self) -> tuple[str, ...]:
        """All that it says, comments among it, however it is laid out."""
        return _said((*self.lead, *self.lines))


def _said(lines: Sequence[str]) -> tuple[str, ...]:
    return tuple(line.strip() for line in lines if line.strip())


class _File:
    def __init__(self, text: str) -> None:
        node = _read(text)
        self._lines = text.removeprefix("\ufeff").split("\n")
        if self._lines[-1] == "":
            self._lines.pop()
        self.root = self._part(node, 0, 0, len(self._lines), _DEEPEST, False)

    def _part(self, node: Node, lead: int, start: int, end: int, deep: int, named: bool) -> _Part:
        """What stands on the lines from ``start`` to ``end``, counted from 0, with its comments from ``lead`` on."""
        lines = self._lines
        own = tuple(lines[start:end])
        starts = self._starts(node) if deep else None
        if not starts:
            return _Part(tuple(lines[lead:start]), own, _plain(node), named=named)
        leads = [self._lead(at, start) for _, at, _ in starts]
        ends = [*leads[1:], end]
        is_list = isinstance(node.value, list)
        parts = {
            name: self._part(child, above, at, until, deep - 1, is_list)
            for (name, at, child), above, until in zip(starts, leads, ends, strict=True)
        }
        return _Part(
            tuple(lines[lead:start]), own, _plain(node), tuple(lines[start : leads[0]]), parts, named
        )

    def _lead(self, start: int, first: int) -> int:
        """Where the comments above a line begin."""
        while start > first and self._lines[start - 1].strip()[:1] in ("", "#"):
            start -= 1
        return start

    def _starts(self, node: Node) -> list[tuple[str, int, Node]] | None:
        """What each part of a block is called, and the line it begins on; None where it is no block, or two parts
        cannot be told apart."""
        found: list[tuple[str, int, Node]] = []
        if isinstance(node.value, dict):
            for name, entry in node.value.items():
                before = self._lines[entry.key.line - 1][: entry.key.column - 1]
                if before.strip(" -"):
                    return None
                found.append((name, entry.key.line - 1, entry.node))
        elif isinstance(node.value, list):
            for item in node.value:
                line = self._lines[item.position.line - 1]
                if not line.lstrip().startswith("-"):
                    return None
                found.append((_name_of(item), item.position.line - 1, item))
        names, at = {name for name, _, _ in found}, {line for _, line, _ in found}
        return found if len(names) == len(at) == len(found) and "" not in names else None


def _name_of(item: Node) -> str:
    if isinstance(item.value, dict):
        named = item.value.get("name")
        item = named.node if named is not None else item
    return key(item.value) if isinstance(item.value, str) else ""


# ---- putting together ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Choice:
    """The lines of which a person has to choose: ours, those of the base, theirs."""

    sides: tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]
    label: str


@dataclass
class _Merger:
    """``free``: comments of both were put together by lines, with marks of git's."""

    merge_lines: MergeLines
    lines: list[str | _Choice] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    free: bool = False

    def merge(self, at: tuple[str, ...], was: _Part | None, ours: _Part, theirs: _Part) -> _Plain:
        """Adds the lines of what both say together, and returns it."""
        before = was.says if was is not None else ()
        if ours.says == theirs.says or theirs.says == before:
            return self._take(ours)
        if ours.says == before:
            return self._take(theirs)
        if not _are_blocks(was, ours, theirs):
            line = _in_braces(was, ours, theirs)
            if line is None:
                return self._choose(at, was, ours, theirs)
            self._free(at, *((part.lead if part else ()) for part in (was, ours, theirs)))
            self.lines.append(line.text)
            return line.value
        assert ours.parts is not None
        assert theirs.parts is not None
        inner = was.parts if was is not None and was.parts is not None else {}
        self._free(at, *((part.lead if part else ()) for part in (was, ours, theirs)))
        self._free(at, *((part.head if part else ()) for part in (was, ours, theirs)))
        out: dict[str, _Plain] = {}
        for name in in_order([(one,) for one in ours.parts], [(one,) for one in theirs.parts]):
            self._part(at, name[0], inner, ours.parts, theirs.parts, out)
        return out if isinstance(ours.value, dict) else list(out.values())

    def _part(
        self,
        at: tuple[str, ...],
        name: str,
        was: Mapping[str, _Part],
        ours: Mapping[str, _Part],
        theirs: Mapping[str, _Part],
        out: dict[str, _Plain],
    ) -> None:
        before, here, there = was.get(name), ours.get(name), theirs.get(name)
        kept = here or there
        if here is not None and there is not None:
            out[name] = self.merge((*at, name), before, here, there)
        elif kept is not None and before is None:
            out[name] = self._take(kept)
        elif kept is not None and before is not None and kept.says != before.says:
            out[name] = self._choose((*at, name), before, here, there)

    def _take(self, part: _Part) -> _Plain:
        self.lines += [*part.lead, *part.lines]
        return part.value

    def _choose(
        self, at: tuple[str, ...], was: _Part | None, ours: _Part | None, theirs: _Part | None
    ) -> _Plain:
        label = ", ".join(at) or "the file"
        self.conflicts.append(Conflict(label, "", *_shown(ours, theirs, was)))
        ours_, was_, theirs_ = ((*part.lead, *part.lines) if part else () for part in (ours, was, theirs))
        self.lines.append(_Choice((ours_, was_, theirs_), label))
        return ""

    def _free(
        self, at: tuple[str, ...], was: Sequence[str], ours: Sequence[str], theirs: Sequence[str]
    ) -> None:
        before, here, there = map(_said, (was, ours, theirs))
        if here == there or there == before:
            self.lines += ours
        elif here == before:
            self.lines += theirs
        else:
            texts = ("".join(f"{line}\n" for line in lines) for lines in (ours, was, theirs))
            text, clean = self.merge_lines(*texts)
            if not clean:
                self.free = True
                self.conflicts.append(Conflict(", ".join((*at, "the comments")), "", "", "", ""))
            self.lines += text.split("\n")[:-1]


def _are_blocks(was: _Part | None, ours: _Part, theirs: _Part) -> bool:
    """Whether what is in them is merged part by part. Two new entries of one name are two entries."""
    if ours.parts is None or theirs.parts is None or type(ours.value) is not type(theirs.value):
        return False
    if was is None or was.parts is None:
        return not ours.named
    for group in _TOGETHER:
        changed = [
            {name for name in group if _says(part.parts or {}, name) != _says(was.parts, name)}
            for part in (ours, theirs)
        ]
        if all(changed) and len(changed[0] | changed[1]) > 1:
            return False
    return True


def _shown(*parts: _Part | None) -> tuple[str, ...]:
    """What each says, on one line, "" for what is not there; all "" where that is too much for a line."""
    lines = [[line.strip() for line in part.lines if line.strip()] if part else [""] for part in parts]
    if any(len(some) != 1 or len(some[0]) > _LONGEST_SHOWN for some in lines):
        return tuple("" for _ in parts)
    return tuple(line for (line,) in lines)


_LONGEST_SHOWN: Final = 100


class _Line(NamedTuple):
    text: str
    value: dict[str, _Plain]


def _in_braces(was: _Part | None, ours: _Part, theirs: _Part) -> _Line | None:
    """An entry of a list that stands on one line in braces, merged key by key; None where it is no such entry, or both
    changed one key."""
    if was is None or not ours.named:
        return None
    sides = []
    for part in (was, ours, theirs):
        lines = [line for line in part.lines if line.strip()]
        found = _IN_BRACES.fullmatch(lines[0]) if len(lines) == 1 else None
        pieces = [piece.strip() for piece in found["inside"].split(",")] if found else []
        if found is None or not isinstance(part.value, dict) or len(pieces) != len(part.value):
            return None
        sides.append((found, dict(zip(part.value, pieces, strict=True)), part.value))
    (_, before, _), (here, mine, _), (_, yours, _) = sides
    tail = _one_of(*(found["tail"] for found, _, _ in sides))
    if tail is None:
        return None
    said: dict[str, str] = {}
    value: dict[str, _Plain] = {}
    for (name,) in in_order([(one,) for one in mine], [(one,) for one in yours]):
        kept = _one_of(*(pieces.get(name, "") for pieces in (before, mine, yours)))
        if kept is None:
            return None
        if kept:
            said[name] = kept
            value[name] = (sides[1] if mine.get(name) == kept else sides[2])[2][name]
    inside = here["inside"]
    blanks = inside[: len(inside) - len(inside.lstrip())], inside[len(inside.rstrip()) :]
    return _Line(f"{here['head']}{blanks[0]}{', '.join(said.values())}{blanks[1]}{tail}", value)


def _one_of(was: str, ours: str, theirs: str) -> str | None:
    """What both sides mean together, None where each has something else."""
    if ours == theirs or theirs == was:
        return ours
    return theirs if ours == was else None


def _says(parts: Mapping[str, _Part], name: str) -> tuple[str, ...] | None:
    return parts[name].says if name in parts else None


def _text(lines: Sequence[str | _Choice], how: Marks | int) -> str:
    """With marks, or with what that side has."""
    out: list[str] = []
    for line in lines:
        if isinstance(line, str):
            out.append(line)
        elif isinstance(how, int):
            out += line.sides[how]
        else:
            ours, base, theirs = line.sides
            before = [f"{'|' * how.size} {how.base}: {line.label}", *base] if how.with_base else []
            out += [f"{'<' * how.size} {how.ours}: {line.label}", *ours, *before]
            out += ["=" * how.size, *theirs, f"{'>' * how.size} {how.theirs}: {line.label}"]
    return "".join(f"{line}\n" for line in out)
