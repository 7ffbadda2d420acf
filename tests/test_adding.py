"""DEVELOPERS.md keeps its word: what its recipes say is all there is to do.

A rule, a material, a format, a field, a command, a library call and an editor feature are added to a copy of the
checkout, each by touching what the guide names and nothing else. Then all that is generated is written, and the tests
that know these things find nothing broken.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from tests.checkout import call, commit_checkout, git

pytestmark = pytest.mark.slow

RULE = '''"""A recipe whose name ends in a full stop."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    title = checked.resolved.title
    if title is not None and title.name.text.endswith("."):
        yield Diagnostic(title.name.span, "the name ends in a full stop", "take it away")


RULE = Rule(
    name="stop-in-name",
    level="hint",
    summary="A recipe whose name ends in a full stop.",
    why="""\\
A name is looked for as it is spoken, and nobody speaks a full stop: the list of a collection then holds two of it.""",
    how_to_fix="""\\
Take the full stop away.""",
    bad="""\\
glaze "Harbour Mist."
cone: 6
atmosphere: oxidation
origin: own test 14-C, March

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(1, 7, "the name ends in a full stop"),),
    good="""\\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test 14-C, March

base:
    nepheline syenite      60
    whiting                40
""",
    check=check,
)
'''
DEMO = """# Wrong on purpose: a full stop behind the name.
glaze "Stop in Name."
cone: 6
atmosphere: oxidation
surface: gloss
origin: own test, invented

base:
    soda feldspar          41
    silica                 23
    calcium borate frit    20
    kaolin                 6
    whiting                10
"""
LEVEL = """## stop-in-name: hint

A full stop behind a name changes no amount and no sheet; it makes a list harder to read, and the name harder to find
by whoever types it. A studio whose names are abbreviations may well switch it off in its settings. Wrong, it asks for
a sign to be taken away that somebody wanted there, which costs a moment. Silence where there is one costs as little:
the same glaze stands in a list under two names.

"""
MATERIAL = {
    "name": "hafnium oxide",
    "aliases": [],
    "role": "colourant",
    "cas": ["12055-23-1"],
    "soluble": False,
    "restricted": None,
    "hazards": [],
    "composition": {
        "kind": "formula",
        "formula": "HfO2",
        "source": "computed from the formula, which is from memory",
    },
    "density": None,
    "source": "name and role: common practice; CAS: from memory",
}
FORMAT = '''"""Names of recipes, one a line."""

from __future__ import annotations

import re
from collections.abc import Sequence

from glost.output.format import Format, Job


def write(jobs: Sequence[Job]) -> str:
    return "".join(f"name of a recipe: {job.recipe.name}\\n" for job in jobs)


FORMAT = Format(
    name="names",
    ending=".names",
    summary="the names of recipes, one a line",
    write=write,
    mark=re.compile(r"\\Aname of a recipe: "),
    together=True,
    between="",
    tells_revision=False,
)
'''
COMMAND = '''"""glost shout."""

from __future__ import annotations

import click

from glost.cli.streams import say

EXAMPLES = ("glost shout calm", "glost shout harbour mist")


@click.command()
@click.argument("words", nargs=-1)
def command(words: tuple[str, ...]) -> None:
    """Say words in large letters."""
    say(" ".join(words).upper() + "\\n")
'''
CALL = '''"""What a recipe is made of, by name."""

from __future__ import annotations

from glost.api.recipes import Recipe


def jars(recipe: Recipe) -> list[str]:
    """The names of the materials, as the page has them, each once."""
    return list(dict.fromkeys(line.name for line in (*recipe.base, *recipe.additions)))
'''
SHOWN = """## What is in it

```pycon
>>> glost.jars(glost.parse('glaze "Lee Shore"\\nbase:\\n    silica  60\\n    whiting  40\\n'))
['silica', 'whiting']

```

"""
FEATURE = '''"""Where the word at a place stands once more on its page."""

from __future__ import annotations

import re

from glost.editor.page import Page
from glost.language.source import Span


def again(page: Page, offset: int) -> list[Span]:
    """All places of the word at an offset, this one among them."""
    every = [Span(*found.span()) for found in re.finditer(r"\\w+", page.text)]
    here = next((one for one in every if one.start <= offset <= one.end), None)
    if here is None:
        return []
    word = page.text[here.start : here.end]
    return [one for one in every if page.text[one.start : one.end] == word]
'''
HANDLER = """def _add_words(server: GlostServer) -> None:
    \"\"\"What stands on a page more than once.\"\"\"

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT)
    def _(params: lsp.DocumentHighlightParams) -> list[lsp.DocumentHighlight] | None:
        page = server.page(params.text_document.uri)
        if page is None:
            return None
        positions = server.positions(page)
        found = words.again(page, _offset(positions, params.position))
        return [lsp.DocumentHighlight(server.range(positions, span)) for span in found]


