"""Every error of glost is one of a family, says what is wrong and how to put it right apart, and loses neither."""

from __future__ import annotations

import ast
import importlib
import inspect
import pickle
import pkgutil
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import glost
from glost.errors import FIRST, GlostError, Position, ValueRefusedError, message_and_hint, refused_at
from glost.language.exact_json import JsonError, loaded
from glost.language.source import DecodeError, Source
from glost.language.yaml_tree import ConfigError
from glost.output.formats.csv import CellError
from glost.recipe.fields import FIELDS
from glost.weighing.units import UnitError, read_mass

SOURCES = sorted((Path(glost.__file__).parent).rglob("*.py"))

# A run is ended by them; they are no errors.
_ENDINGS = (SystemExit, KeyboardInterrupt)


def modules() -> Iterator[str]:
    for module in pkgutil.walk_packages(glost.__path__, "glost."):
        if not module.name.endswith("__main__"):
            yield module.name


def exceptions() -> list[type[BaseException]]:
    found = {
        thing
        for name in modules()
        for thing in vars(importlib.import_module(name)).values()
        if inspect.isclass(thing)
        and issubclass(thing, BaseException)
        and thing.__module__.startswith("glost")
    }
    return sorted(found, key=lambda one: f"{one.__module__}.{one.__qualname__}")


def test_every_error_is_of_one_family() -> None:
    found = exceptions()
    assert len(found) > 25
    assert [one for one in found if not issubclass(one, (GlostError, *_ENDINGS))] == []


def test_no_error_is_defined_where_the_walk_does_not_see_it() -> None:
    """A class inside a function, or one that no module holds under its name."""
    known = {one.__name__ for one in exceptions()}
    bases = known | {
        "Exception",
        "ValueError",
        "OSError",
        "RuntimeError",
        "TypeError",
        "KeyError",
        "LookupError",
    }
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef) and {ast.unparse(base) for base in node.bases} & bases:
                assert node.name in known, f"{path.name}:{node.lineno}: {node.name}"


# Names that an error, or what it says, has in this code.
_SAYS = r"(?:error|why|found|refused|caught|said|told|reason|complaint|message|hint)"
_PARTED = [
    re.compile(r"""\.r?(?:partition|split)\(\s*["'][;:.] ["']"""),  # "what; hint"
    re.compile(rf"str\({_SAYS}\)\.r?(?:partition|split|removeprefix|replace|startswith|find|index)\("),
    re.compile(
        r"\.(?:message|hint)\.r?(?:partition|split|removeprefix|startswith|find|index)\((?!\"\{others)"
    ),
    re.compile(rf"""["'] in (?:str\({_SAYS}\)|\w+\.(?:message|hint|args)\b)"""),
]


@pytest.mark.parametrize("pattern", _PARTED, ids=("separator", "text of an error", "its message", "sniffed"))
def test_nobody_takes_an_error_apart_by_its_words(pattern: re.Pattern[str]) -> None:
    """A text of the user's own stands in it, which may hold any sign and any word."""
    allowed = {"layout.py"}  # the figures and blanks of a line, no error
    found = [
        f"{path.name}:{number}: {line.strip()}"
        for path in SOURCES
        if path.name not in allowed
        for number, line in enumerate(path.read_text("utf-8").split("\n"), 1)
        if pattern.search(line)
    ]
    assert found == []


@pytest.mark.parametrize(
    "line",
    [
        'message, _, hint = str(error).partition("; ")',
        "what = message.split('; ')",
        'text = str(why).removeprefix("line 1, ")',
        'if "recipe" in error.hint:',
        'if "is written" in str(said):',
        'head = error.message.split(";")[0]',
    ],
)
def test_the_patterns_see_what_they_are_for(line: str) -> None:
    assert any(pattern.search(line) for pattern in _PARTED)


