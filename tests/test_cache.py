"""The cache never changes an answer: cold, warm, broken, absent, read-only, raced."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from glost import cache
from tests.conftest import STUDIO, Run

SETTINGS = "batch: 100 g\nbalances:\n  - {name: fine, capacity: 300 g, readability: 0.01 g}\n"
PAGE = 'glaze "A"\ncone: 06\natmosphere: oxidation\norigin: x\n\nbase:\n    whiting  100\n'


@pytest.fixture
def collection(tmp_path: Path) -> Path:
    (tmp_path / "glost.yaml").write_text(SETTINGS)
    (tmp_path / "a.glost").write_text(PAGE)
    return tmp_path


def test_what_was_kept_is_found_for_that_text_alone() -> None:
    cache.keep("test", "text", [1, {"a": None}])
    assert cache.find("test", "text") == [1, {"a": None}]
    assert cache.find("test", "texu") is None
    assert cache.find("other", "text") is None


def test_an_entry_of_another_text_under_the_same_name_is_not_taken(cache: Path) -> None:
    from glost import cache as module

    module.keep("test", "text", 1)
    [entry] = cache.rglob("*.json")
    entry.write_text(json.dumps({"text": "other", "kept": 2}))
    assert module.find("test", "text") is None


@pytest.mark.parametrize("broken", [b"", b"{", b"[]", b"null", b'{"text": 1}', b"\xff\xfe", b"[" * 100_000])
def test_a_broken_entry_is_as_if_it_were_not_there(
    run: Run, collection: Path, cache: Path, broken: bytes
) -> None:
    cold = run("lint")
    entries = list(cache.rglob("*.json"))
    assert entries
    for entry in entries:
        entry.write_bytes(broken)
    warm = run("lint")
    assert (warm.returncode, warm.stdout, warm.stderr) == (cold.returncode, cold.stdout, cold.stderr)


def test_a_kept_node_that_is_no_node_is_read_anew(run: Run, collection: Path, cache: Path) -> None:
    cold = run("lint")
    for entry in cache.rglob("yaml-*.json"):
        held = json.loads(entry.read_text())
        entry.write_text(json.dumps({"text": held["text"], "kept": [1, 2]}))
    assert run("lint").stderr == cold.stderr


def test_cold_warm_and_off_say_the_same(run: Run) -> None:
    said = [
        run("lint", str(STUDIO / "needs-work"), "--output", "json", GLOST_CACHE=asked).stdout
        for asked in ("off", "/proc/nowhere", "off")
    ]
    said += [run("lint", str(STUDIO / "needs-work"), "--output", "json").stdout for _ in range(2)]
    assert len(set(said)) == 1


def test_changed_settings_of_the_same_size_are_seen(run: Run, collection: Path) -> None:
    assert run("lint").returncode == 0
    (collection / "glost.yaml").write_text(
        SETTINGS.replace("100 g", "900 g").replace("batch: 900", "batcx: 900")
    )
    assert run("lint").returncode == 2


def test_nothing_is_left_but_entries(run: Run, collection: Path, cache: Path) -> None:
    run("lint")
    assert {path.suffix for path in cache.rglob("*") if path.is_file()} == {".json"}


def test_no_home_means_no_cache(run: Run, collection: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert run("lint", GLOST_CACHE="", HOME="", XDG_CACHE_HOME="").returncode == 0
    for name in ("GLOST_CACHE", "HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, "")
    assert cache.folder() is None
