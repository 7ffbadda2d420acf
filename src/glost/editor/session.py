"""One server, for one editor: its studio, and what it says in the terms of the protocol: places, edits, findings."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from lsprotocol import types as lsp
from pygls import uris
from pygls.exceptions import JsonRpcException, PyglsError
from pygls.lsp.server import LanguageServer

from glost import __version__
from glost.editor import fixes, mentions
from glost.editor.page import Page
from glost.editor.positions import Positions
from glost.editor.protocol import AnsweringProtocol
from glost.editor.studio import Studio
from glost.language.source import Edit, Span
from glost.language.yaml_tree import ConfigError, every
from glost.linter.finding import ERROR, HINT, UNREADABLE, WARNING, Finding
from glost.workspace.paths import ENDING, STANDARD_INPUT

_SEVERITY: Final = {
    ERROR: lsp.DiagnosticSeverity.Error,
    WARNING: lsp.DiagnosticSeverity.Warning,
    HINT: lsp.DiagnosticSeverity.Information,
}


class GlostServer(LanguageServer):
    """One server, for one editor."""

    def __init__(self) -> None:
        # Whole texts: a change by place would have to count lines in just the way that the editor does.
        super().__init__(
            "glost",
            __version__,
            text_document_sync_kind=lsp.TextDocumentSyncKind.Full,
            protocol_cls=AnsweringProtocol,
        )
        self.studio = Studio()
        self.encoding = "utf-16"
        self._uris: dict[Path, str] = {}
        self._published: dict[str, list[lsp.Diagnostic]] = {}
        self._settings_told: set[str] = set()

    def report_server_error(self, error: Exception, source: type[PyglsError | JsonRpcException]) -> None:
        """A message that cannot be read is answered, and nobody who writes a page is told of it."""
        if source is JsonRpcException and isinstance(self.protocol, AnsweringProtocol):
            self.protocol.refuse_unread()
        else:
            super().report_server_error(error, source)

    # ---- places ----------------------------------------------------------------------------------------------

    def path(self, uri: str) -> Path:
        """The file that an editor names; a text without one is taken as a file of the opened folder."""
        if uri.startswith("file:"):
            path = Path(uris.to_fs_path(uri) or "")
        else:
            folder = self.studio.folders[0] if self.studio.folders else Path(os.sep)
            name = uri.rpartition(":")[2].strip("/").replace("/", "-") or "untitled"
            path = folder / (name if name.endswith(ENDING) else name + ENDING)
        self._uris[path] = uri
        return path

    def write(self, uri: str, text: str) -> None:
        """A page is opened, or has changed."""
        self.studio.write(self.path(uri), text, "" if uri.startswith("file:") else STANDARD_INPUT)

    def path_of(self, uri: str) -> Path:
        """A file that is not there yet."""
        return Path(uris.to_fs_path(uri) or "")

    def confirmed(self, changes: dict[str, list[lsp.TextEdit]], says: str) -> lsp.WorkspaceEdit:
        """Edits that nobody asked for by their name: an editor that can ask first is told to."""
        workspace = self.client_capabilities.workspace
        able = workspace and workspace.workspace_edit
        if not able or not able.document_changes or not able.change_annotation_support:
            return lsp.WorkspaceEdit(changes)
        return lsp.WorkspaceEdit(
            document_changes=[
                lsp.TextDocumentEdit(
                    lsp.OptionalVersionedTextDocumentIdentifier(uri, None),
                    [lsp.AnnotatedTextEdit("glost", edit.range, edit.new_text) for edit in edits],
                )
                for uri, edits in changes.items()
            ],
            change_annotations={"glost": lsp.ChangeAnnotation(says, needs_confirmation=True)},
        )

    def uri(self, path: Path) -> str:
        """As the editor named a file itself, where it did."""
        return self._uris.get(path) or uris.from_fs_path(str(path)) or path.as_uri()

    def page(self, uri: str) -> Page | None:
        return self.studio.opened_page(self.path(uri))

    def positions(self, page: Page) -> Positions:
        return Positions(page.text, self.encoding)

    def range(self, positions: Positions, span: Span) -> lsp.Range:
        start, end = positions.places(span)
        return lsp.Range(lsp.Position(*start), lsp.Position(*end))

    def edits(self, page: Page, edits: Iterable[Edit]) -> list[lsp.TextEdit]:
        positions = self.positions(page)
        return [lsp.TextEdit(self.range(positions, edit.span), edit.text) for edit in edits]

    def location(self, found: mentions.Found) -> lsp.Location:
        return lsp.Location(
            self.uri(found.page.path), self.range(self.positions(found.page), found.mention.span)
        )

    # ---- findings --------------------------------------------------------------------------------------------

    def publish(self) -> None:
        """Tells the findings of every open page, where they are not those that were told last."""
        told: set[str] = set()
        for page in self.studio.opened:
            uri = self.uri(page.path)
            diagnostics = self.diagnostics(page)
            refusal = self.studio.refusal(page.path)
            if refusal is not None:
                refused: dict[str, list[lsp.Diagnostic]] = {}
                for error in every(refusal):
                    refused.setdefault(self.uri(self._file_of(error, page)), []).append(_refused(error))
                for file, wrong in refused.items():
                    told.add(file)
                    self._tell(file, wrong)
                diagnostics.insert(0, _settings_not_taken(refusal))
            self._tell(uri, diagnostics)
        for file in self._settings_told - told:
            self._tell(file, [])
        self._settings_told = told

    def _file_of(self, refusal: ConfigError, page: Page) -> Path:
        root = page.collection.root or page.path.parent
        return root / Path(refusal.source.path).name

    def _tell(self, uri: str, diagnostics: list[lsp.Diagnostic]) -> None:
        if self._published.get(uri, []) == diagnostics and uri in self._published:
            return
        self._published[uri] = diagnostics
        self.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, diagnostics))

    def forget(self, uri: str) -> None:
        """Nothing is told of a page that is closed."""
        if self._published.pop(uri, None):
            self.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, []))

    def diagnostics(self, page: Page) -> list[lsp.Diagnostic]:
        positions = self.positions(page)
        return [self.diagnostic(page, positions, finding) for finding in self.studio.findings(page)]

    def diagnostic(self, page: Page, positions: Positions, finding: Finding) -> lsp.Diagnostic:
        unreadable = finding.rule == UNREADABLE
        span = Span(0, 0) if unreadable else fixes.span_of(finding, page.tree.source)
        return lsp.Diagnostic(
            self.range(positions, span),
            f"{finding.message}\n{finding.hint}" if finding.hint else finding.message,
            severity=_SEVERITY[finding.level],
            code=finding.rule,
            source="glost",
            tags=[lsp.DiagnosticTag.Unnecessary] if finding.rule.startswith("idle-") else None,
        )


def _refused(error: ConfigError) -> lsp.Diagnostic:
    place = lsp.Position(error.position.line - 1, error.position.column - 1)
    text = f"{error.message}\n{error.hint}" if error.hint else error.message
    return lsp.Diagnostic(lsp.Range(place, place), text, lsp.DiagnosticSeverity.Error, source="glost")


def _settings_not_taken(error: ConfigError) -> lsp.Diagnostic:
    start = lsp.Position(0, 0)
    name = Path(error.source.path).name
    return lsp.Diagnostic(
        lsp.Range(start, start),
        f"{name} cannot be taken as it stands, so none of it holds here: line {error.position.line}: {error.message}",
        severity=lsp.DiagnosticSeverity.Error,
        source="glost",
    )
