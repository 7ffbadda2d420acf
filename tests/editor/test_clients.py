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
    folder: Path,
    questions: Callable[[Any], Awaitable[T]],
    encodings: tuple[str, ...] = ("utf-16",),
    workspace_edit: Any = None,
) -> T:
    """What a client that opened a folder gets to know from a server that is a process of its own."""

    async def session() -> T:
        client = pytest_lsp.make_test_lsp_client()
        await client.start_io(sys.executable, "-m", "glost", "server")
        try:
            asked = pytest_lsp.client_capabilities("neovim")
            asked.general.position_encodings = list(encodings)
            asked.workspace.workspace_edit = workspace_edit
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
    renamed = answers["rename"].changes
    assert [(edit.new_text, edit.range.start.line) for edit in renamed[path.as_uri()]] == [("gale", storm)]
    fired = STUDIO / "firings" / "small-kiln-41.firing"
    tile = next(n for n, line in enumerate(fired.read_text("utf-8").split("\n")) if "Mist, storm" in line)
    assert [(edit.new_text, edit.range.start.line) for edit in renamed[fired.as_uri()]] == [("gale", tile)]
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


def test_each_name_that_a_message_offers_is_a_fix_to_choose(tmp_path: Path) -> None:
    path = tmp_path / "nebel.glost"
    text = PAGE.replace("whiting", "iron oxide").replace("silica", "silicca")

    async def questions(client: Any) -> tuple[list[list[Any]], list[Any]]:
        await opened(client, path, text)
        found = []
        for line in (6, 7):
            whole = lsp.Range(lsp.Position(line, 4), lsp.Position(line, 8))
            asked = lsp.CodeActionParams(document(path), whole, lsp.CodeActionContext([]))
            found.append(await client.text_document_code_action_async(asked))
        all_asked = lsp.CodeActionParams(
            document(path), whole, lsp.CodeActionContext([], only=["source.fixAll.glost"])
        )
        return found, await client.text_document_code_action_async(all_asked)

    (slip, several), fix_all = ask_server(tmp_path, questions)
    assert not fix_all  # what is weighed changes by nobody's word but the person's
    for line, actions in ((6, slip), (7, several)):
        assert actions
        for action in actions:
            (about,) = action.diagnostics
            assert (action.kind, action.is_preferred, about.code) == ("quickfix", None, "unknown-material")
            ((edit,),) = action.edit.changes.values()
            assert (edit.range.start, edit.range.end.line) == (lsp.Position(line, 4), line)
            assert action.title.startswith(f"Write {edit.new_text}")
            assert edit.new_text in about.message  # it is what the message offers
    assert [action.title for action in slip] == ["Write silica"]
    assert len({action.title for action in several}) == len(several) >= 2


OWN = "materials:\n  # 🌊\n  - {name: Weiße Erde, aliases: [W], role: clay, source: invented}\n"
USING = FIRST.replace("Großer 🌊 Nebel", "Using") + 'base:\n    glaze "Großer 🌊 Nebel"  60  (ß)\n    w  40\n'
FIRED = 'firing "F"\ndate: 2026-05-14\ntile "🌊":\n    test: glaze "Großer 🌊 Nebel"\n    photo: 🌊/1.jpg\n'


def collection(folder: Path) -> Path:
    (folder / "glost.yaml").write_text("materials: materials.yaml\n")
    (folder / "materials.yaml").write_text(OWN, "utf-8")
    (folder / "using.glost").write_text(USING, "utf-8")
    (folder / "f.firing").write_text(FIRED, "utf-8")
    (folder / "großer-nebel.glost").write_text(PAGE, "utf-8")
    return folder / "using.glost"


