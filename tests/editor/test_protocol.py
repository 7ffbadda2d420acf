"""The server before a client that speaks badly: each request is answered, and the next one as ever. The codes are those
of JSON-RPC 2.0 and of the Language Server Protocol 3.17."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest

from tests.work import HANG_S

pytest.importorskip("pygls", reason="needs pygls (the extra editor)")

PAGE = 'glaze "Lee Shore"\nbase:\n    silica                 60\n    whiting                40\n'
AT: dict[str, Any] = {"textDocument": {"uri": "untitled:Untitled-1"}, "position": {"line": 0, "character": 8}}


def framed(body: bytes) -> bytes:
    return b"Content-Length: %d\r\n\r\n%s" % (len(body), body)


def message(method: str, params: Any, number: int | None = None) -> bytes:
    told = {"jsonrpc": "2.0", "method": method, "params": params}
    return framed(json.dumps(told if number is None else {**told, "id": number}).encode())


def messages(data: bytes) -> Iterator[dict[str, Any]]:
    while data:
        head, _, data = data.partition(b"\r\n\r\n")
        length = next(int(line[15:]) for line in head.split(b"\r\n") if line.startswith(b"Content-Length:"))
        yield json.loads(data[:length])
        data = data[length:]


def session(*said: bytes, more: tuple[str, ...] = ()) -> tuple[list[dict[str, Any]], str]:
    """What the server answers to what is said between the beginning and the end of a session, and what it notes."""
    opened = {"textDocument": {**AT["textDocument"], "languageId": "glost", "version": 1, "text": PAGE}}
    done = subprocess.run(
        [sys.executable, "-m", "glost", "server", *more],
        input=b"".join(
            (
                message("initialize", {"processId": None, "rootUri": None, "capabilities": {}}, 1),
                message("initialized", {}),
                message("textDocument/didOpen", opened),
                *said,
                message("shutdown", None, 2),
                message("textDocument/hover", AT, 3),
                message("exit", None),
            )
        ),
        capture_output=True,
        timeout=HANG_S,
        check=True,
    )
    return list(messages(done.stdout)), done.stderr.decode()


def answer(told: list[dict[str, Any]], number: int | None) -> list[dict[str, Any]]:
    return [one for one in told if "method" not in one and one["id"] == number]


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b'{"jsonrpc": nonsense', -32700),
        (b"\xff\xfe{", -32700),
        (b"", None),
        (b"[]", -32600),
        (b'"hover"', -32600),
        (b"{}", -32600),
    ],
)
def test_what_is_no_message_is_refused_and_the_next_one_answered(body: bytes, code: int | None) -> None:
    told, noted = session(framed(body), message("textDocument/hover", AT, 7))
    assert [one["error"]["code"] for one in answer(told, None)] == ([] if code is None else [code])
    assert "Lee Shore" in str(answer(told, 7)[0]["result"])
    assert "Traceback" not in noted


@pytest.mark.parametrize(
    ("method", "params", "code"),
    [
        ("textDocument/hover", {"position": 1}, -32602),
        ("textDocument/hover", {**AT, "position": {"line": -1, "character": 0}}, -32602),
        ("textDocument/completion", [], -32602),
        ("glost/none", {}, -32601),
    ],
)
def test_a_request_that_cannot_be_taken_is_answered(method: str, params: Any, code: int) -> None:
    told, noted = session(message(method, params, 7))
    assert [one["error"]["code"] for one in answer(told, 7)] == [code]
    assert not [one for one in told if one.get("method") == "window/showMessage"]
    assert "Traceback" not in noted


def test_behind_shutdown_each_request_is_refused() -> None:
    told, _ = session(more=("--stdio",))
    assert answer(told, 2)[0]["result"] is None
    assert [one["error"]["code"] for one in answer(told, 3)] == [-32600]


def test_a_page_that_is_not_saved_is_not_told_that_its_file_is_called_otherwise() -> None:
    told, _ = session()
    (found,) = [one["params"] for one in told if one.get("method") == "textDocument/publishDiagnostics"]
    assert "missing-cone" in {one["code"] for one in found["diagnostics"]}
    assert "file-name" not in {one["code"] for one in found["diagnostics"]}
