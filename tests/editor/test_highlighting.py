"""Highlighting is held to the grammar: what the reader takes for a name, an amount or a comment is coloured as one."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from importlib.metadata import entry_points
from pathlib import Path

import pytest

from glost.language import tree
from glost.language.parse import parse
from glost.language.source import Source, Span
from glost.language.tables import lexicon
from tests.conftest import STUDIO, TOP, Run
from tests.work import HANG_S

pytest.importorskip("pygments", reason="needs pygments")

from pygments.token import Comment, Error, Keyword, Name, Number, String

from glost.editor.pygments_lexer import GlostLexer

PAGES = sorted([*STUDIO.rglob("*.glost"), *STUDIO.rglob("*.firing")])
GRAMMAR = TOP / "grammar" / "glost.tmLanguage.json"

NODE = """
const fs = require('fs'), path = require('path');
const tm = require('vscode-textmate'), oniguruma = require('vscode-oniguruma');
const wasm = fs.readFileSync(path.join(path.dirname(require.resolve('vscode-oniguruma')), 'onig.wasm')).buffer;
const [grammarFile, ...pages] = process.argv.slice(2);
const lib = oniguruma.loadWASM(wasm).then(() => ({
  createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
  createOnigString: (text) => new oniguruma.OnigString(text),
}));
const registry = new tm.Registry({
  onigLib: lib,
  loadGrammar: async () => tm.parseRawGrammar(fs.readFileSync(grammarFile, 'utf8'), 'glost.json'),
});
registry.loadGrammar('source.glost').then((grammar) => {
  const told = {};
  for (const page of pages) {
    let state = tm.INITIAL;
    told[page] = fs.readFileSync(page, 'utf8').split('\\n').map((line) => {
      const done = grammar.tokenizeLine(line, state);
      state = done.ruleStack;
      return done.tokens.map((one) => [one.startIndex, one.endIndex, one.scopes[one.scopes.length - 1]]);
    });
  }
  console.log(JSON.stringify(told));
});
"""


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_the_lexer_loses_nothing_and_marks_what_cannot_be_read(path: Path) -> None:
    text = path.read_text("utf-8").replace("\r\n", "\n")
    tokens = list(GlostLexer(stripnl=False).get_tokens(text))
    assert "".join(value for _, value in tokens) == text
    unread = any(isinstance(line, tree.Unread) for line in _nodes(parse(Source("", text))))
    assert any(token is Error for token, _ in tokens) == unread


def _nodes(page: tree.Page) -> list[object]:
    return [*page.lead, *(node for block in page.blocks for node in (block.head, *block.lines))]


def test_the_lexer_knows_every_head_and_kind() -> None:
    for kind in lexicon().kinds:
        tokens = list(GlostLexer().get_tokens(f'{kind} "A"\nbase:\n    silica  22.5 %  # why\n'))
        assert (Keyword.Declaration, kind) in tokens
        assert (Keyword, "base") in tokens
        assert (Name.Constant, "silica") in tokens
        assert (Number, "22.5 %") in tokens
        assert (Comment.Single, "# why") in tokens


def test_the_lexer_knows_what_is_said_of_a_test_and_of_a_firing() -> None:
    text = 'glaze "A"\nvariation "v":\n    tin oxide  1\n    surface: dry #2 # why\n'
    tokens = list(GlostLexer().get_tokens(text))
    assert (Name.Attribute, "surface") in tokens
    assert (String, "dry #2") in tokens
    text = (
        'firing "F"\nschedule:\n    to 600 C at 100.5 C/h, hold 1 h 5 min # wet\ntile "1":\n    flow: 4 mm\n'
    )
    tokens = list(GlostLexer().get_tokens(text))
    for number in ("600 C", "100.5 C/h", "1 h 5 min"):
        assert (Number, number) in tokens
    assert (Comment.Single, "# wet") in tokens
    assert (Name.Attribute, "flow") in tokens
    assert not [token for token, _ in tokens if token is Error]


def test_pygments_finds_the_lexer_by_the_package() -> None:
    found = [one for one in entry_points(group="pygments.lexers") if one.name == "glost"]
    if not found:
        pytest.skip("this installation is older than the entry point: pip install --editable . again")
    assert found[0].load() is GlostLexer


@pytest.mark.network
def test_the_textmate_grammar_in_the_engine_that_editors_run(tmp_path: Path) -> None:
    """vscode-textmate with vscode-oniguruma, from npm."""
    if shutil.which("npm") is None or shutil.which("node") is None:
        pytest.skip("needs node and npm")
    packages = ("vscode-textmate@9", "vscode-oniguruma@2")
    got = subprocess.run(
        ["npm", "install", "--silent", "--no-audit", "--no-fund", *packages],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=HANG_S,
        check=False,
    )
    if got.returncode:
        pytest.skip(f"npm cannot install {' '.join(packages)}: {got.stderr.strip()[-200:]}")
    (tmp_path / "run.js").write_text(NODE)
    clean = [path for path in PAGES if not parse(Source("", path.read_text("utf-8"))).diagnostics]
    both = tmp_path / "both.glost"
    both.write_text(
        'glaze "A"\norigin: test #14 # b\nbase:\n    silica  100\n'
        'variation "v":\n    surface: dry #2 # why\n    tin oxide  1 # a\n'
    )
    clean.append(both)
    done = subprocess.run(
        ["node", "run.js", str(GRAMMAR), *map(str, clean)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=HANG_S,
        check=True,
    )
    told = json.loads(done.stdout)
    assert len(told) == len(clean) > 30
    for path in clean:
        _held_to(parse(Source(path.name, path.read_text("utf-8"))), told[str(path)])


def _held_to(page: tree.Page, told: list[list[list[object]]]) -> None:
    """Each part of the tree has the scope for it, from its first character to its last."""
    for span, scope in _wanted(page):
        row, column = page.source.position(span.start)
        for at in (column - 1, column - 2 + span.end - span.start):
            if page.source.line(row)[at] != " ":
                token = next(one for one in told[row - 1] if one[0] <= at < one[1])  # type: ignore[operator]
                assert str(token[2]).startswith(scope), (page.source.path, row, at, scope, token)


def _wanted(page: tree.Page) -> list[tuple[Span, str]]:
    wanted: list[tuple[Span, str]] = []
    for block in page.blocks:
        head = block.head
        if isinstance(head, tree.Title):
            wanted += [(head.kind.span, "storage.type"), (head.name.span, "entity.name.section")]
        elif isinstance(head, tree.Head) and block.role != "field_below":
            wanted.append((head.word.span, "keyword.control"))
            wanted += [(head.name.span, "entity.name.function")] if head.name else []
        elif isinstance(head, tree.Field):
            wanted += [(head.key.span, "variable.other"), (head.value.span, "string.unquoted.value")]
        for line in block.lines:
            if isinstance(line, tree.Item):
                wanted.append((line.name.span, "entity.name.type"))
                wanted += [(amount.span, "constant.numeric") for amount in line.amounts]
                wanted += [(line.note.span, "string.other.note")] if line.note else []
            elif isinstance(line, tree.Instruction):
                wanted += [(name.span, "entity.name.type") for name in line.names]
            elif isinstance(line, tree.Own):
                wanted += [(line.key.span, "variable.other"), (line.value.span, "string.unquoted.value")]
            elif isinstance(line, tree.Ramp):
                said = (line.heat, line.rate, line.hold)
                wanted += [(one.span, "constant.numeric") for one in said if one is not None]
            elif isinstance(line, tree.Remark):
                wanted.append((line.span, "comment.line"))
        for node in (head, *block.lines):
            comment = getattr(node, "comment", None)
            wanted += [(comment.span, "comment.line")] if comment is not None else []
    return wanted


def test_vim_colours_a_page(tmp_path: Path) -> None:
    vim = shutil.which("vim")
    if vim is None:
        pytest.skip("needs vim")
    page = tmp_path / "a.glost"
    page.write_text(
        'glaze "A"\ncone: 6\nbase:\n    silica  22.5 %  (fine)  # why\nvariation "v":\n    tin oxide  4\n'
    )
    places = [(1, 1), (1, 8), (2, 1), (3, 1), (4, 13), (4, 21), (4, 29), (5, 1), (6, 16)]
    asked = [f"call add(told, synIDattr(synID({line}, {column}, 1), 'name'))" for line, column in places]
    script = tmp_path / "s.vim"
    script.write_text(
        "\n".join(
            [
                "syntax on",
                f"edit {page}",
                f"source {TOP / 'grammar' / 'glost.vim'}",
                "let told = []",
                *asked,
                f"call writefile(told, '{tmp_path / 'told'}')",
                "qall!",
            ]
        )
    )
    done = subprocess.run(
        [vim, "-N", "-u", "NONE", "-i", "NONE", "-n", "-es", "-S", str(script)],
        capture_output=True,
        text=True,
        timeout=HANG_S,
        check=False,
        stdin=subprocess.DEVNULL,
    )
    if not (tmp_path / "told").exists() or not any((tmp_path / "told").read_text().split()):
        pytest.skip(f"this vim has no syntax colouring: {done.stdout[-80:]!r}")
    told = (tmp_path / "told").read_text().splitlines()
    assert told == [
        f"glost{name}"
        for name in ("Kind", "Name", "Field", "Head", "Amount", "Note", "Comment", "Head", "Amount")
    ]


def test_the_problem_matcher_of_the_docs_reads_the_report_line_by_line(run: Run) -> None:
    (written,) = re.findall(
        r'"regexp": ("(?:[^"\\]|\\.)*")', (TOP / "docs" / "editors.md").read_text("utf-8")
    )
    pattern = re.compile(json.loads(written))
    report = run("lint", "--output", "line", str(STUDIO / "needs-work")).stdout.splitlines()
    assert len(report) > 20
    found = [pattern.match(line) for line in report]
    assert all(found)
    assert {one[4] for one in found if one} == {"error", "warning", "hint"}
