"""What passes between server and editor, and is no question about a page: messages that cannot be taken, and what is
noted of them."""

from __future__ import annotations

import logging
import os
from typing import Any, Final

from pygls.exceptions import JsonRpcException, JsonRpcInvalidParams, JsonRpcInvalidRequest, JsonRpcParseError
from pygls.protocol import LanguageServerProtocol

_ANSWERED: Final = object()
"""Stands for a message to which the answer is given already."""


class AnsweringProtocol(LanguageServerProtocol):
    """Answers each request, those too that pygls passes over, since an editor may wait for an answer for ever."""

    def structure_message(self, data: dict[str, Any]) -> Any:
        try:
            return super().structure_message(data)
        except JsonRpcException:
            number = data.get("id")
            if "method" not in data or not isinstance(number, int | str):
                raise
            said = f"'{data['method']}' lacks something that it needs, or holds what it cannot take"
            self._refuse(number, JsonRpcInvalidParams.CODE, said)
            return _ANSWERED

    def handle_message(self, message: Any) -> None:
        if message is _ANSWERED:
            return
        if not hasattr(message, "jsonrpc"):
            self._refuse(None, JsonRpcInvalidRequest.CODE, "this is no message of JSON-RPC 2.0")
        elif self._shutdown and hasattr(message, "method") and hasattr(message, "id"):
            self._refuse(
                message.id, JsonRpcInvalidRequest.CODE, "the server was shut down, and awaits 'exit'"
            )
        else:
            super().handle_message(message)

    def refuse_unread(self) -> None:
        """Answers what is no JSON: nobody can tell which request it was."""
        self._refuse(None, JsonRpcParseError.CODE, "this message is no JSON that can be read")

    def _refuse(self, number: int | str | None, code: int, message: str) -> None:
        # As pygls writes an error, a number that is not known would be left out; it is to be null.
        self._send_data({"jsonrpc": self.VERSION, "id": number, "error": {"code": code, "message": message}})


class _FirstLine(logging.Formatter):
    """What happened, without the way through the code, unless somebody looks for a mistake in glost."""

    def format(self, record: logging.LogRecord) -> str:
        if os.environ.get("GLOST_DEBUG"):
            return super().format(record)
        return f"glost server: {record.getMessage().partition(chr(10))[0]}"


def note_on_standard_error() -> None:
    """What pygls notes goes to standard error, a line each; editors keep it in a log."""
    handler = logging.StreamHandler()
    handler.setFormatter(_FirstLine())
    logging.getLogger("pygls").addHandler(handler)
    logging.getLogger("pygls").propagate = False
