"""The documentation keeps its word: commands print what is shown, examples are read, tables fit the code."""

from __future__ import annotations

import ast
import re
import sys
from pathlib import Path
from types import FrameType, ModuleType
from typing import Any, NamedTuple

import pytest

from glost.language import errors, source
from glost.language.errors import characters, handling, heads, item_amounts, item_numbers, item_signs, items
from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import LARGEST_FILE, MOST_LINES, Source
from glost.language.tables import lexicon
from glost.recipe import cone, fields, page_checks, page_size, recipe, resolve, uses
from glost.recipe.fields import FIELDS
from glost.recipe.materials.catalogue import ROLES, shipped_catalogue
from glost.recipe.materials.own import KEYS as MATERIAL_KEYS
from glost.recipe.settings import KEYS, LEVELS
from tests.conftest import TOP
from tests.generate import language_errors
from tests.generate.console import FENCE, PAGES, console_blocks, run_console

LANGUAGE = TOP / "docs" / "language.md"
COLLECTION = TOP / "docs" / "collection.md"


class Block(NamedTuple):
    """A fenced block: the page it stands on, the line of its first line, its kind and its text."""

    page: Path
    line: int
    kind: str
    text: str


def blocks_of(page: Path, kind: str) -> list[Block]:
    text = page.read_text("utf-8")
    return [
        Block(page, text.count("\n", 0, found.start("text")) + 1, found["kind"].strip(), found["text"])
        for found in FENCE.finditer(text)
        if found["kind"].split(" ")[0].strip() == kind
    ]


def blocks(kind: str) -> list[Any]:
    found = [block for page in PAGES for block in blocks_of(page, kind)]
    return [pytest.param(block, id=f"{block.page.name}:{block.line}") for block in found]


# ---- console blocks ------------------------------------------------------------------------------------


CONSOLES = [
    pytest.param(text, before, id=f"{page.name}:{number}")
    for page in PAGES
    for number, (_, text, before) in enumerate(console_blocks(page.read_text("utf-8")), 1)
]


@pytest.mark.process
@pytest.mark.parametrize(("text", "before"), CONSOLES)
def test_console_block_shows_what_its_commands_print(text: str, before: str) -> None:
    assert text == run_console(text, before), "run: python -m tests.generate console"


def test_console_blocks_are_found() -> None:
    assert {block.page.name for page in PAGES for block in blocks_of(page, "console")} >= {
        "language.md",
        "collection.md",
    }


# ---- examples of recipes -------------------------------------------------------------------------------


@pytest.mark.parametrize("block", blocks("glost"))
def test_example_is_read_as_it_is_meant(block: Block) -> None:
    page = parse(Source("example.glost", block.text))
    diagnostics = [*page.diagnostics, *resolve.resolve(page, shipped_catalogue()).diagnostics]
    if block.kind == "glost bad":
        assert diagnostics
    else:
        assert diagnostics == []


@pytest.mark.parametrize("block", [b for b in blocks("glost") if "language.md" in str(b.id)])
def test_example_of_the_language_lays_out(block: Block) -> None:
    if block.kind == "glost":
        assert format_text(parse(Source("example.glost", block.text)))


def test_tests_of_the_example_are_those_of_its_table() -> None:
    text = LANGUAGE.read_text("utf-8")
    chapter = text[text.index("## Variations, series") : text.index("## Notes")]
    example = FENCE.search(chapter)
    assert example is not None
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in chapter.splitlines()
        if line[:1] == "|"
    ]
    (_, *names), _, *lines = rows
    shown = [(name, {n: a for n, a in zip(names, amounts, strict=True) if a}) for name, *amounts in lines]
    read = resolve.resolve(parse(Source("x", example["text"])), shipped_catalogue()).recipe
    assert shown == [(t.name, {p.name: f"{p.parts:f}" for p in t.additions}) for t in recipe.tests(read)]


# ---- tables against the code ---------------------------------------------------------------------------


def test_table_of_fields_is_the_list_of_fields() -> None:
    text = LANGUAGE.read_text("utf-8")
    table = text[text.index("<!-- fields -->") : text.index("<!-- end of fields -->")]
    rows = [
        [cell.strip() for cell in line.strip("|").split(" | ")]
        for line in table.splitlines()
        if line.startswith("| `")
    ]
    assert [key for key, *_ in rows] == [f"`{key}`" for key in FIELDS]
    for field, (_, kind, says, example) in zip(FIELDS.values(), rows, strict=True):
        assert (kind == "text") == field.prose
        assert (says, example) == (field.says, f"`{field.key}: {field.example}`")
        field.read(field.example)
    for word in (*fields.ATMOSPHERES, *fields.USES, *lexicon().kinds):
        assert word in text


def test_limits_are_the_limits() -> None:
    text = LANGUAGE.read_text("utf-8")
    assert f"{LARGEST_FILE // 1024} KiB ({LARGEST_FILE:,} bytes) and {MOST_LINES:,} lines" in text


