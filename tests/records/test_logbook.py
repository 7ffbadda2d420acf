"""The log on disks that cannot do everything."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from glost.records.text import record_of
from glost.workspace.files import write_new
from glost.workspace.logbook import keep
from tests.records.bench import MIST


def test_a_disk_without_hard_links_keeps_records_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(path: Path, target: Path) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    kept = keep(MIST, tmp_path)
    assert kept.outcome == "recorded"
    assert record_of(kept.path.read_text("utf-8")) == MIST
    assert keep(MIST, tmp_path).outcome == "known"
    assert [path.name for path in kept.path.parent.iterdir()] == [kept.path.name]


def test_a_new_file_takes_no_name_that_is_taken(tmp_path: Path) -> None:
    for name, make in (("file", Path.touch), ("folder", Path.mkdir)):
        make(tmp_path / name)
        with pytest.raises(FileExistsError):
            write_new(tmp_path / name, "text")
    (tmp_path / "link").symlink_to("nowhere")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "link", "text")
    assert (tmp_path / "file").read_bytes() == b""
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "folder", "link"]