def _said(source: ast.expr) -> str:
    """What a text of the sources says, with "{}" for what is put into it; "" where it is no text."""
    if isinstance(source, ast.JoinedStr):
        return "".join(_said(one) or "{}" for one in source.values)
    return source.value if isinstance(source, ast.Constant) and isinstance(source.value, str) else ""


def _badly_said(texts: list[str]) -> list[str]:
    """Message and hint are put behind a place and one behind the other, so that none begins or ends a sentence, and
    what to write stands in the hint."""
    wrong = [text for text in texts if re.match(r"(?:A|[A-Z][a-z]+) ", text) or text.endswith(".")]
    return wrong + [text for text in texts[:1] if ": write " in text]


def test_messages_and_hints_are_no_sentences_of_their_own() -> None:
    found = []
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            called = ast.unparse(node.func) if isinstance(node, ast.Call) else ""
            if isinstance(node, ast.Call) and called.endswith("Error") and not called.endswith("UsageError"):
                texts = [text for one in node.args if (text := _said(one))]
                found += [f"{path.name}:{node.lineno}: {text}" for text in _badly_said(texts)]
    assert found == []


def test_a_sentence_is_seen_where_one_stands() -> None:
    assert _badly_said(["A batch of {} g", "write it."]) == ["A batch of {} g", "write it."]
    assert _badly_said(["'{}' is none: write such as 1"]) == ["'{}' is none: write such as 1"]
    assert _badly_said(["a batch: it is empty", "write such as: 1"]) == []


# ---- as one text, and in another process ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (GlostError("a; b"), "a; b"),
        (GlostError("a; b", "c; d"), "a; b; c; d"),
        (DecodeError("a", "b"), "a; b"),
        (ConfigError(Source("glost.yaml", "x: 1\n"), FIRST, "a", "b"), "a; b"),
        (JsonError("a", "b", 3, 4), "line 3, column 4: a; b"),
        (JsonError("a", "b", 3), "line 3: a; b"),
        (JsonError("a", "b"), "a; b"),
        (CellError(3, "cone", "a", "b"), "row 3, column cone: a; b"),
        (
            UnitError("the unit 'lbs' is written lb", "write 5 lb", "lb"),
            "the unit 'lbs' is written lb; write 5 lb",
        ),
    ],
    ids=lambda one: type(one).__name__ if isinstance(one, Exception) else None,
)
def test_an_error_is_the_same_in_another_process(error: GlostError, text: str) -> None:
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert (str(again), again.message, again.hint, again.position) == (
        text,
        error.message,
        error.hint,
        error.position,
    )


def test_a_place_is_put_before_what_is_wrong_and_not_before_the_hint() -> None:
    placed = refused_at("line; 1", ValueRefusedError("'a; b' is none", "write c; d"))
    assert (placed.message, placed.hint) == ("line; 1: 'a; b' is none", "write c; d")
    assert message_and_hint(ValueError("a; b")) == ("a; b", "")


def test_a_json_error_knows_its_line_and_moves_to_that_of_a_file() -> None:
    with pytest.raises(JsonError) as caught:
        loaded('{"a": 1,\n "b; c"}')
    assert caught.value.position == Position(2, 8)
    moved = JsonError("'b; line 1, c' is none", "write d").on_line(7)
    assert (moved.message, moved.hint, moved.position) == (
        "'b; line 1, c' is none",
        "write d",
        Position(7, 1),
    )


# ---- a user's own semicolons ----------------------------------------------------------------------------


@pytest.mark.parametrize("own", ["6; write such as 06", "; ", "a; did you mean b; c", "5 g; 6 g"])
@pytest.mark.parametrize(
    "read",
    [*(field.read for key, field in FIELDS.items() if key in ("cone", "batch", "date", "water")), read_mass],
)
def test_a_value_with_semicolons_stays_whole(read: Callable[[str], object], own: str) -> None:
    with pytest.raises(ValueRefusedError) as caught:
        read(own)
    assert own.partition(" ")[2].strip() in caught.value.message
    assert caught.value.hint
