"""Pages made up and spoilt, and a reader of them that shares nothing with glost: it takes a page line by line, as the
reference of the language has it, and says what is weighed, or that something on the page has no place."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeAlias

from hypothesis import strategies as st

Amount: TypeAlias = tuple[str, Decimal]
"""A material and its parts."""

MATERIALS = (
    "silica",
    "whiting",
    "kaolin",
    "nepheline syenite",
    "potash feldspar",
    "talc",
    "zinc oxide",
    "tin oxide",
    "rutile",
    "red iron oxide",
    "cobalt carbonate",
    "bentonite",
)
"""Names under which the catalogue has these too, so that every output writes them alike."""

# The reference, docs/language.md, by hand.
FIELDS = [
    "cone",
    "atmosphere",
    "surface",
    "colour",
    "origin",
    "date",
    "body",
    "application",
    "firing",
    "use",
    "tags",
    "batch",
    "water",
    "gravity",
    "sieve",
]
TEXT_BELOW = ("surface", "colour", "origin", "body", "application", "firing")
_TITLE = re.compile(r'(?:glaze|engobe|slip|wash|body) +"[^"]+"')
_FIELD = re.compile(r"([a-z]+): *(\S.*)")
_HEAD = re.compile(r'(base|additions|handling|notes):|(variation|series) +"([^"]+)":|([a-z]+):')
_ITEM = re.compile(r" +([a-zA-Z ]+?) +([0-9.]+(?: ?%)?(?:, +[0-9.]+(?: ?%)?)*)")


class NoPlaceError(Exception):
    """A line of the page is no part of any recipe."""


@dataclass
class Block:
    kind: str
    name: str = ""
    items: list[tuple[str, list[str]]] = field(default_factory=list)


@dataclass
class Said:
    """What a page says: its blocks of materials, in order."""

    blocks: list[Block]

    def of(self, kind: str) -> list[Block]:
        return [block for block in self.blocks if block.kind == kind]

    def written(self) -> Counter[tuple[str, str, str, Decimal, str]]:
        """Kind of block, its name, material, amount and unit: each amount of a series by itself."""
        found: Counter[tuple[str, str, str, Decimal, str]] = Counter()
        for block in self.blocks:
            longest = max((len(amounts) for _, amounts in block.items), default=1)
            for name, amounts in block.items:
                for amount in amounts * (longest if len(amounts) == 1 else 1):
                    unit = "%" if amount.endswith("%") else ""
                    found[block.kind, block.name, name, Decimal(amount.rstrip(" %")), unit] += 1
        return found

    def tests(self) -> list[tuple[str, Counter[Amount], Counter[Amount]]]:
        """Label, base and additions of everything that is weighed, in the order of the page; what is 0 is not."""
        base = [item for block in self.of("base") for item in block.items]
        total = sum(Decimal(amounts[0]) for _, amounts in base)

        def parts(amount: str) -> Decimal:
            number = Decimal(amount.rstrip(" %"))
            return number * total / 100 if amount.endswith("%") else number

        own = [(name, parts(a[0])) for block in self.of("additions") for name, a in block.items]
        found = [("", own)]
        for block in self.of("variation"):
            found.append((block.name, _anew(own, [(name, parts(a[0])) for name, a in block.items])))
        for block in self.of("series"):
            longest = max((len(amounts) for _, amounts in block.items), default=0)
            for at in range(longest):
                column = [(name, parts(a[at] if len(a) > 1 else a[0])) for name, a in block.items]
                found.append((f"{block.name} {at + 1}", _anew(own, column)))
        weighed = Counter((name, Decimal(amounts[0])) for name, amounts in base)
        return [(label, weighed, Counter(one for one in lines if one[1])) for label, lines in found]

    def titles(self) -> list[str]:
        """The label of each test with what it sets, as the page has that, in lower case."""
        found = [""]
        for block in self.of("variation"):
            found.append(f"{block.name}: {_set([(name, a[0]) for name, a in block.items])}")
        for block in self.of("series"):
            for at in range(max((len(amounts) for _, amounts in block.items), default=0)):
                column = [(name, a[at] if len(a) > 1 else a[0]) for name, a in block.items]
                found.append(f"{block.name} {at + 1}: {_set(column)}")
        return [title.lower() for title in found]


def _set(items: list[tuple[str, str]]) -> str:
    return ", ".join(
        f"{name} {re.sub(r' ?%', ' %', amount)}" if Decimal(amount.rstrip(" %")) else f"no {name}"
        for name, amount in items
    )


def _anew(own: list[Amount], changes: list[Amount]) -> list[Amount]:
    """A variation sets the additions that it names anew, and keeps the others."""
    named = {name for name, _ in changes}
    return [one for one in own if one[0] not in named] + changes


def read(page: str) -> Said:
    """Raises NoPlaceError for a line that is no part of a recipe, or that would change what another means."""
    blocks: list[Block] = []
    head = ""
    seen: set[str] = set()
    first = True
    for line in page.split("\n"):
        text = re.sub(r" #.*", "", line).rstrip()
        if not text.strip() or text.lstrip().startswith("#"):
            continue
        if first:
            if not _TITLE.fullmatch(text):
                raise NoPlaceError(line)
            first = False
            continue
        if not text.startswith(" "):
            head = _opened(text, seen, blocks)
            continue
        item = _ITEM.fullmatch(text)
        if head in ("base", "additions", "variation", "series"):
            if item is None:
                raise NoPlaceError(line)
            amounts = re.split(", +", item[2])
            if (head != "series" and len(amounts) > 1) or (head == "base" and "%" in item[2]):
                raise NoPlaceError(line)
            blocks[-1].items.append((item[1].lower(), amounts))  # letter case does not matter in a name
        elif (
            head == "notes"
            or (head in TEXT_BELOW and not (item and item[1].lower() in MATERIALS))
            or (head == "handling" and re.fullmatch(r" +[a-zA-Z, ]+: \S.*", text))
        ):
            continue
        else:
            raise NoPlaceError(line)
    if first or "base" not in seen:
        raise NoPlaceError("no title, or no base")
    for block in blocks:
        if not block.items or len({len(amounts) for _, amounts in block.items} - {1}) > 1:
            raise NoPlaceError(block.kind)
    return Said(blocks)


def _opened(text: str, seen: set[str], blocks: list[Block]) -> str:
    """The head or field that a line in column one is; "" for a field that is complete on its line."""
    value, found = _FIELD.fullmatch(text), _HEAD.fullmatch(text)
    key = value[1] if value else found[0].strip(":") if found else ""
    if not key or key in seen:
        raise NoPlaceError(text)
    seen.add(key)
    if value:
        if key not in FIELDS:
            raise NoPlaceError(text)
        return ""
    assert found is not None
    kind = found[1] or found[2] or found[4]
    if found[2] or kind in ("base", "additions"):
        blocks.append(Block(kind, found[3] or ""))
    elif kind not in ("handling", "notes", *TEXT_BELOW):
        raise NoPlaceError(text)
    return kind


# ---- made up ---------------------------------------------------------------------------------------------

_amount = st.one_of(
    st.integers(1, 60).map(str),
    st.tuples(st.integers(1, 30), st.integers(1, 99)).map(lambda n: f"{n[0]}.{n[1]}"),
)
_addition = st.one_of(_amount, _amount, st.integers(1, 12).map(lambda number: f"{number} %"))
_names = st.lists(st.sampled_from(MATERIALS), min_size=1, max_size=4, unique=True)
_INDENT = "    "


@st.composite
def valid(draw: st.DrawFn) -> str:
    """A page that says nothing which has no place."""
    lines = ['glaze "Made Up"']
    lines += draw(
        st.lists(
            st.sampled_from(
                [
                    "cone: 6",
                    "atmosphere: oxidation",
                    "surface: satin",
                    "batch: 100 g",
                    "water: 60 %",
                    "tags: a, b",
                ]
            ),
            unique=True,
            max_size=4,
        )
    )
    if draw(st.booleans()):
        lines += ["origin:", f"{_INDENT}own test", f"{_INDENT}from the old board"]
    sections = [["base:", *_items(draw, _amount)]]
    if draw(st.booleans()):
        sections.append(["additions:", *_items(draw, _addition)])
    for name in draw(st.lists(st.sampled_from(["storm", "calm"]), unique=True, max_size=2)):
        sections.append([f'variation "{name}":', *_items(draw, _addition)])
    if draw(st.booleans()):
        columns = draw(st.integers(1, 4))
        steps = [
            f"{_INDENT}{name}  {', '.join(draw(_amount) for _ in range(columns))}" for name in draw(_names)
        ]
        sections.append(['series "steps":', *steps])
    if draw(st.booleans()):
        sections.append(["handling:", f"{_INDENT}all: P100 respirator and gloves; wet-clean."])
    if draw(st.booleans()):
        sections.append(["notes:", f"{_INDENT}silica 5 was too much", f"{_INDENT}fire it once more"])
    for section in draw(st.permutations(sections)):
        lines += ["", *section]
    return "\n".join(lines) + "\n"


def _items(draw: st.DrawFn, amounts: st.SearchStrategy[str]) -> list[str]:
    lines = [f"{_INDENT}{name}  {draw(amounts)}" for name in draw(_names)]
    if draw(st.integers(0, 5)) == 0:
        lines.insert(draw(st.integers(0, len(lines))), f"{_INDENT}# weigh this one last")
    return lines


HEADS_MISSPELT = [
    "add:",
    "adds:",
    "addition:",
    "additons:",
    "aditions:",
    "plus:",
    "additives:",
    "colorants:",
    "colourants:",
    "colors:",
    "oxides:",
    "extras:",
    "ingredients:",
    "recipe:",
    "materials:",
    "glaze-base:",
    "bass:",
    "remarks:",
    "note:",
    "comments:",
    "safety:",
    "hazards:",
    "handlng:",
    "shelf:",
    "Base:",
    "ADDITIONS:",
    "Notes:",
    "colour:",
    "origin:",
    "firing:",
    "body:",
    "cone:",
    "batch:",
    "tags:",
    "base",
    "additions",
    "notes:",
    "handling",
]
FIELDS_MISSPELT = (
    "surfase: satin",
    "wate: 60 %",
    "bach: 500 g",
    "Cone: 6",
    "color: blue",
    "shelf: 3",
    "sieve 100",
)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """A page with one to three slips of the keyboard in it."""
    lines = draw(valid()).split("\n")[:-1]
    for _ in range(draw(st.integers(1, 3))):
        _spoil(draw, lines)
    return "\n".join(lines) + "\n"


def _spoil(draw: st.DrawFn, lines: list[str]) -> None:
    at = draw(st.integers(0, len(lines) - 1))
    heads = [n for n, line in enumerate(lines) if line and not line.startswith(" ") and line.endswith(":")]
    head = draw(st.sampled_from(heads)) if heads else at
    match draw(st.integers(0, 11)):
        case 0 | 1 | 2:
            lines[head] = draw(st.sampled_from(HEADS_MISSPELT))
        case 3:
            lines[head] = lines[head].rstrip(":")
        case 4:
            lines[at] = lines[at].lstrip(" ")
        case 5:
            lines[at] = _INDENT + lines[at]
        case 6:
            lines.insert(draw(st.integers(1, len(lines))), lines[at])
        case 7:
            del lines[at]
            lines[:] = lines or ["#"]
        case 8:
            lines[at] = draw(st.sampled_from([str.upper, str.capitalize, str.title]))(lines[at])
        case 9:
            lines.insert(draw(st.integers(1, len(lines))), draw(st.sampled_from(FIELDS_MISSPELT)))
        case 10:
            lines.insert(draw(st.integers(1, len(lines))), f"{_INDENT}{draw(st.sampled_from(MATERIALS))}  3")
        case _:
            other = draw(st.integers(0, len(lines) - 1))
            lines[at], lines[other] = lines[other], lines[at]
