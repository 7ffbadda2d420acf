"""For any page: what each output says is weighed is what stands on the page, to the last material and amount, or there
is no output."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from decimal import Decimal

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings

from glost.cli.app import app
from tests.conftest import Run
from tests.gate import outputs
from tests.gate.pages import NoPlaceError, Said, read, spoilt, valid

once = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
    database=None,
)


def put_out(page: str, *arguments: str) -> str | None:
    """What a command writes for a page on standard input; None where it refuses."""
    done = CliRunner().invoke(
        app, [arguments[0], "-", *arguments[1:]], input=page.encode("utf-8"), standalone_mode=False
    )
    if done.exception is not None:
        raise done.exception
    assert done.return_value in (0, 1, 2)
    if not done.return_value:
        return done.stdout
    assert done.stderr
    return None


def check_written(text: str, said: Said, back: Callable[[str], outputs.Written]) -> None:
    assert back(text) == said.written()


def check_weighed(text: str, said: Said, back: Callable[[str], list[outputs.Test]]) -> None:
    assert back(text) == said.tests()


def check_titled(text: str, said: Said, back: Callable[[str], list[outputs.Test]]) -> None:
    """As check_weighed, where the label is followed by what the test sets."""
    weighed = [(title, *sides) for title, (_, *sides) in zip(said.titles(), said.tests(), strict=True)]
    assert back(text) == weighed


def check_formula(text: str, said: Said) -> None:
    fired = [(label, base + additions) for label, base, additions in said.tests()]
    assert [(label, _sums(lines)) for label, lines in outputs.weighed_formula(text)] == [
        (label, _sums(lines)) for label, lines in fired
    ]


def _sums(lines: Counter[tuple[str, Decimal]]) -> dict[str, Decimal]:
    sums: dict[str, Decimal] = {}
    for (name, parts), count in lines.items():
        sums[name] = sums.get(name, Decimal(0)) + parts * count
    return {name: parts.normalize() for name, parts in sums.items() if parts}


def whole_of(lines: Counter[tuple[str, Decimal]]) -> Decimal:
    return sum((parts * count for (_, parts), count in lines.items()), Decimal(0))


def check_session(text: str, said: Said) -> None:
    """Grams that a display of 0.1 g shows, of a base of 100 g."""
    for (label, *sides), (wanted_label, *wanted) in zip(
        outputs.weighed_session(text), said.tests(), strict=True
    ):
        total = whole_of(wanted[0])
        assert label == wanted_label
        for grams, parts in zip(sides, wanted, strict=True):
            shown = sorted(grams.elements())
            exact = sorted((name, one * 100 / total) for name, one in parts.elements() if one)
            assert [name for name, _ in shown] == [name for name, _ in exact]
            assert all(abs(a - b) <= Decimal("0.1") for (_, a), (_, b) in zip(shown, exact, strict=True))


def check_labels(text: str, said: Said) -> None:
    for (label, facts), title, (_, base, additions) in zip(
        outputs.labelled(text), said.titles(), said.tests(), strict=True
    ):
        assert label == title
        total = whole_of(base)
        whole = total + whole_of(additions)
        shown = re.search(r"([0-9.]+) g in all", facts)
        assert shown is not None
        lines = len(list(base.elements())) + len(list(additions.elements()))
        assert abs(Decimal(shown[1]) - whole * 100 / total) <= Decimal("0.1") * lines


WAYS: dict[tuple[str, ...], Callable[[str, Said], None]] = {
    ("convert", "--to", "sheet"): lambda text, said: check_titled(text, said, outputs.weighed_sheet),
    ("convert", "--to", "markdown"): lambda text, said: check_weighed(text, said, outputs.weighed_markdown),
    ("convert", "--to", "html"): lambda text, said: check_titled(text, said, outputs.weighed_html),
    ("convert", "--to", "labels"): check_labels,
    ("convert", "--to", "csv"): lambda text, said: check_written(text, said, outputs.written_csv),
    ("convert", "--to", "json"): lambda text, said: check_written(text, said, outputs.written_json),
    ("convert", "--to", "jsonl"): lambda text, said: check_written(text, said, outputs.written_jsonl),
    ("batch", "--batch", "100 g", "--output", "json"): lambda text, said: check_weighed(
        text, said, outputs.weighed_batch
    ),
    ("session", "--batch", "100 g", "--output", "json"): check_session,
    ("formula", "--output", "json"): check_formula,
}
each_way = pytest.mark.parametrize("way", WAYS, ids=lambda way: way[2] if way[0] == "convert" else way[0])


@each_way
def test_a_page_comes_out_whole(way: tuple[str, ...]) -> None:
    @once
    @given(valid())
    def check(page: str) -> None:
        said = read(page)
        text = put_out(page, *way)
        assert text is not None, "a page on which everything has its place is not refused"
        WAYS[way](text, said)

    check()


@each_way
def test_a_page_with_slips_comes_out_whole_or_not_at_all(way: tuple[str, ...]) -> None:
    @once
    @given(spoilt())
    def check(page: str) -> None:
        text = put_out(page, *way)
        if text is None:
            return
        try:
            said = read(page)
        except NoPlaceError as line:
            raise AssertionError(f"this was left out, and the rest came out: {line}") from None
        WAYS[way](text, said)

    check()


@pytest.mark.parametrize(
    "way", [("convert", "--to", "sheet"), ("batch", "--batch", "100 g", "--output", "json")]
)
@pytest.mark.parametrize("head", ["additions:", "adds:", "Additions:", "additions", "tags:"])
def test_a_process_does_the_same(run: Run, way: tuple[str, ...], head: str) -> None:
    page = f'glaze "Made Up"\nbase:\n    silica  60\n    whiting  40\n{head}\n    rutile  2.5\n'
    done = run(way[0], "-", *way[1:], stdin=page)
    if head == "additions:":
        assert done.returncode == 0
        WAYS[way](done.stdout, read(page))
    else:
        assert done.returncode == 1
        assert "rutile" not in done.stdout
        assert re.match(r"-:[56]:[159]: error:", done.stderr)
