"""The server before real clients: pytest-lsp, in each encoding of positions, and a headless Neovim."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import subprocess
import sys
import textwrap
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any, TypeVar

import pytest

from tests.conftest import STUDIO
from tests.work import HANG_S

pytest.importorskip("pygls", reason="needs pygls (the extra editor)")
pytest_lsp = pytest.importorskip("pytest_lsp", reason="needs pytest-lsp")

from lsprotocol import types as lsp  # noqa: E402

PAGE = 'glaze "Großer 🌊 Nebel"\ncone: 6\n\nbase:\n    silica  60\n    whiting  40\n'
T = TypeVar("T")


def serve_then(
    folder: Path, ask: Callable[[Any], Awaitable[T]], encodings: tuple[str, ...] = ("utf-16",)
) -> T:
    """What a client that opened a folder gets to know; the server is a process of its own."""

    async def all_of_it() -> T:
        async with _client(folder, encodings) as client:
            return await asyncio.wait_for(ask(client), HANG_S)

    return asyncio.run(all_of_it())


@asynccontextmanager
async def _client(folder: Path, encodings: tuple[str, ...]) -> AsyncIterator[Any]:
    client = pytest_lsp.LanguageClient(
        protocol_cls=pytest_lsp.client.LanguageClientProtocol,
        converter_factory=pytest_lsp.client.default_converter
        if hasattr(pytest_lsp.client, "default_converter")
        else pytest_lsp.make_test_lsp_client().protocol._converter.__class__,
    )
    yield client