"""
ASKED = """
from lsprotocol import types as lsp
from glost.editor.server import make_server

server = make_server()
features = server.protocol.fm.features
place = lsp.TextDocumentIdentifier("untitled:page")
server.studio.write(server.path(place.uri), 'glaze "Lee"\\nbase:\\n    silica  60\\n    silica  40\\n')
params = lsp.DocumentHighlightParams(place, lsp.Position(2, 6))
print([one.range.start.line for one in features[lsp.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT](params)])
"""
CASE = """glaze "Thick Mist"
cone: 6
thickness: 0.8 mm

base:
    silica  60
    whiting  40
"""
RELEVANT = (
    "tests/api/test_python.py",
    "tests/editor/test_pages.py",
    "tests/test_conformance.py",
    "tests/test_docs.py",
    "tests/test_generate.py",
    "tests/test_imports.py",
    "tests/test_settings.py",
    "tests/linter/test_levels.py",
    "tests/linter/test_rules.py",
    "tests/language/test_tables.py",
    "tests/outside/test_schemas.py",
    "tests/output/catalog",
    "tests/output/convert/test_formats.py",
    "tests/recipe/materials",
    "tests/cli/test_catalog.py",
    "tests/cli/test_changed.py",
    "tests/cli/test_completion.py",
    "tests/cli/test_match.py",
    "tests/cli/test_what_is_read.py",
    "tests/cli/test_workers.py",
)


def put(file: Path, text: str) -> None:
    assert not file.exists(), file
    file.write_text(text, "utf-8")


def insert(file: Path, text: str, before: str) -> None:
    """Text in front of a line that is there once."""
    old = file.read_text("utf-8")
    assert old.count(before) == 1, (file, before)
    file.write_text(old.replace(before, text + before), "utf-8")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A checkout with all of them."""
    folder = tmp_path_factory.mktemp("copy")
    commit_checkout(folder)
    source = folder / "src" / "glost"
    # a rule: its file, its demonstration, its level argued
    put(source / "linter" / "rules" / "stop_in_name.py", RULE)
    put(folder / "corpus" / "studio" / "needs-work" / "stop-in-name.glost", DEMO)
    insert(folder / "docs" / "levels.md", LEVEL, "## unusual-for-cone: ")
    # a material: one entry
    colourants = source / "recipe" / "materials" / "data" / "colourants.json"
    entries = json.loads(colourants.read_text("utf-8"))
    entries["materials"].append(MATERIAL)
    colourants.write_text(json.dumps(entries, ensure_ascii=False, indent=2) + "\n", "utf-8")
    # a format: one file
    put(source / "output" / "formats" / "names.py", FORMAT)
    # a field: one row, and a case of the conformance suite
    row = 'FieldType("thickness", "how thick it lies", "0.8 mm", TEXT),\n        '
    insert(source / "recipe" / "fields.py", row, 'FieldType("use",')
    put(folder / "corpus" / "conformance" / "accept" / "thickness.glost", CASE)
    # a command: a module and a line
    put(source / "cli" / "shout_command.py", COMMAND)
    insert(source / "cli" / "app.py", '"shout": "Say words in large letters.",\n    ', '"explain": "Say what')
    # a library call: a function, its name in two places, an example
    put(source / "api" / "jars.py", CALL)
    insert(
        source / "api" / "__init__.py", "from glost.api.jars import jars\n", "from glost.api.recipes import ("
    )
    for names in (source / "api" / "__init__.py", source / "__init__.py"):
        insert(names, '    "jars",\n', '    "lint",\n')
    insert(folder / "docs" / "python.md", SHOWN, "## In a notebook\n")
    # an editor feature: a module, its handler, a row
    put(source / "editor" / "words.py", FEATURE)
    server = source / "editor" / "server.py"
    insert(server, HANDLER, "def _add_names(server: GlostServer)")
    insert(server, "    _add_words(server)\n", "    _add_names(server)\n")
    insert(server, "from glost.editor import words\n", "from glost.editor.page import Page\n")
    row = "| point at a word | where it stands once more on the page |\n"
    insert(folder / "docs" / "editors.md", row, "| point at a material |")
    status, said = run(folder, "-m", "tests.generate")
    assert status == 0, said
    draft = folder / "corpus" / "conformance" / "accept" / "thickness.json"
    draft.write_text(draft.read_text("utf-8").replace('"says": ""', '"says": "A field of text."'), "utf-8")
    status, said = run(folder, "-m", "pytest", "tests/cli/test_what_is_read.py", "--snapshot-update")
    assert status == 0, said
    return folder


