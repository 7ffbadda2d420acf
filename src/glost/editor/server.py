"""What the server answers: a handler for each method of the protocol, which hands on what the other modules of this
room find. Positions are counted in the encoding that the editor asks for first of those it knows."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from lsprotocol import types as lsp
from pygls import uris
from pygls.exceptions import JsonRpcException

from glost.editor import amounts, complete, entries, fixes, hover, layout, mentions, moved, outline
from glost.editor.page import Page
from glost.editor.positions import Place, Positions
from glost.editor.protocol import note_on_standard_error
from glost.editor.session import GlostServer
from glost.editor.studio import Studio
from glost.language.layout import FormatError
from glost.language.source import Edit, Span

_OFFERS: Final = {
    "field": lsp.CompletionItemKind.Property,
    "head": lsp.CompletionItemKind.Keyword,
    "value": lsp.CompletionItemKind.Value,
    "material": lsp.CompletionItemKind.Constant,
    "recipe": lsp.CompletionItemKind.Reference,
    "rule": lsp.CompletionItemKind.EnumMember,
}
_SYMBOLS: Final = {
    "recipe": lsp.SymbolKind.Class,
    "field": lsp.SymbolKind.Property,
    "block": lsp.SymbolKind.Namespace,
    "test": lsp.SymbolKind.Function,
    "material": lsp.SymbolKind.Constant,
}
FIX_ALL: Final = "source.fixAll.glost"
_REQUEST_FAILED: Final = -32803
"""LSPErrorCodes.RequestFailed (Language Server Protocol 3.17)."""


def make_server() -> GlostServer:
    """A server that is told nothing yet."""
    server = GlostServer()
    _add_writing(server)
    _add_fixes(server)
    _add_layout(server)
    _add_offers(server)
    _add_reading(server)
    _add_names(server)
    _add_renaming(server)
    _add_moves(server)
    return server


def serve() -> None:
    """Serves on standard input and output until the editor leaves. They are taken by handles of their own, since those
    are closed at the end, and the command line looks at its own behind that."""
    note_on_standard_error()
    make_server().start_io(os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb"))


def _add_writing(server: GlostServer) -> None:
    """What the editor tells of its texts."""

    @server.feature(lsp.INITIALIZE)
    def _(params: lsp.InitializeParams) -> None:
        folders = [folder.uri for folder in params.workspace_folders or ()]
        if not folders and params.root_uri:
            folders = [params.root_uri]
        paths = [Path(path) for uri in folders if (path := uris.to_fs_path(uri))]
        server.studio = Studio(paths)
        asked: Sequence[Any] = (
            params.capabilities.general and params.capabilities.general.position_encodings
        ) or ()
        known = [str(getattr(one, "value", one)) for one in asked]
        server.encoding = next((one for one in known if one in ("utf-8", "utf-16", "utf-32")), "utf-16")

    @server.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
    def _(params: lsp.DidOpenTextDocumentParams) -> None:
        server.write(params.text_document.uri, params.text_document.text)
        server.publish()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def _(params: lsp.DidChangeTextDocumentParams) -> None:
        uri = params.text_document.uri
        server.write(uri, server.workspace.get_text_document(uri).source)
        server.publish()

    @server.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    def _(_params: lsp.DidSaveTextDocumentParams) -> None:
        server.studio.look_again()
        server.publish()

    @server.feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def _(_params: lsp.DidChangeWatchedFilesParams) -> None:
        server.studio.look_again()
        server.publish()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def _(params: lsp.DidCloseTextDocumentParams) -> None:
        server.studio.close(server.path(params.text_document.uri))
        server.forget(params.text_document.uri)
        server.publish()


def _add_fixes(server: GlostServer) -> None:
    """What the editor may offer to fix."""

    @server.feature(
        lsp.TEXT_DOCUMENT_CODE_ACTION,
        lsp.CodeActionOptions([lsp.CodeActionKind.QuickFix, FIX_ALL]),
    )
    def _(params: lsp.CodeActionParams) -> list[lsp.CodeAction] | None:
        uri = params.text_document.uri
        page = server.page(uri)
        if page is None:
            return None
        actions: list[lsp.CodeAction] = []
        positions = server.positions(page)
        if _wanted(params, lsp.CodeActionKind.QuickFix.value):
            within = _span(positions, params.range)
            for one in fixes.offered(page, server.studio.findings(page), within):
                edit = lsp.WorkspaceEdit({uri: server.edits(page, one.edits)})
                about = server.diagnostic(page, positions, one.finding)
                actions.append(
                    lsp.CodeAction(one.title, lsp.CodeActionKind.QuickFix, diagnostics=[about], edit=edit)
                )
        if _wanted(params, FIX_ALL) and (text := fixes.fix_all(page)) is not None:
            whole = server.edits(page, [Edit(Span(0, len(page.text)), text)])
            actions.append(
                lsp.CodeAction("Fix all that is certain", FIX_ALL, edit=lsp.WorkspaceEdit({uri: whole}))
            )
        return actions


def _add_layout(server: GlostServer) -> None:
    """A page, or lines of it, laid out."""

    def laid_out(uri: str, within: lsp.Range | None) -> list[lsp.TextEdit] | None:
        page = server.page(uri)
        if page is None:
            return None
        span = None if within is None else _lines(server.positions(page), within)
        try:
            return server.edits(page, layout.layout_edits(page, span))
        except FormatError as error:
            told = f"{page.file} is not laid out: {error}"
            server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Warning, told))
            return None

    @server.feature(lsp.TEXT_DOCUMENT_FORMATTING)
    def _(params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit] | None:
        return laid_out(params.text_document.uri, None)

    @server.feature(lsp.TEXT_DOCUMENT_RANGE_FORMATTING)
    def _(params: lsp.DocumentRangeFormattingParams) -> list[lsp.TextEdit] | None:
        return laid_out(params.text_document.uri, params.range)


def _add_offers(server: GlostServer) -> None:
    """What is said and offered where the cursor stands."""

    @server.feature(lsp.TEXT_DOCUMENT_COMPLETION, lsp.CompletionOptions(trigger_characters=[" ", '"', ":"]))
    def _(params: lsp.CompletionParams) -> lsp.CompletionList | None:
        page = server.page(params.text_document.uri)
        if page is None:
            return None
        positions = server.positions(page)
        found = complete.offers(page, _offset(positions, params.position), server.studio.pages(page.path))
        items = [
            lsp.CompletionItem(
                one.label,
                kind=_OFFERS[one.sort],
                detail=one.detail or None,
                filter_text=one.filter or one.label,
                sort_text=f"{at:05}",
                text_edit=lsp.TextEdit(server.range(positions, one.span), one.text),
            )
            for at, one in enumerate(found)
        ]
        return lsp.CompletionList(is_incomplete=any(one.sort == "material" for one in found), items=items)

    @server.feature(lsp.TEXT_DOCUMENT_HOVER)
    def _(params: lsp.HoverParams) -> lsp.Hover | None:
        page = server.page(params.text_document.uri)
        if page is None:
            return None
        positions = server.positions(page)
        told = hover.told_at(page, _offset(positions, params.position), server.studio.pages(page.path))
        if told is None:
            return None
        about = server.client_capabilities.text_document
        forms = (about and about.hover and about.hover.content_format) or ()
        if lsp.MarkupKind.Markdown in forms:
            contents = lsp.MarkupContent(lsp.MarkupKind.Markdown, _fenced(told.text))
        else:
            contents = lsp.MarkupContent(lsp.MarkupKind.PlainText, told.text)
        return lsp.Hover(contents, server.range(positions, told.span))


def _add_reading(server: GlostServer) -> None:
    """What is shown of a page beside its text: its outline, what folds, amounts."""

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def _(params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol] | None:
        page = server.page(params.text_document.uri)
        if page is None:
            return None
        positions = server.positions(page)

        def symbol(entry: outline.Entry) -> lsp.DocumentSymbol:
            return lsp.DocumentSymbol(
                entry.name or "?",
                _SYMBOLS[entry.sort],
                server.range(positions, entry.span),
                server.range(positions, entry.name_span),
                detail=entry.detail or None,
                children=[symbol(inner) for inner in entry.inner],
            )

        return [symbol(entry) for entry in outline.outline(page.tree)]

    @server.feature(lsp.TEXT_DOCUMENT_FOLDING_RANGE)
    def _(params: lsp.FoldingRangeParams) -> list[lsp.FoldingRange] | None:
        page = server.page(params.text_document.uri)
        if page is None:
            return None
        return [
            lsp.FoldingRange(
                fold.first - 1,
                fold.last - 1,
                kind=lsp.FoldingRangeKind.Comment if fold.comment else lsp.FoldingRangeKind.Region,
            )
            for fold in outline.folds(page.tree)
        ]

    @server.feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
    def _(params: lsp.InlayHintParams) -> list[lsp.InlayHint] | None:
        page = server.page(params.text_document.uri)
        if page is None:
            return None
        positions = server.positions(page)
        asked = _lines(positions, params.range)
        return [
            lsp.InlayHint(
                lsp.Position(*positions.place(one.offset)),
                one.text,
                tooltip=one.says,
                padding_left=True,
            )
            for one in amounts.beside(page)
            if asked.start <= one.offset <= asked.end
        ]


def _meant(
    server: GlostServer, uri: str, position: lsp.Position
) -> tuple[Page, list[Page], mentions.Meaning, mentions.Mention] | None:
    """What the name at a position means, and where it stands."""
    page = server.page(uri)
    if page is None:
        return None
    pages = [*server.studio.pages(page.path), *server.studio.firings(page.path)]
    offset = _offset(server.positions(page), position)
    found = mentions.meaning_at(page, offset, mentions.names_of(pages))
    return None if found is None else (page, pages, *found)


def _add_names(server: GlostServer) -> None:
    """Where a name stands, over the pages of a collection."""

    def entry_of(meaning: mentions.Meaning, page: Page) -> list[lsp.Location]:
        place = entries.place_of(meaning.name, page.collection)
        if place is None:
            return []
        at = server.range(Positions(place.text, server.encoding), place.span)
        return [lsp.Location(server.uri(place.path), at)]

    @server.feature(lsp.TEXT_DOCUMENT_DEFINITION)
    def _(params: lsp.DefinitionParams) -> list[lsp.Location]:
        found = _meant(server, params.text_document.uri, params.position)
        if found is None:
            return []
        page, pages, meaning, mention = found
        if meaning.kind == "material":
            entry = entry_of(meaning, page)
            if not entry:
                said = _no_entry(page, mention)
                server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Info, said))
            return entry
        return [server.location(one) for one in mentions.found(meaning, page, pages) if one.mention.defines]

    @server.feature(lsp.TEXT_DOCUMENT_REFERENCES)
    def _(params: lsp.ReferenceParams) -> list[lsp.Location]:
        found = _meant(server, params.text_document.uri, params.position)
        if found is None:
            return []
        page, pages, meaning, _ = found
        every = mentions.found(meaning, page, pages)
        wanted = params.context.include_declaration
        entry = entry_of(meaning, page) if wanted and meaning.kind == "material" else []
        return [*entry, *(server.location(one) for one in every if wanted or not one.mention.defines)]

    @server.feature(lsp.WORKSPACE_SYMBOL)
    def _(params: lsp.WorkspaceSymbolParams) -> list[lsp.WorkspaceSymbol]:
        asked = params.query.casefold()
        seen: dict[Path, Page] = {}
        for page in server.studio.everything():
            seen.setdefault(page.path, page)
        found = []
        for page in seen.values():
            for mention in sorted(mentions.mentions(page, {}), key=lambda one: one.span):
                name = page.text[mention.span.start : mention.span.end]
                if mention.defines and asked in name.casefold():
                    at = server.location(mentions.Found(page, mention))
                    sort = "recipe" if mention.kind == "recipe" else "test"
                    found.append(lsp.WorkspaceSymbol(at, name, _SYMBOLS[sort], container_name=page.file))
        return found


def _add_renaming(server: GlostServer) -> None:
    """Another name for what has one, on every page of a collection."""

    @server.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
    def _(params: lsp.PrepareRenameParams) -> lsp.PrepareRenamePlaceholder | None:
        found = _meant(server, params.text_document.uri, params.position)
        if found is None or found[2].kind == "material":
            return None
        page, _, _, mention = found
        text = page.text[mention.span.start : mention.span.end]
        return lsp.PrepareRenamePlaceholder(server.range(server.positions(page), mention.span), text)

    @server.feature(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameOptions(prepare_provider=True))
    def _(params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        found = _meant(server, params.text_document.uri, params.position)
        if found is None:
            return None
        page, pages, meaning, _ = found
        try:
            changed = mentions.rename(meaning, params.new_name, page, pages)
        except mentions.RenameError as error:
            raise JsonRpcException(str(error), _REQUEST_FAILED) from None
        return lsp.WorkspaceEdit({server.uri(one.path): server.edits(one, edits) for one, edits in changed})


def _add_moves(server: GlostServer) -> None:
    """What the editor tells of files that get another name or another place."""
    asked = lsp.FileOperationRegistrationOptions(
        [
            lsp.FileOperationFilter(lsp.FileOperationPattern(glob), scheme="file")
            for glob in ("**/*.{glost,firing,jpg,jpeg,png}", "**/*/")
        ]
    )

    @server.feature(lsp.WORKSPACE_WILL_RENAME_FILES, asked)
    def _(params: lsp.RenameFilesParams) -> lsp.WorkspaceEdit | None:
        moves = [
            moved.Move(server.path(one.old_uri), server.path_of(one.new_uri))
            for one in params.files
            if one.old_uri.startswith("file:") and one.new_uri.startswith("file:")
        ]
        changed: dict[str, list[lsp.TextEdit]] = {}
        said: list[str] = []
        firings: dict[Path, Page] = {}
        for move in moves:
            near = list(server.studio.firings(move.old))
            firings.update((one.path, one) for one in near)
            page = server.studio.page(move.old)
            if page is None or page.tree.is_firing:
                continue
            pages = [*server.studio.pages(move.old), *near]
            try:
                found = moved.renamed(page, move.new, pages)
            except mentions.RenameError as error:
                server.window_show_message(
                    lsp.ShowMessageParams(
                        lsp.MessageType.Warning, f"{page.recipe.name} keeps its name: {error}"
                    )
                )
                continue
            if found is not None:
                said.append(f"{page.recipe.name} becomes {found[0]}")
                for one, edits in found[1]:
                    changed.setdefault(server.uri(one.path), []).extend(server.edits(one, edits))
            elif server.studio.leaves(move.old, move.new):
                meaning = mentions.Meaning("recipe", page.name)
                others = {one.page.file for one in mentions.found(meaning, page, pages)} - {page.file}
                if page.name and others:
                    told = f"{page.recipe.name} leaves its collection, and is named in {', '.join(sorted(others))}"
                    server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Warning, told))
        for firing, edits in moved.pictures(moves, firings.values()):
            said.append(f"pictures of {firing.file}")
            changed.setdefault(server.uri(firing.path), []).extend(server.edits(firing, edits))
        return server.confirmed(changed, "; ".join(said)) if changed else None

    @server.feature(lsp.WORKSPACE_DID_RENAME_FILES, asked)
    def _(_params: lsp.RenameFilesParams) -> None:
        server.studio.look_again()
        server.publish()


def _no_entry(page: Page, mention: mentions.Mention) -> str:
    """Why a material has no place to go to."""
    name = page.text[mention.span.start : mention.span.end]
    if page.catalogue.find(name) is None:
        return f"no material called {name} is known here; materials.yaml is where a collection adds its own"
    return (
        f"{mention.name} comes with glost, and this collection's own file of materials says nothing of it: "
        "point at it to read what is known"
    )


def _wanted(params: lsp.CodeActionParams, kind: str) -> bool:
    """Whether the editor asks for actions of a kind: for all, for it, or for those that it is one of."""
    only = params.context.only
    if not only:
        return True
    asked = [str(getattr(one, "value", one)) for one in only]
    return any(kind == one or kind.startswith(f"{one}.") for one in asked)


def _offset(positions: Positions, position: lsp.Position) -> int:
    return positions.offset(Place(position.line, position.character))


def _span(positions: Positions, asked: lsp.Range) -> Span:
    return Span(_offset(positions, asked.start), _offset(positions, asked.end))


def _lines(positions: Positions, asked: lsp.Range) -> Span:
    """The whole lines that a range touches; one that ends at the beginning of a line does not touch it."""
    last = asked.end.line
    if asked.end.character == 0 and last > asked.start.line:
        last -= 1
    return positions.line_span(asked.start.line, last)


def _fenced(text: str) -> str:
    """A text that keeps its columns, and of which nothing is taken for markup."""
    fence = "```"
    while fence in text:
        fence += "`"
    return f"{fence}text\n{text.rstrip()}\n{fence}"