@pytest.mark.parametrize(
    "key", [*KEYS, *MATERIAL_KEYS, "capacity", "readability", "repeatability", "minimum", "cup"]
)
def test_collection_page_has_a_row_for_every_key(key: str) -> None:
    assert re.search(rf"^\| `{key}` \|", COLLECTION.read_text("utf-8"), re.MULTILINE)


def test_collection_page_knows_roles_and_levels() -> None:
    text = COLLECTION.read_text("utf-8")
    assert f"one of {', '.join(ROLES)}" in " ".join(text.split())
    assert all(f"`{level}`" in text for level in LEVELS)


def test_links_between_pages_lead_somewhere() -> None:
    for page in (LANGUAGE, COLLECTION):
        for target in re.findall(r"\]\((?!https?:)([^)]+)\)", page.read_text("utf-8")):
            path, _, anchor = target.partition("#")
            there = (page.parent / path) if path else page
            assert there.exists(), target
            if anchor:
                heads = re.findall(r"^#+ (.*)$", there.read_text("utf-8"), re.MULTILINE)
                assert anchor in {re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads}, (
                    target
                )


@pytest.mark.parametrize("page", [LANGUAGE, COLLECTION], ids=lambda page: page.name)
def test_no_page_calls_anything_safe(page: Path) -> None:
    text = " ".join(page.read_text("utf-8").split()).replace("safety data sheet", "sheet")
    assert not re.search(r"\bsafe(ly|r|st)?\b|food-safe|harmless|non-?toxic", text, re.IGNORECASE)
    assert "data sheet" in page.read_text("utf-8")


# ---- the table of accidents ----------------------------------------------------------------------------


def test_section_of_errors_is_what_the_script_writes() -> None:
    page = LANGUAGE.read_text("utf-8")
    assert language_errors.BEGIN in page
    assert language_errors.END in page
    assert page == language_errors.with_section(page), "run: python -m tests.generate errors"


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(case, id=f"{title}, {case.title}")
        for title, cases in language_errors.SECTIONS
        for case in cases
    ],
)
def test_accident_gives_one_message_and_a_hint(case: language_errors.Case) -> None:
    said = language_errors.faults_of(case)
    assert len(said) == 1
    assert said[0][1].message
    assert said[0][1].hint


_SPEAKING = (
    errors, characters, heads, items, item_signs, item_numbers, item_amounts, handling,
    resolve, page_checks, page_size, uses, fields, cone, source,
)  # fmt: skip
_CALLS = {"Diagnostic", "diagnostic", "_diagnostic", "DecodeError", "ValueRefusedError", "ValueError"}


def _says(statement: ast.stmt) -> bool:
    """Whether a statement makes a message."""
    if isinstance(statement, ast.Assign):
        names = {
            node.id for target in statement.targets for node in ast.walk(target) if isinstance(node, ast.Name)
        }
        if names & {"message", "hint"}:
            return True
    elif not isinstance(statement, (ast.Return, ast.Expr, ast.Raise)):
        return False
    called = [node.func for node in ast.walk(statement) if isinstance(node, ast.Call)]
    return bool({f.id if isinstance(f, ast.Name) else getattr(f, "attr", "") for f in called} & _CALLS)


def _messages(module: ModuleType) -> dict[int, str]:
    """The statements of a module that make a message: line to text. What edits refuse is no accident,
    and a file that is no recipe has no row here."""
    tree = ast.parse(Path(str(module.__file__)).read_text("utf-8"))
    skipped = {
        node
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef) and function.name in ("apply", "of_another_file")
        for node in ast.walk(function)
    }
    return {
        node.lineno: ast.unparse(node)[:100]
        for node in ast.walk(tree)
        if isinstance(node, ast.stmt) and node not in skipped and _says(node)
    }


def test_every_message_has_a_row_in_the_table() -> None:
    """Runs the cases and looks which messages of the code none of them made."""
    files = {str(module.__file__): module for module in _SPEAKING}
    met: set[tuple[str, int]] = set()

    def trace(frame: FrameType, event: str, argument: object) -> Any:
        if frame.f_code.co_filename not in files:
            return None
        met.add((frame.f_code.co_filename, frame.f_lineno))
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        language_errors.section()
    finally:
        sys.settrace(before)
    missed = [
        f"{module.__name__}:{line}: {text}"
        for file, module in files.items()
        for line, text in _messages(module).items()
        if (file, line) not in met
    ]
    assert missed == [], "add a case to tests/generate/language_errors.py"


def test_every_accident_of_numbers_has_a_row() -> None:
    said = [
        diagnostic.message
        for _, cases in language_errors.SECTIONS
        for case in cases
        for _, diagnostic in language_errors.faults_of(case)
    ]
    for accident in item_numbers._NUMBERS:
        pattern = re.escape(accident.message).replace(r"\{0\}", ".+")
        assert any(re.fullmatch(pattern, message) for message in said), accident.message
