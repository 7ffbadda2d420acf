"""Small pictures of tiles on the page of results: upright, without what the camera says, and of pictures alone."""

from __future__ import annotations

import base64
import io
import re
import sys
from pathlib import Path

import pytest
from PIL import Image

from tests.conftest import Run

FIRING = """\
firing "Kiln 7"
date: 2026-05-14

tile "1":
    test: glaze "Low Tide"
    photo: photos/a b.jpg
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    (tmp_path / "glost.yaml").write_text("name: Test\n")
    (tmp_path / "low-tide.glost").write_text('glaze "Low Tide"\nbase:\n    silica 100\n')
    (tmp_path / "a.firing").write_text(FIRING)
    (tmp_path / "photos").mkdir()
    return tmp_path / "photos" / "a b.jpg"


def small(text: str) -> Image.Image | None:
    found = re.search(r'<img src="data:image/jpeg;base64,([^"]+)"', text)
    return Image.open(io.BytesIO(base64.b64decode(found[1]))) if found else None


def test_a_small_picture_stands_upright_and_says_nothing_of_the_camera(run: Run, photo: Path) -> None:
    image = Image.new("RGB", (1200, 800), "navy")
    image.paste("gold", (0, 0, 600, 800))
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (47.0, 22.0, 1.0)
    image.save(photo, exif=exif)
    said = run("results", ".", "--output", "html")
    assert (said.returncode, said.stderr) == (0, "")
    assert '<a href="./photos/a%20b.jpg">' in said.stdout
    made = small(said.stdout)
    assert made is not None
    assert made.size == (160, 240)
    assert dict(made.getexif()) == {}
    top, below = (made.convert("RGB").getpixel((80, at)) for at in (20, 220))
    assert isinstance(top, tuple)
    assert isinstance(below, tuple)
    assert top[0] > 200 > below[0]


@pytest.mark.parametrize(
    "data",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"GIF89a" + bytes(40),
        b"\xff\xd8\xff" + bytes(400),
        b"",
        # A picture that says it is 60,000 dots high and wide, in a few bytes (PNG, W3C, 11.2.2 IHDR).
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\xea\x60\0\0\xea\x60\x08\x02\0\0\0" + bytes(40),
    ],
)
def test_what_is_no_picture_is_linked_and_told(run: Run, photo: Path, data: bytes) -> None:
    photo.write_bytes(data)
    said = run("results", ".", "--output", "html")
    assert said.returncode == 0
    assert "photos/a b.jpg: no picture that can be shown; it is linked" in said.stderr
    assert small(said.stdout) is None


def test_without_pillow_photos_are_linked(run: Run, photo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Image.new("RGB", (12, 8)).save(photo)
    monkeypatch.setitem(sys.modules, "PIL", None)
    said = run("results", ".", "--output", "html")
    assert "need Pillow" in said.stderr
    assert '<a href="./photos/a%20b.jpg">photo of tile 1</a>' in said.stdout


def test_a_link_out_of_the_collection_shows_nothing(run: Run, photo: Path, tmp_path: Path) -> None:
    outside = tmp_path.parent / f"{tmp_path.name}.jpg"
    Image.new("RGB", (12, 8)).save(outside)
    photo.symlink_to(outside)
    said = run("results", ".", "--output", "html")
    assert said.returncode == 0
    assert small(said.stdout) is None
    assert "<a href=" not in said.stdout


def test_the_catalog_carries_the_small_picture(run: Run, photo: Path) -> None:
    Image.new("RGB", (1200, 800), "teal").save(photo)
    text = run("catalog", ".").stdout
    found = re.search(r'"data:image/jpeg;base64,([^"]+)"', text)
    assert found is not None
    with Image.open(io.BytesIO(base64.b64decode(found[1]))) as made:
        assert made.size == (240, 160)
    photo.write_bytes(b"no")
    assert "it is linked" in run("catalog", ".").stderr
