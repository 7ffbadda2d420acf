"""Records of any kind, one that stands for all, and its JSON."""

from __future__ import annotations

import unicodedata
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from glost.language.exact_json import written
from glost.records.record import TAKEN, Line, Record, Rescued, Revision, UsedPage, data

D = Decimal

MIST = Record(
    recorded_at="2026-03-14T10:22:05+01:00",
    person="R. T.",
    project="spring tiles",
    recipe="Harbour Mist",
    test="storm",
    file="stoneware/harbour-mist.glost",
    revision=Revision("5c1e0aa", True),
    base_mass_g=D(200),
    lines=(
        Line("silica", "flint", True, D("120.0"), D("120.1"), "S-94a", "floor"),
        Line("whiting", "whiting", True, D("80.0"), D("79.9"), "", "floor"),
        Line("cobalt carbonate", "cobalt carbonate", False, D("2.00"), D("2.01"), "CC-70a", "fine"),
    ),
    water_g=D(156),
    sieve="100 mesh",
    remarks="Sieved twice.\nA little thin.",
    checked_by="M. O.",
)


GROWN = replace(
    MIST,
    version=2,
    weighed_on="2026-03-13",
    planned_base_g=D(190),
    rescues=(Rescued("2026-03-13T23:58:00+01:00", "silica", D("114.0"), D("120.1"), D(200)),),
    lines=tuple(
        replace(line, planned_g=D(planned), taken=taken, at=f"2026-03-{at}:00+01:00")
        for line, planned, taken, at in zip(
            MIST.lines,
            ("114.0", "76.0", "1.90"),
            ("read", "partly", "ticked"),
            ("13T23:57", "14T00:03", "14T00:04"),
            strict=True,
        )
    ),
)
"""The same of the second version: made larger on the way, over midnight."""

BLENDED = replace(
    GROWN,
    version=3,
    recipe="Mist To Ebb",
    test="line 50/50",
    file="blends/mist-to-ebb.glost",
    uses=(
        UsedPage("glaze", "Harbour Mist", "stoneware/harbour-mist.glost", Revision("5c1e0aa", False)),
        UsedPage("glaze", "Clear Ebb, with a comma", "clear-ebb.glost", Revision("9fe13da", True)),
        UsedPage("slip", "Low Cloud", "", None),
    ),
)
"""And of the third: made of other recipes."""


def json_of(record: Record = MIST, **changes: Any) -> str:
    """The JSON that the page would save of it, some keys changed; a key whose value is ... is left out."""
    value = {**data(record), **changes}
    return written({key: one for key, one in value.items() if one is not ...}) + "\n"


def at(moment: str, **changes: Any) -> Record:
    return replace(MIST, recorded_at=moment, **changes)


def steers(text: str) -> bool:
    """Whether a terminal would obey something in it, or turn the direction of writing."""
    return any(
        unicodedata.category(character) in ("Cc", "Zl", "Zp") or "\u202a" <= character <= "\u202e"
        for character in text.replace("\n", "")
    )


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30) | st.sampled_from(
    ["", "-", "|", '"', '"a"', "a | b", "\\", "a: b", " a", "a ", "a\nb", "a\n\nb", "    a", "\r", "a\r\nb", "\u202e",
     "\u2028", "\x85", "\xa0", "\ufeff", "=1+1", "# a", "0.10", "remarks:", "null", "a\n|b|", "| --- |"]
)  # fmt: skip
names = texts.filter(bool)
masses = st.decimals(min_value=0, max_value=10**9, allow_nan=False, places=6) | st.sampled_from(
    [D(0), D("0.000000001"), D("0.10"), D("100"), D("999999999")]
)
moments = st.builds(
    lambda moment, minutes: moment.replace(
        microsecond=0, tzinfo=timezone(timedelta(minutes=minutes))
    ).isoformat(),
    st.datetimes(datetime(2000, 1, 1), datetime(2099, 12, 31)),
    st.integers(-720, 840),
)
lines = st.builds(Line, names, names, st.booleans(), masses, st.none() | masses, texts, texts)
taken = st.tuples(masses, st.sampled_from(("", *TAKEN)), st.just("") | moments)
grown_lines = st.builds(
    lambda line, more: replace(
        line, planned_g=more[0], taken="" if line.actual_g is None else more[1], at=more[2]
    ),
    lines,
    taken,
)
_said: dict[str, Any] = {
    "recorded_at": moments,
    "person": texts,
    "project": texts,
    "recipe": texts,
    "test": texts,
    "file": texts,
    "revision": st.none() | st.builds(Revision, names, st.booleans()),
    "base_mass_g": masses,
    "water_g": st.none() | masses,
    "sieve": texts,
    "remarks": texts,
    "checked_by": texts,
}
first = st.builds(Record, lines=st.lists(lines, min_size=1, max_size=5).map(tuple), **_said)
grown = st.builds(
    Record,
    lines=st.lists(grown_lines, min_size=1, max_size=5).map(tuple),
    version=st.just(2),
    weighed_on=st.just("") | st.dates(date(2000, 1, 1), date(2099, 12, 31)).map(str),
    planned_base_g=masses,
    rescues=st.lists(st.builds(Rescued, moments, names, masses, masses, masses), max_size=3).map(tuple),
    **_said,
)
words = st.text(st.sampled_from("0123456789abcdef"), min_size=1, max_size=12) | names
used = st.builds(
    UsedPage,
    st.sampled_from(("glaze", "slip")),
    names,
    texts,
    st.none() | st.builds(Revision, words, st.booleans()),
)
third = st.builds(
    lambda record, uses: replace(record, version=3, uses=tuple(uses)), grown, st.lists(used, max_size=3)
)
records = first | grown | third
