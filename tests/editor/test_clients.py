"""The server before a real client, pytest-lsp, in each encoding of positions. Every answer crosses a pipe."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any, TypeVar

import pytest

from tests.conftest import STUDIO
from tests.work import HANG_S

pytest.importorskip("pygls", reason="needs pygls (the extra editor)")
pytest_lsp: Any = pytest.importorskip("pytest_lsp", reason="needs pytest-lsp")

from lsprotocol import types as lsp  # noqa: E402

pytestmark = pytest.mark.process
T = TypeVar("T")

FIRST = 'glaze "Großer 🌊 Nebel"\ncone: 6\natmosphere: oxidation\norigin: invented\n\n'
PAGE = FIRST + "base:\n    silica  60\n    whiting  40\nadditions:\n    cobalt carbonate  1\n"


def ask_server(
    folder: Path, questions: Callable[[Any], Awaitable[T]], encodings: tuple[str, ...] = ("utf-16",)
) -> T:
    """What a client that opened a folder gets to know from a server that is a process of its own."""

    async def session() -> T:
        client = pytest_lsp.make_test_lsp_client()
        await client.start_io(sys.executable, "-m", "glost", "server")
        try:
            asked = pytest_lsp.client_capabilities("neovim")
            asked.general.position_encodings = list(encodings)
            await client.initialize_session(
                lsp.InitializeParams(
                    capabilities=asked,
                    workspace_folders=[lsp.WorkspaceFolder(uri=folder.as_uri(), name=folder.name)],
                )
            )
            answer = await questions(client)
            await client.shutdown_session()
            return answer
        finally:
            if client._server.returncode is None:  # stop() waits for it
                client._server.kill()
            await client.stop()

    return asyncio.run(asyncio.wait_for(session(), HANG_S))


async def opened(client: Any, path: Path, text: str) -> list[Any]:
    """The findings on a page that is opened."""
    client.text_document_did_open(
        lsp.DidOpenTextDocumentParams(lsp.TextDocumentItem(path.as_uri(), "glost", 1, text))
    )
    return await told(client, path)


async def told(client: Any, path: Path) -> list[Any]:
    await client.wait_for_notification("textDocument/publishDiagnostics")
    found: list[Any] = client.diagnostics[path.as_uri()]
    return found


def document(path: Path) -> Any:
    return lsp.TextDocumentIdentifier(path.as_uri())


@pytest.mark.parametrize(
    ("encodings", "chosen", "column"),
    [
        # 🌊 is 4 bytes in UTF-8 and 2 units of UTF-16, ß 2 and 1 (The Unicode Standard, section 3.9); the
        # character that is hidden stands behind both.
        (("utf-8",), "utf-8", len('glaze "Großer 🌊'.encode())),
        (("utf-16", "utf-8"), "utf-16", len('glaze "Großer 🌊'.encode("utf-16-le")) // 2),
        (("utf-32",), "utf-32", len('glaze "Großer 🌊')),
        ((), "utf-16", len('glaze "Großer 🌊'.encode("utf-16-le")) // 2),
    ],
)
def test_positions_are_counted_as_the_editor_asks(
    tmp_path: Path, encodings: tuple[str, ...], chosen: str, column: int
) -> None:
    path = tmp_path / "nebel.glost"
    page = PAGE.replace("🌊 Nebel", "🌊\u202e Nebel")

    async def questions(client: Any) -> list[Any]:
        return await opened(client, path, page)

    findings = ask_server(tmp_path, questions, encodings)
    syntax = [finding.range.start for finding in findings if finding.code == "syntax"]
    assert [(start.line, start.character) for start in syntax] == [(0, column)], chosen


def test_findings_follow_what_is_typed_and_go_with_the_page(tmp_path: Path) -> None:
    path = tmp_path / "nebel.glost"

    async def questions(client: Any) -> list[list[str]]:
        seen = [[one.code for one in await opened(client, path, PAGE.replace("40", "39"))]]
        for version, text in ((2, PAGE), (3, PAGE.replace("silica", "silicca"))):
            client.text_document_did_change(
                lsp.DidChangeTextDocumentParams(
                    lsp.VersionedTextDocumentIdentifier(version, path.as_uri()),
                    [lsp.TextDocumentContentChangeWholeDocument(text)],
                )
            )
            seen.append([one.code for one in await told(client, path)])
        client.text_document_did_close(lsp.DidCloseTextDocumentParams(document(path)))
        seen.append([one.code for one in await told(client, path)])
        return seen

    typed, right, unknown, closed = ask_server(tmp_path, questions)
    assert "base-total" in typed
    assert "base-total" not in right
    assert "unknown-material" in unknown
    assert not closed
    assert list(tmp_path.iterdir()) == []


def test_a_session_over_the_studio() -> None:
    """Layout, fixes, completion, hover, names, outline, folding and amounts, each asked for once."""
    path = STUDIO / "stoneware" / "harbour-mist.glost"
    text = path.read_text("utf-8")
    lines = text.split("\n")
    silica = next(n for n, line in enumerate(lines) if line.strip().startswith("silica"))
    storm = next(n for n, line in enumerate(lines) if line.startswith("variation"))

    async def questions(client: Any) -> dict[str, Any]:
        answers: dict[str, Any] = {"findings": await opened(client, path, text)}
        doc, at = document(path), lsp.Position(silica, 6)
        options = lsp.FormattingOptions(4, True)
        whole = lsp.Range(lsp.Position(0, 0), lsp.Position(len(lines), 0))
        answers["layout"] = await client.text_document_formatting_async(
            lsp.DocumentFormattingParams(doc, options)
        )
        answers["complete"] = await client.text_document_completion_async(lsp.CompletionParams(doc, at))
        answers["hover"] = await client.text_document_hover_async(lsp.HoverParams(doc, at))
        answers["test"] = await client.text_document_hover_async(
            lsp.HoverParams(doc, lsp.Position(storm, 12))
        )
        answers["uses"] = await client.text_document_references_async(
            lsp.ReferenceParams(lsp.ReferenceContext(True), doc, at)
        )
        answers["symbols"] = await client.text_document_document_symbol_async(lsp.DocumentSymbolParams(doc))
        answers["folds"] = await client.text_document_folding_range_async(lsp.FoldingRangeParams(doc))
        answers["hints"] = await client.text_document_inlay_hint_async(lsp.InlayHintParams(doc, whole))
        answers["rename"] = await client.text_document_rename_async(
            lsp.RenameParams(new_name="gale", text_document=doc, position=lsp.Position(storm, 12))
        )
        answers["found"] = await client.workspace_symbol_async(lsp.WorkspaceSymbolParams("storm"))
        return answers

    answers = ask_server(STUDIO, questions)
    assert list(answers["findings"]) == []
    assert list(answers["layout"]) == []
    assert {"silica", "silicon carbide"} <= {item.label for item in answers["complete"].items}
    assert "silica (silica)" in answers["hover"].contents.value
    assert "Local codes" in answers["hover"].contents.value
    assert "to weigh at 200 g of base" in answers["test"].contents.value
    assert len({one.uri for one in answers["uses"]}) > 20
    assert [one.name for one in answers["symbols"]] == ["Harbour Mist"]
    assert (storm, storm + 1) in {(fold.start_line, fold.end_line) for fold in answers["folds"]}
    assert "= 44.00 g" in {hint.label for hint in answers["hints"]}  # 22 of 100 parts of 200 g
    (edits,) = answers["rename"].changes.values()
    assert [(edit.new_text, edit.range.start.line) for edit in edits] == [("gale", storm)]
    assert "storm" in {one.name for one in answers["found"]}


def test_fixes_and_layout_are_handed_over_as_edits(tmp_path: Path) -> None:
    path = tmp_path / "nebel.glost"
    text = PAGE.replace("silica  60", "silica  60,0").replace("atmosphere", "Atmosphere")

    async def questions(client: Any) -> tuple[list[Any], Any]:
        await opened(client, path, text)
        last = lsp.Position(text.count("\n"), 0)
        asked = lsp.CodeActionParams(
            document(path), lsp.Range(lsp.Position(0, 0), last), lsp.CodeActionContext([])
        )
        found = await client.text_document_code_action_async(asked)
        laid_out = await client.text_document_formatting_async(
            lsp.DocumentFormattingParams(document(path), lsp.FormattingOptions(4, True))
        )
        return found, laid_out

    actions, laid_out = ask_server(tmp_path, questions)
    assert laid_out is None  # a page that cannot be read whole is not laid out
    (whole,) = [action for action in actions if action.kind == "source.fixAll.glost"]
    ((edit,),) = whole.edit.changes.values()
    assert "silica  60.0\n" in edit.new_text
    assert "atmosphere: oxidation\n" in edit.new_text
    quick = [action for action in actions if action.kind == "quickfix"]
    assert {action.diagnostics[0].range.start.line for action in quick} == {2, 6}
    assert list(tmp_path.iterdir()) == []