def units(text: str, encoding: str) -> int:
    """How many units stand before a place, as Python's own codecs count them."""
    size = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[encoding]
    return len(text.encode(encoding if encoding == "utf-8" else f"{encoding}-le")) // size


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-32"])
def test_a_material_leads_to_its_entry_and_to_all_that_use_it(tmp_path: Path, encoding: str) -> None:
    path = collection(tmp_path)
    (tmp_path / "other.glost").write_text(
        FIRST.replace("Nebel", "Tag") + "base:\n    weiße  ERDE  100\n", "utf-8"
    )
    line = USING.split("\n").index("    w  40")

    async def questions(client: Any) -> tuple[Any, Any, Any, list[str]]:
        await opened(client, path, USING)
        doc = document(path)
        own = await client.text_document_definition_async(lsp.DefinitionParams(doc, lsp.Position(line, 4)))
        uses = await client.text_document_references_async(
            lsp.ReferenceParams(lsp.ReferenceContext(True), doc, lsp.Position(line, 4))
        )
        # The page asked of last holds a material of the catalogue.
        other = tmp_path / "großer-nebel.glost"
        await opened(client, other, PAGE)
        at = lsp.Position(PAGE.split("\n").index("    silica  60"), 6)
        none = await client.text_document_definition_async(lsp.DefinitionParams(document(other), at))
        return own, uses, none, [one.message for one in client.messages]

    own, uses, none, messages = ask_server(tmp_path, questions, (encoding,))
    (entry,) = own
    assert entry.uri == (tmp_path / "materials.yaml").as_uri()
    before = "  - {name: "
    assert (entry.range.start.line, entry.range.start.character) == (2, units(before, encoding))
    assert entry.range.end.character == units(before + "Weiße Erde", encoding)
    places = [(Path(lsp_path(one.uri)).name, one.range.start.line) for one in uses]
    assert places == [("materials.yaml", 2), ("other.glost", 6), ("using.glost", line)]
    assert list(none) == []
    assert any("silica comes with glost" in one for one in messages)


def lsp_path(uri: str) -> str:
    from pygls import uris

    return uris.to_fs_path(uri) or ""


@pytest.mark.parametrize("asks_first", [True, False])
def test_a_file_that_is_renamed_takes_the_name_of_its_recipe_along(tmp_path: Path, asks_first: bool) -> None:
    path = collection(tmp_path)
    (tmp_path / "großer-nebel.glost").rename(tmp_path / "großer-🌊-nebel.glost")
    old, new = tmp_path / "großer-🌊-nebel.glost", tmp_path / "kleiner-nebel.glost"

    async def questions(client: Any) -> Any:
        await opened(client, path, USING)
        moves = [lsp.FileRename(old.as_uri(), new.as_uri())]
        moves.append(lsp.FileRename((tmp_path / "🌊").as_uri(), (tmp_path / "bilder").as_uri()))
        return await client.workspace_will_rename_files_async(lsp.RenameFilesParams(moves))

    able = None
    if asks_first:
        able = lsp.WorkspaceEditClientCapabilities(
            document_changes=True, change_annotation_support=lsp.ChangeAnnotationsSupportOptions()
        )
    edit = ask_server(tmp_path, questions, workspace_edit=able)
    changes = edit.changes or {one.text_document.uri: one.edits for one in edit.document_changes}
    assert bool(edit.change_annotations) is asks_first
    if asks_first:
        (annotation,) = edit.change_annotations.values()
        assert annotation.needs_confirmation
        assert "Großer 🌊 Nebel becomes Kleiner Nebel" in annotation.label
    got = {
        Path(lsp_path(uri)).name: [
            (one.new_text, one.range.start.line, one.range.start.character) for one in edits
        ]
        for uri, edits in changes.items()
    }
    assert got == {
        old.name: [("Kleiner Nebel", 0, 7)],
        "using.glost": [("Kleiner Nebel", 6, 11)],
        "f.firing": [("Kleiner Nebel", 3, 17), ("bilder/1.jpg", 4, 11)],
    }
    # The server told the editor, and wrote nothing itself.
    assert (tmp_path / "f.firing").read_text("utf-8") == FIRED


def test_a_name_that_another_recipe_has_is_told_and_nothing_is_changed(tmp_path: Path) -> None:
    path = collection(tmp_path)
    (tmp_path / "nebel.glost").write_text(PAGE.replace("Großer 🌊 ", ""), "utf-8")

    async def questions(client: Any) -> tuple[Any, list[str]]:
        await opened(client, path, USING)
        moves = [lsp.FileRename((tmp_path / "nebel.glost").as_uri(), (tmp_path / "sub/using.glost").as_uri())]
        edit = await client.workspace_will_rename_files_async(lsp.RenameFilesParams(moves))
        return edit, [one.message for one in client.messages]

    edit, messages = ask_server(tmp_path, questions)
    assert edit is None
    assert any("another recipe is called 'Using'" in one for one in messages)
