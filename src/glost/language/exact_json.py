"""JSON out of strange hands, exact, and checked against a schema; and JSON written so that it stays exact.

Numbers are Decimals in both directions.
"""

from __future__ import annotations

import functools
import json
import re
from collections.abc import Callable, Iterable
from decimal import Decimal, InvalidOperation
from json.encoder import encode_basestring, encode_basestring_ascii
from typing import TYPE_CHECKING, Any, NoReturn

from glost.errors import Position, ValueRefusedError
from glost.language.shipped import shipped
from glost.language.tables import json_escape, steers_nothing, unprintable

if TYPE_CHECKING:
    from jsonschema.exceptions import ValidationError
    from jsonschema.protocols import Validator

LARGEST = 8 * 1024 * 1024
"""Bytes."""
DEEPEST = 50
_LINE = 110
"""Columns up to which an object stands on one line."""
_LONGEST_NUMBER = 60

# Always matches from a quote on, and never goes back, so that no text makes it slow.
_BRACKETS = re.compile(r'"(?:[^"\\]|\\.)*+(?:"|\\?\Z)|[\[\]{}]', re.DOTALL)


# ---- writing -------------------------------------------------------------------------------------------


def written(value: Any, indent: int | None = 0) -> str:
    """``value`` as JSON, Decimals with every digit. What fits stands on one line, the rest two blanks further
    in; with ``indent`` None all of it stands on one line."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if value is None or isinstance(value, (bool, int)):
        return json.dumps(value)
    if isinstance(value, str):
        quoted = encode_basestring(value)  # what json.dumps() calls, at a third of the time
        return quoted if steers_nothing(quoted) else unprintable().sub(json_escape, quoted)
    if indent is None or _flat(value):
        line = ", ".join(_entries(value, None))
        line = f"{{{line}}}" if isinstance(value, dict) else f"[{line}]"
        if indent is None or not value or len(line) + indent <= _LINE:
            return line
    assert indent is not None
    edge = " " * (indent + 2)
    lines = ",\n".join(edge + entry for entry in _entries(value, indent + 2))
    return f"{{\n{lines}\n{' ' * indent}}}" if isinstance(value, dict) else f"[\n{lines}\n{' ' * indent}]"


def _flat(value: dict[str, Any] | list[Any]) -> bool:
    """Whether there is nothing in it but single values and lists of those."""
    inside = value.values() if isinstance(value, dict) else value
    return all(
        not inner
        or (
            not isinstance(inner, dict)
            and (not isinstance(inner, list) or not any(isinstance(one, (dict, list)) for one in inner))
        )
        for inner in inside
    )


def _entries(value: dict[str, Any] | list[Any], indent: int | None) -> Iterable[str]:
    if isinstance(value, dict):
        return (f"{encode_basestring_ascii(key)}: {written(inner, indent)}" for key, inner in value.items())
    return (written(inner, indent) for inner in value)


# ---- reading -------------------------------------------------------------------------------------------


class JsonError(ValueRefusedError):
    """A text that is no JSON, or not the JSON that is needed. ``line`` and ``column`` count from 1; 0 where the place
    is not known by them."""

    def __init__(self, message: str, hint: str = "", line: int = 0, column: int = 0) -> None:
        super().__init__(message, hint, Position(line, max(column, 1)) if line else None)
        self.line = line
        self.column = column

    def __str__(self) -> str:
        place = f"line {self.line}" if self.line else ""
        place += f", column {self.column}" if self.line and self.column else ""
        return f"{place}: {super().__str__()}" if place else super().__str__()

    def on_line(self, number: int) -> JsonError:
        """The same in a text that is this line of a file."""
        return JsonError(self.message, self.hint, number, self.column)


def loaded(text: str, most: int = LARGEST) -> Any:
    """The JSON value in a text of at most so many bytes, numbers as Decimals. Raises ValueError for what is too large,
    too deep, no JSON, or says one thing twice."""
    text = text.removeprefix("\ufeff")
    size = len(text.encode("utf-8", "surrogatepass"))
    if size > most:
        raise JsonError(
            f"this text holds {size:,} bytes", f"{most:,} are read at most: split it into several"
        )
    _check_depth(text)
    try:
        value = json.loads(
            text, parse_float=_number, parse_int=_number, parse_constant=_constant, object_pairs_hook=_object
        )
    except json.JSONDecodeError as error:
        said = error.msg[:1].lower() + error.msg[1:]
        raise JsonError(f"this is not JSON: {said}", "", error.lineno, error.colno) from None
    if "\\u" in text or not text.isascii():
        _check_characters(value)
    return value


def _check_depth(text: str) -> None:
    depth = 0
    for found in _BRACKETS.finditer(text):
        if found[0] in "[{":
            depth += 1
            if depth > DEEPEST:
                line = text.count("\n", 0, found.start()) + 1
                raise JsonError(
                    f"more than {DEEPEST} brackets stand inside each other here",
                    "nothing that is read here needs more than eight",
                    line,
                )
        elif found[0] in "]}":
            depth -= 1


def _number(text: str) -> Decimal:
    try:
        if len(text) <= _LONGEST_NUMBER:
            return Decimal(text)
    except InvalidOperation:
        pass
    raise JsonError(
        f"the number {text[:20]}... is too long", "an amount has at most 9 figures and 6 decimals"
    )


def _constant(text: str) -> NoReturn:
    raise JsonError(f"{text} is not a number that can be weighed", "write one with figures, such as 0.5")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) != len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise JsonError(f"the key '{_short(twice)}' stands twice in one object", "keep one of them")
    return value


def _check_characters(value: Any) -> None:
    """Raise ValueError for half a character, which no file can hold."""
    if isinstance(value, str):
        if any("\ud800" <= character <= "\udfff" for character in value):
            raise JsonError(
                f"half a character (a lone surrogate) stands in '{_short(value)}'", "write the whole one"
            )
    elif isinstance(value, dict):
        for key, inner in value.items():
            _check_characters(key)
            _check_characters(inner)
    elif isinstance(value, list):
        for inner in value:
            _check_characters(inner)


# ---- the schema ----------------------------------------------------------------------------------------


def check_against(schema: str, value: Any, part: str = "#") -> None:
    """Raise ValueError with the first place where ``value`` is not what a schema of schema/ says, or one part
    of it."""
    error = next(_validator(schema, part).iter_errors(value), None)
    if error is not None:
        error = _telling(error)
        message, hint = _plain_words(error)
        raise JsonError(f"{_path(error.absolute_path)}: {message}", hint)


@functools.cache
def _validator(name: str, part: str) -> Validator:
    from jsonschema import Draft202012Validator
    from jsonschema.validators import extend

    schema = json.loads(shipped("schema", name).read_text("utf-8"))
    # Numbers are read as Decimal, which is no integer to the library.
    types = Draft202012Validator.TYPE_CHECKER.redefine("integer", lambda _, value: _is_whole(value))
    made: Callable[..., Validator] = extend(Draft202012Validator, type_checker=types)  # type: ignore[no-untyped-call]
    return made(schema if part == "#" else {"$ref": part, "$defs": schema["$defs"]})


def _is_whole(value: Any) -> bool:
    if isinstance(value, Decimal):
        return value.is_finite() and value == value.to_integral_value()
    return isinstance(value, int) and not isinstance(value, bool)


def _telling(error: ValidationError) -> ValidationError:
    """The error inside one that says only that no alternative fits: that of the alternative which is of the
    right type."""
    while error.context:
        fitting = [inner for inner in error.context if inner.validator != "type" or len(inner.relative_path)]
        if not fitting:
            break
        error = fitting[0]
    return error


def _path(steps: Iterable[str | int]) -> str:
    path = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in steps)
    return path.removeprefix(".") or "the whole"


_TYPES = {
    "object": "an object in {}",
    "array": "a list in []",
    "string": "a text in double quotes",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "null",
}


_LIMITS = {
    "minimum": "{} or more",
    "maximum": "{} or less",
    "exclusiveMinimum": "more than {}",
    "exclusiveMaximum": "less than {}",
}
_MOST = {"maxItems": "entries", "maxLength": "characters"}


def _plain_words(error: ValidationError) -> tuple[str, str]:
    """What is wrong, and how to fix it."""
    rule = str(error.validator)
    said: Any = error.validator_value
    value: Any = error.instance
    if rule in ("required", "additionalProperties", "not"):
        return _words_on_keys(rule, error)
    if rule in _MOST:
        return f"{len(value):,} {_MOST[rule]} stand here", f"{said:,} are read at most"
    if rule in ("minLength", "minItems"):
        return "nothing stands here", "write something, or leave the key out"
    if rule == "type":
        return _words_on_types([said] if isinstance(said, str) else said)
    if rule == "oneOf":  # of alternatives that all differ in their type
        return _words_on_types(sorted((str(one.validator_value) for one in error.context), reverse=True))
    return _words_on_values(rule, error)


def _words_on_types(kinds: Iterable[str]) -> tuple[str, str]:
    return f"write {' or '.join(_TYPES[kind] for kind in kinds)} here", ""


def _words_on_keys(rule: str, error: ValidationError) -> tuple[str, str]:
    said: Any = error.validator_value
    value: Any = error.instance
    schema: Any = error.schema
    if rule == "required":
        missing = next(key for key in said if key not in value)
        return f"'{missing}' is missing", "write it"
    if rule == "not":
        return "'unit' and 'units' stand side by side", "keep one of them"
    known = list(schema["properties"])
    extra = next(key for key in value if key not in known)
    return f"'{_short(extra)}' is not a key here", f"the keys are: {', '.join(known)}"


def _words_on_values(rule: str, error: ValidationError) -> tuple[str, str]:
    said: Any = error.validator_value
    schema: Any = error.schema
    here = f"{_shown(error.instance)} stands here"
    if rule == "enum":
        return here, f"write one of: {', '.join(json.dumps(one) for one in said)}"
    if rule == "const":
        return here, f"write {json.dumps(said)}"
    if rule in _LIMITS:
        return here, f"write {_LIMITS[rule].format(said)}"
    if rule == "pattern":
        asked = schema.get("description", said)
        if asked[:1].isupper():  # a sentence on what it is; the example says how it is written
            asked = f"such as {schema['examples'][0]}" if "examples" in schema else said
        return f"{_shown(error.instance)} is not written as it should be", f"write {asked}"
    return _short(error.message), ""


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"'{_short(value)}'" if isinstance(value, str) else _short(str(value))


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= 60 else line[:57] + "..."