def run(folder: Path, *words: str) -> tuple[int, str]:
    path = f"{folder / 'src'}:{folder}"
    return call(folder, sys.executable, *words, PYTHONPATH=path, GLOST_CACHE=str(folder.parent / "cache"))


def test_what_is_generated_is_up_to_date(copy: Path) -> None:
    """And all of them are there."""
    assert run(copy, "-m", "tests.generate", "--check") == (0, "")
    assert (
        "stop-in-name" in run(copy, "-m", "glost", "lint", "corpus/studio/needs-work/stop-in-name.glost")[1]
    )
    assert "hafnium oxide" in run(copy, "-m", "glost", "materials", "hafnium oxide")[1]
    page = "corpus/conformance/accept/thickness.glost"
    assert run(copy, "-m", "glost", "convert", page, "--to", "names") == (0, "name of a recipe: Thick Mist\n")
    assert run(copy, "-m", "glost", "shout", "glaze") == (0, "GLAZE\n")
    assert run(copy, "-c", ASKED) == (0, "[2, 3]\n")
    status, said = run(copy, "-m", "mypy", "src/glost")
    assert status == 0, said


def test_no_field_is_lost_on_the_way(copy: Path) -> None:
    page = "corpus/conformance/accept/thickness.glost"
    for form in ("json", "csv", "markdown", "sheet"):
        assert "0.8 mm" in run(copy, "-m", "glost", "convert", page, "--to", form)[1], form
    for form in ("jsonl", "csv"):
        assert "0.8 mm" in run(copy, "-m", "glost", "catalog", page, "--to", form)[1], form
    (copy / "slip.glost").write_text(CASE.replace("thickness:", "thickness"))
    assert "the colon is missing behind 'thickness'" in run(copy, "-m", "glost", "lint", "slip.glost")[1]
    (copy / "slip.glost").unlink()


@pytest.mark.parametrize("part", [RELEVANT[::2], RELEVANT[1::2]], ids=["one half", "the other"])
def test_nothing_else_is_broken(copy: Path, part: tuple[str, ...]) -> None:
    status, said = run(copy, "-m", "pytest", "-m", "not slow and not browser and not network", *part)
    assert status == 0, said


def test_only_what_is_generated_was_changed_beside(copy: Path) -> None:
    """What the guide names, and what the one command writes."""
    changed = git(copy, "status", "--porcelain", "--untracked-files=all").splitlines()
    names = {line[3:] for line in changed}
    by_hand = {
        "corpus/conformance/accept/thickness.glost",
        "corpus/studio/needs-work/stop-in-name.glost",
        "docs/levels.md",
        "docs/editors.md",
        "docs/python.md",
        "src/glost/__init__.py",
        "src/glost/api/__init__.py",
        "src/glost/api/jars.py",
        "src/glost/cli/app.py",
        "src/glost/cli/shout_command.py",
        "src/glost/editor/server.py",
        "src/glost/editor/words.py",
        "src/glost/linter/rules/stop_in_name.py",
        "src/glost/output/formats/names.py",
        "src/glost/recipe/fields.py",
        "src/glost/recipe/materials/data/colourants.json",
    }
    assert by_hand <= names
    generated = ("docs/", "README.md", "schema/", "grammar/lines.json", "corpus/conformance/", "tests/")
    assert [name for name in sorted(names - by_hand) if not name.startswith(generated)] == []
