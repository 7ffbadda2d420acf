"""What the page's script reads: all rows, compact. Every text stands once, and is named by its number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any
from urllib.parse import quote

from glost.output.batch_sheet import Caution, Hazards
from glost.output.catalog.hazard_groups import ALL, groups_on_record
from glost.output.catalog.rows import About, Fired, Row, Weighed, amount_text
from glost.output.escape import visible, visible_lines
from glost.output.parts_bar import UNKNOWN
from glost.recipe.materials.catalogue import key
from glost.recipe.safety.statements import plain_text

_READ = ("whole", "in part", "not at all")


def held(
    rows: Sequence[Row],
    aliases: Mapping[str, tuple[str, ...]],
    tones: Mapping[str, str] = MappingProxyType({}),
    sheets: Mapping[tuple[str, str], str] = MappingProxyType({}),
    small: Mapping[str, str] = MappingProxyType({}),
) -> dict[str, Any]:
    """``tones``: the tone of each material in the bar of a test, in the order of the materials. ``sheets``: place of a
    row to the address of its sheet, for those that have one. ``texts``: every text.
    ``materials``: name and other names. ``statements``: H code to its text. ``groups``: key
    and words of each group of hazards, in the order of the bits of a harm's mask. ``harms``, ``bases``, ``abouts``,
    ``rows``: see the methods of _Packer; each names those before it by their place."""
    packer = _Packer(aliases, small)
    packed = [packer.row(row) for row in rows]
    codes = sorted({code for row in rows for listed in row.hazards.listed for code in listed.codes})
    return {
        "statements": {code: plain_text(code) or "" for code in codes},
        "groups": [[group.key, group.short, group.words] for group in ALL],
        "materials": packer.materials,
        "texts": list(packer.texts),
        "harms": packer.harms,
        "bases": list(map(list, packer.bases)),
        "abouts": packer.abouts,
        "rows": packed,
        "tones": [tones.get(name, UNKNOWN) for name in packer.names],
        "sheets": {
            at: sheets[row.about.file, row.test]
            for at, row in enumerate(rows)
            if (row.about.file, row.test) in sheets
        },
    }


class _Packer:
    def __init__(self, aliases: Mapping[str, tuple[str, ...]], small: Mapping[str, str]) -> None:
        self._aliases = aliases
        self._small = small
        self.texts: dict[str, int] = {}
        self.materials: list[list[Any]] = []
        self.names: list[str] = []
        self._materials: dict[str, int] = {}
        self.harms: list[list[Any]] = []
        self._harms: dict[tuple[Hazards, tuple[Caution, ...]], int] = {}
        self._met: dict[tuple[int, int], int] = {}
        self.bases: dict[tuple[tuple[int, ...], ...], int] = {}
        self.abouts: list[list[Any]] = []
        self._abouts: dict[int, int] = {}

    def row(self, row: Row) -> list[Any]:
        """about, line, test, base, additions, harm, what the test sets; and the newest tile: date, firing, tile, cone,
        surface, colour, faults, remarks, and the way to its picture as an address, and a small one as that of an
        image, "" where there is none; 0 for no tile."""
        return [
            self._about(row),
            row.line,
            self._text(row.test),
            self._base(row),
            [self._weighed(one) for one in row.weighed if not one.base],
            self._harm(row.hazards, row.cautions),
            self._text(row.sets),
            self._fired(row.fired) if row.fired else 0,
        ]

    def _fired(self, fired: Fired) -> list[Any]:
        text = self._text
        plain = (fired.date, fired.firing, fired.tile, fired.cone, fired.surface, fired.colour)
        return [
            *map(text, plain),
            [text(one) for one in fired.faults],
            text(fired.remarks),
            f"./{quote(fired.photo)}" if fired.photo else "",
            self._small.get(fired.photo, ""),
        ]

    def _about(self, row: Row) -> int:
        """file, read (0 whole, 1 in part, 2 not at all), kind, name, cone, its two numbers, atmosphere, surface,
        colour, use, date, tags, further fields as pairs, notes, findings, revision."""
        at = self._abouts.get(id(row.about))
        if at is None:
            at = self._abouts[id(row.about)] = len(self.abouts)
            self.abouts.append(self._packed(row.about, row))
        return at

    def _packed(self, about: About, row: Row) -> list[Any]:
        text = self._text
        revision = row.revision
        return [
            text(about.file),
            _READ.index(about.read),
            *map(text, (about.kind, about.name, about.cone)),
            *(None if end is None else float(end) for end in (about.cone_low, about.cone_high)),
            *map(text, (about.atmosphere, about.surface, about.colour, about.use, about.date)),
            [text(tag) for tag in about.tags],
            [[text(name), text(said)] for name, said in about.others],
            text(about.notes),
            [
                [text(one.rule), text(one.level), one.line, text(one.message), text(one.hint)]
                for one in row.findings
            ],
            [text(revision.short), text(revision.day), int(revision.changed)] if revision else 0,
        ]

    def _base(self, row: Row) -> int:
        """The amounts of a base. Most tests share that of their recipe; one that sets it anew has its own."""
        base = tuple(self._weighed(one) for one in row.weighed if one.base)
        return self.bases.setdefault(base, len(self.bases))

    def _weighed(self, one: Weighed) -> tuple[int, int, int, int]:
        """material, amount; as written where that is another name, and the note: -1 where there is none."""
        other = one.material is not None and one.name != one.material
        return (
            self._material(one.called),
            self._text(amount_text(one)),
            self._text(one.name) if other else -1,
            self._text(one.note) if one.note else -1,
        )

    def _material(self, name: str) -> int:
        folded = key(name)
        at = self._materials.get(folded)
        if at is None:
            at = self._materials[folded] = len(self.materials)
            self.names.append(name)
            self.materials.append(
                [self._text(name), [self._text(one) for one in self._aliases.get(name, ())]]
            )
        return at

    def _harm(self, hazards: Hazards, cautions: tuple[Caution, ...]) -> int:
        """Statements as material, codes and source; materials without one; names that are not known; restricted ones
        and what makes them so; cautions and the materials that call for each; and the mask of the groups."""
        # Rows of one process share what they hold, and are told apart at once; those of two have two objects.
        same = id(hazards), id(cautions)
        at = self._met.get(same)
        if at is None:
            at = self._met[same] = self._harms.setdefault((hazards, cautions), len(self.harms))
        if at == len(self.harms):
            text = self._text
            groups = groups_on_record(hazards)
            self.harms.append(
                [
                    [[text(one.material), one.codes, text(one.cited)] for one in hazards.listed],
                    list(map(text, hazards.silent)),
                    list(map(text, hazards.unknown)),
                    [[text(name), text(what)] for name, what in hazards.restricted],
                    [[text(one.text), list(map(text, one.materials))] for one in cautions],
                    sum(1 << bit for bit, group in enumerate(ALL) if group.key in groups),
                ]
            )
        return at

    def _text(self, text: str) -> int:
        known = self.texts.get(text)
        if known is None:
            fit = "\n".join(visible_lines(text)) if "\n" in text else visible(text)
            known = self.texts.setdefault(fit, len(self.texts))
        return known
