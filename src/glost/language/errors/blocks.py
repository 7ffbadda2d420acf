"""Heads of two words, and heads of blends, that are not written as they should be.

A head that is not known as one would leave its lines to the block above, where they would be weighed. So whatever
begins like one of these, in whichever order and spelling, is told as such a head, with what it should read.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Final, NamedTuple

from glost.language.diagnostics import Diagnostic
from glost.language.errors.lines import Accepts
from glost.language.nearest import nearest
from glost.language.source import Edit, Span

_KINDS: Final = ("variation", "series", "blend")
_PLURALS: Final = {"variations": "variation", "blends": "blend", "bases": "base", "serie": "series"}
_BLENDS: Final = ("triaxial", "biaxial", "quadraxial", "triangle", "square", "line")
"""Words of the trade for a blend of so many corners; 'line' only before 'blend'."""
_EXAMPLE: Final = {"variation": "storm", "series": "steps", "blend": "line"}
STEPS: Final = "50, 25, 20, 12.5, 10 or 5 %"

_PIECES = re.compile(r"[A-Za-z]+")
_BY = re.compile(
    r"(?:^|(?<=[ \"']))(?:(?P<by>by|in|every|step|steps|of|at) *:? *)?(?P<n>[0-9]+(?:\.[0-9]+)?|\.[0-9]+|[0-9]+/[0-9]+)"
    r" *(?P<unit>%|percent|per cent|pct|steps?|parts?|points?|tests?|tiles?)?[ .,;]*$",
    re.IGNORECASE,
)


class _Begun(NamedTuple):
    """The words that such a line begins with: ``head`` as it should be, ``sure`` where only order, capitals, hyphens or
    a plural differ; ``end`` is where they end."""

    head: str
    sure: bool
    right: bool
    end: int

    @property
    def kind(self) -> str:
        return self.head.rpartition(" ")[2]


def bad_block_head(line: str, code: str, start: int, accepts: Accepts) -> Diagnostic | None:
    """Why a line that begins like a base variation, base series or blend is no head; None for any other line."""
    begun = _begun(code)
    if begun is None:
        return None
    return _Head(line, code, start, begun, accepts).diagnostic()


def _begun(code: str) -> _Begun | None:
    words: list[tuple[str, str, int]] = []
    for piece in _PIECES.finditer(code):
        gap = code[words[-1][2] if words else 0 : piece.start()]
        if len(words) == 3 or gap.strip(" :-_"):
            break
        meant = _meant(piece[0])
        if meant is None:
            break
        words.append((piece[0], meant, piece.end()))
    while words and not _is_head([meant for _, meant, _ in words]):
        words.pop()
    if not words:
        return None
    said = [meant for _, meant, _ in words]
    kind = "blend" if any(one in _BLENDS for one in said) else next(one for one in said if one in _KINDS)
    head = f"base {kind}" if "base" in said else kind
    end = words[-1][2]
    known = all(
        word.lower() in (meant, *(many for many, one in _PLURALS.items() if one == meant))
        for word, meant, _ in words
    )
    sure = known and not any(one in _BLENDS for one in said)
    right = " ".join(code[:end].split()) == head
    return _Begun(head, sure, right, end)


def _meant(word: str) -> str | None:
    lower = _PLURALS.get(word.lower(), word.lower())
    known = ("base", *_KINDS, *_BLENDS)
    if lower in known:
        return lower
    near = nearest(lower, ("base", *_KINDS, "triaxial", "biaxial"), 2 if len(lower) > 5 else 1)
    return near[0] if near and len(lower) > 3 else "base" if lower in ("bse", "bas", "basse") else None


def _is_head(said: Sequence[str]) -> bool:
    """Whether these words are one of these heads, whatever their order. 'variation' and 'series' alone have messages of
    their own."""
    if len(set(said)) != len(said):
        return False
    words = set(said) - {"base"}
    blends = words & set(_BLENDS)
    kinds = words & set(_KINDS)
    if "blend" in kinds and len(kinds) == 1:
        return len(blends) <= 1
    if blends and not kinds:
        return len(blends) == 1 and bool(blends & {"triaxial", "biaxial", "quadraxial"})
    return "base" in said and len(kinds) == 1 and not blends


class _Head:
    """Such a line taken apart: the words, a mark behind them, the name, a step, and what else there is."""

    def __init__(self, line: str, code: str, start: int, begun: _Begun, accepts: Accepts) -> None:
        self._line = line
        self._code = code
        self._start = start
        self._begun = begun
        self._accepts = accepts
        behind = code[begun.end :]
        mark = re.match(r"[ :=-]*", behind)
        self._mark = mark[0] if mark else ""
        rest = behind[len(self._mark) :]
        self._at = begun.end + len(self._mark)
        quoted = re.match(r'"([^"]*)"', rest)
        self._quoted = quoted is not None
        if quoted:
            self._name, rest = quoted[1].strip(" "), rest[quoted.end() :]
            self._rest_at = self._at + quoted.end()
        else:
            self._rest_at = self._at
        rest = rest.rstrip(" ")
        self._rest = rest.rstrip(" :;.,=-")
        self._step = _BY.search(self._rest)
        if not quoted:
            name = self._rest[: self._step.start()] if self._step and self._is_blend else self._rest
            self._name = " ".join(name.strip(" '`\"\u2018\u2019:=-").split())
            if '"' in self._name:
                self._name = ""

    @property
    def _is_blend(self) -> bool:
        return self._begun.kind == "blend"

    def diagnostic(self) -> Diagnostic:
        head, kind = self._begun.head, self._begun.kind
        a = "an" if head[0] in "aeiou" else "a"
        whole = Span(self._start, self._start + len(self._code))
        words = Span(self._start, self._start + self._begun.end)
        step = self._per_cent()
        shown = self._shown(step)
        if not self._begun.right:
            said = self._code[: self._begun.end]
            same = set(_PIECES.findall(said)) == set(head.split()) and ":" not in said
            message = (
                f"the words '{said}' stand in another order here" if same else f"'{said}' opens no block"
            )
            if "-" in said:
                message = f"'{said}' is written without a hyphen"
            if said.lower() == head:
                message = f"'{said}' is written in lower case"
            if ":" in said:
                return self._found(
                    whole, f"only blanks stand between the words of '{head}' and its name", shown
                )
            return self._found(words, message, shown, " if that is meant" if not self._begun.sure else "")
        if not self._name:
            empty = "empty" if self._quoted else "missing"
            return self._found(whole, f"the name of this {head} is {empty}", shown, sure=False)
        if self._mark.strip(" ") or not self._mark:
            return self._found(whole, f"only blanks stand between '{head}' and its name", shown)
        if not self._quoted:
            return self._found(
                whole, f"the name of {a} {head} stands in double quotes, with a colon behind it", shown
            )
        behind = self._rest.strip(" :;.,")
        at = self._start + self._rest_at + len(self._rest) - len(self._rest.lstrip(" :;.,"))
        here = Span(at, at + len(behind)) if behind else whole
        if not self._is_blend:
            if self._step and self._step["by"]:
                return Diagnostic(
                    here,
                    f"a {kind} has no step: it says every amount itself",
                    f"write  {shown}  or, for a blend of corners,  "
                    f'{head.replace(kind, "blend")} "{self._name}" by 25 %:',
                )
            return self._junk(here, shown)
        return self._blend(here, whole, shown)

    def _blend(self, here: Span, whole: Span, shown: str) -> Diagnostic:
        head = self._begun.head
        found = self._step
        if found is None:
            if self._rest.strip(" :;.,"):
                return self._junk(here, shown)
            return Diagnostic(
                whole,
                "the step of this blend is missing: it says how far its points lie apart",
                f"write  {shown}  (the step may be {STEPS}, or another that divides 100)",
            )
        before = self._rest[: found.start()].strip(" ")
        if before:
            return self._junk(here, shown)
        number, unit = found["n"], (found["unit"] or "").lower()
        usual = self._shown(None)
        if unit.rstrip("s") in ("step", "part", "point", "test", "tile"):
            count = Decimal(number) if "/" not in number and Decimal(number) else None
            each = Decimal(100) / count if count else None
            fits = each is not None and each.as_tuple().exponent > -4 and unit.startswith(("step", "part"))  # type: ignore[operator]
            hint = f"write such as  {usual}  (the step may be {STEPS}, or another that divides 100)"
            if fits:
                hint = f'{number} {unit} are by {each:f} %: write  {head} "{self._name}" by {each:f} %:'
            return Diagnostic(here, "a blend says its step in per cent", hint)
        per_cent = self._per_cent()
        if per_cent is None or (not unit and Decimal(per_cent) <= 1):
            return Diagnostic(
                here,
                f"'{number}' is no step: a blend says it in per cent",
                f"write such as  {usual}  (the step may be {STEPS})",
            )
        if not unit:
            return Diagnostic(
                here, "the sign % is missing behind the step", f"write  {shown}  if per cent are meant"
            )
        if (found["by"] or "").lower() != "by":
            return self._found(here, "'by' is missing before the step", shown, sure=found["by"] is None)
        return self._found(here, "the step of this blend is not written as it is read", shown)

    def _junk(self, here: Span, shown: str) -> Diagnostic:
        behind = "'by' and its step" if self._is_blend else "a colon"
        return Diagnostic(
            here,
            f"nothing but {behind} may stand behind the name of a {self._begun.head}",
            f"write  {shown}  and what belongs to it on indented lines below",
        )

    def _per_cent(self) -> str | None:
        if self._step is None or "/" in self._step["n"]:
            return None
        number = self._step["n"]
        try:
            return f"{Decimal(number):f}" if 0 < Decimal(number) <= 100 else None
        except InvalidOperation:
            return None

    def _shown(self, step: str | None) -> str:
        name = self._name or _EXAMPLE[self._begun.kind]
        by = f" by {step or 25} %" if self._is_blend else ""
        return f'{self._begun.head} "{name}"{by}:'

    def _found(self, span: Span, message: str, shown: str, behind: str = "", sure: bool = True) -> Diagnostic:
        """``sure``: the only reading of the line, where it then reads."""
        step_said = not self._is_blend or (
            self._step is not None
            and self._per_cent() is not None
            and (self._step["unit"] or "").lower() in ("%", "percent", "per cent", "pct")
        )
        nothing_else = self._is_blend or not self._quoted or not self._rest.strip(" :;.,")
        whole = Span(self._start, self._start + len(self._code))
        fixed = shown + self._line[len(self._code) :]
        certain = (
            sure
            and self._begun.sure
            and bool(self._name)
            and step_said
            and nothing_else
            and self._accepts(fixed, "page") is not None
        )
        edits = (Edit(whole, shown),) if certain else ()
        return Diagnostic(span, message, f"write  {shown}{behind}", edits)
