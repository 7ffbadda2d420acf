"""Which statements call for a handling note, and where the texts come from."""

import pytest

from glost.recipe.safety import statements
from glost.recipe.safety.statements import CLASSES, classes_of, needs_note, statement_text


@pytest.mark.parametrize(
    ("code", "classes"),
    [
        ("H300", ("acute",)),
        ("H302*", ("acute",)),
        ("H332", ("acute",)),
        ("H317", ("sensitising",)),
        ("H334", ("sensitising",)),
        ("H340", ("mutagenic",)),
        ("H341", ("mutagenic",)),
        ("H350", ("carcinogenic",)),
        ("H350i", ("carcinogenic",)),
        ("H351", ("carcinogenic",)),
        ("H360FD", ("reproductive",)),
        ("H360Df", ("reproductive",)),
        ("H361fd", ("reproductive",)),
        ("H362", ("reproductive",)),
        ("H370", ("chronic",)),
        ("H372", ("chronic",)),
        ("H373", ("chronic",)),
        ("H314", ("corrosive",)),
        ("H318", ("eyes",)),
        ("H270", ("fire",)),
        ("H271", ("fire",)),
        ("h272*", ("fire",)),
        ("h372 ", ("chronic",)),
        ("H302+H332", ("acute",)),
        ("H315+H317", ("sensitising",)),
    ],
)
def test_codes_that_call_for_a_note(code: str, classes: tuple[str, ...]) -> None:
    assert classes_of(code) == classes
    assert needs_note([code]) == (code,)


@pytest.mark.parametrize(
    "code",
    [
        "H400",
        "H410",
        "H411",
        "H412",
        "H413",
        "H315",
        "H319",
        "H335",
        "H336",
        "H290",
        "H228",
        "H260",
        "P260",
        "",
        "H",
        "+",
    ],
)
def test_codes_that_do_not(code: str) -> None:
    assert classes_of(code) == ()
    assert needs_note([code]) == ()


def test_order_stays_and_repeats_go() -> None:
    assert needs_note(["H410", "H372", "H317", "H372", "H319"]) == ("H372", "H317")
    assert needs_note(iter(["H302"])) == ("H302",)


def test_every_class_is_spelled_out() -> None:
    assert set(CLASSES) == {
        "acute",
        "chronic",
        "sensitising",
        "carcinogenic",
        "mutagenic",
        "reproductive",
        "corrosive",
        "eyes",
        "fire",
    }
    every = [code for codes in CLASSES.values() for code in codes]
    assert len(every) == len(set(every))


@pytest.fixture
def texts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        statements, "_statements", lambda: {"H360Fd": "one", "H360FD": "two", "H302+H332": "both"}
    )


@pytest.mark.usefixtures("texts")
def test_a_text_is_looked_up_as_written() -> None:
    assert statement_text("H360Fd") == "one"
    assert statement_text(" H360FD") == "two"
    assert statement_text("H302+H332") == "both"
    assert statement_text("H302*+H332*") == "both"
    assert statement_text("H999") is None


def test_every_code_that_calls_for_a_note_has_a_text() -> None:
    for codes in CLASSES.values():
        for code in codes:
            assert statement_text(code), code
