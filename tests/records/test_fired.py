"""What the page at the kiln door hands over: what is taken in, and what is refused with which words."""

from __future__ import annotations

import base64
import copy
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from PIL import Image

from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.firing import resolve_firing
from glost.records.fired import MOST_BYTES, fired_from, is_fired
from glost.records.jpeg import check_jpeg
from tests.conftest import TOP, Run

SCHEMA = json.loads((TOP / "schema" / "fired.schema.json").read_text("utf-8"))
BATCH = "2026-05-02T10-22-05-low-tide-2b29422a"


def jpeg(size: tuple[int, int] = (64, 48), colour: str = "teal", **how: Any) -> bytes:
    """A picture as Pillow writes it."""
    made = io.BytesIO()
    Image.new("RGB", size, colour).save(made, "JPEG", **how)
    return made.getvalue()


def photo(data: bytes) -> dict[str, Any]:
    return {"type": "image/jpeg", "width": 64, "height": 48, "data": base64.b64encode(data).decode()}


def tile(name: str = "1", **said: Any) -> dict[str, Any]:
    plain = dict.fromkeys(("body", "place", "surface", "colour", "remarks"), "")
    return {
        "name": name, "test": 'glaze "Low Tide"', "batch": BATCH, **plain, "flow_mm": None, "faults": [],
        "photo": None,
    } | said  # fmt: skip


def handed(*tiles: dict[str, Any], **said: Any) -> dict[str, Any]:
    firing = {
        "name": "Kiln 7", "date": "2026-05-14", "kiln": "small electric", "cone": "6", "reached": "6 1/2",
        "atmosphere": "oxidation", "body": "house stoneware", "notes": "",
    }  # fmt: skip
    return {
        "version": 1,
        "kind": "glost fired tiles",
        "recorded_at": "2026-05-15T09:12:00+02:00",
        "firing": firing | said,
        "tiles": list(tiles) or [tile()],
    }


def made(value: dict[str, Any]) -> Any:
    return fired_from(json.dumps(value))


def test_what_was_handed_over_stands_on_the_page() -> None:
    value = handed(
        tile("1", place="top shelf", flow_mm=4.5, faults=["pinholes", "Blue  haze"], photo=photo(jpeg()),
             remarks="breaks over\n texture", surface="satin", colour="pale blue"),
        tile("1b", body="white stoneware"),
        notes="first line\n\nsecond line",
    )  # fmt: skip
    jsonschema.Draft202012Validator(SCHEMA).validate(value)
    found = made(value)
    assert found.name == "2026-05-14-kiln-7.firing"
    assert found.text == (
        'firing "Kiln 7"\ndate: 2026-05-14\nkiln: small electric\ncone: 6\nreached: 6 1/2\natmosphere: oxidation\n'
        'body: house stoneware\n\ntile "1":\n    test: glaze "Low Tide"\n'
        f"    batch: {BATCH}\n    place: top shelf\n    surface: satin\n    colour: pale blue\n    flow: 4.5 mm\n"
        "    faults: pinholes, blue haze\n    photo: photos/2026-05-14-kiln-7-1.jpg\n"
        "    remarks: breaks over texture\n\n"
        f'tile "1b":\n    test: glaze "Low Tide"\n    batch: {BATCH}\n    body: white stoneware\n\n'
        "notes:\n    first line\n    second line\n"
    )
    assert resolve_firing(parse(Source("a.firing", found.text))).complete
    (one,) = found.photos
    assert one.name == "2026-05-14-kiln-7-1.jpg"
    with Image.open(io.BytesIO(one.data)) as picture:
        assert picture.size == (64, 48)


@pytest.mark.parametrize(
    ("written", "stands"),
    [
        ("cone 6", "6"), ("^6", "6"), ("6.5", "6 1/2"), ("c/06", "06"), (" 5-6 ", "5-6"),
    ],
)  # fmt: skip
def test_a_cone_may_be_written_as_on_a_bag(written: str, stands: str) -> None:
    assert f"\nreached: {stands}\n" in made(handed(reached=written)).text


def test_a_sign_that_would_begin_a_comment_is_a_word_and_that_is_said() -> None:
    found = made(handed(tile(remarks="see # 4, not #5 nor a# b")))
    assert "remarks: see no. 4, not #5 nor a# b\n" in found.text
    (said,) = found.reworded
    assert said.startswith(
        "tile 1, remarks: 'see no. 4, not #5 nor a# b' stands for 'see # 4, not #5 nor a# b'"
    )


@pytest.mark.parametrize("name", ["../../etc/passwd", "C:\\windows", "/tmp/x", "..", "\u202egnp", "", "a/b"])
def test_no_name_leads_out(name: str) -> None:
    """A name makes files beside the page, or is refused."""
    value = handed(tile(name, photo=photo(jpeg())), name=name)
    try:
        found = made(value)
    except ValueError:
        return
    for file in (found.name, found.photos[0].name):
        assert "/" not in file
        assert "\\" not in file
        assert file.isascii()
        assert not file.startswith(".")


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("Großer Ofen №7 / Süd", "2026-05-14-grosser-ofen-no7-sud.firing"),
        ("Stor ovn på Ærø", "2026-05-14-stor-ovn-pa-aero.firing"),
        ("Kiln 7", "2026-05-14-kiln-7.firing"),
        ("—", "2026-05-14-x.firing"),
    ],
)
def test_the_letters_of_a_name_are_in_that_of_its_file(name: str, file: str) -> None:
    assert fired_from(json.dumps(handed(name=name))).name == file


def test_kilns_in_other_letters_are_two_files() -> None:
    """登り窯 climbs a hill, 電気窯 is electric; both were fired on one day."""
    files = [
        fired_from(json.dumps(handed(name=name))).name
        for name in ("登り窯", "電気窯", "電気窯", "Kiln 登り窯")
    ]
    assert len(set(files)) == 3
    assert files[1] == files[2]
    assert all(one.isascii() for one in files)
    assert files[3].startswith("2026-05-14-kiln-")


def test_two_tiles_whose_names_read_alike_have_two_photos() -> None:
    found = made(handed(tile("14-A", photo=photo(jpeg())), tile("14 A!", photo=photo(jpeg(colour="red")))))
    assert [one.name for one in found.photos] == [
        "2026-05-14-kiln-7-14-a.jpg",
        "2026-05-14-kiln-7-14-a-2.jpg",
    ]


EXIF = Image.Exif()
EXIF[0x0112] = 6
EXIF.get_ifd(0x8825)[1] = "N"


def _without(value: dict[str, Any], key: str) -> dict[str, Any]:
    return {name: one for name, one in value.items() if name != key}


def _png() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (handed(tile("1"), tile("1")), "a tile '1' stands here already"),
        (handed(tile("A  1"), tile("a 1")), "a tile 'a 1' stands here already"),
        (handed(tile(name='"')), "cannot be the name of a tile"),
        (handed(name='a" b'), "cannot be the name of the firing"),
        (handed(name="\n"), "cannot be the name of the firing"),
        (handed(name="x\x07y"), "cannot stand on the page"),
        (handed(date="2026-02-30"), "'2026-02-30' is no day"),
        (handed(date="../../../x"), "firing.date: '../../../x' is not written as it should be"),
        (handed(reached="hot"), "reached: 'hot' is not a cone"),
        (handed(tile(test="rm -rf")), "tile 1: 'rm -rf' names no test"),
        (handed(tile(batch="../../x")), "tiles[0].batch: '../../x' is not written as it should be"),
        (handed(tile(flow_mm=-1)), "tiles[0].flow_mm: -1 stands here"),
        (handed(tile(flow_mm=0.125)), "does not say how far it ran"),
        (handed(tile(photo=photo(b"x") | {"data": "!!"})), "tile 1: its photo is broken: it is no base64"),
        (handed(tile(photo=photo(b"x") | {"data": "\u00e4"})), "tile 1: its photo is broken: it is no base64"),
        (handed(tile(photo=photo(_png()))), "tile 1, photo: it is no JPEG"),
        (handed(tile(photo=photo(jpeg()) | {"type": "image/gif"})), "tiles[0].photo.type: 'image/gif' stands here"),
        (handed(tile(photo=photo(b"<svg onload=alert(1)>"))), "tile 1, photo: it is no JPEG"),
        (handed(tile(photo=photo(jpeg()[:-40]))), "tile 1, photo: the picture is broken off"),
        (handed(tile(photo=photo(jpeg() + b"<script>"))), "something stands behind the end of the picture"),
        (handed(tile(photo=photo(jpeg(exif=EXIF)))), "carries what the camera says of itself that is not taken in"),
        (handed(tile(photo=photo(jpeg(comment=b"here")))), "carries what the camera says of itself"),
        (handed(tile(photo=photo(jpeg((5000, 8))))), "tile 1: its photo is 5000 x 8 dots"),
        (handed(tile(photo=photo(b"\xff\xd8" + bytes(MOST_BYTES - 1)))), f"its photo holds {MOST_BYTES + 1:,} bytes"),
        (handed(tile(photo=photo(b"x") | {"data": "A" * 2_796_208})), "2,796,208 characters stand here"),
        (handed(tile(photo=photo(jpeg()) | {"file": "../x"})), "'file' is not a key here"),
        (_without(handed(), "tiles"), "the whole: 'tiles' is missing"),
        (handed() | {"tiles": []}, "tiles: nothing stands here"),
        (handed() | {"tiles": [tile(str(at)) for at in range(201)]}, "tiles: "),
        (handed(notes="x" * 4001), "firing.notes: 4,001 characters stand here"),
        (handed() | {"version": 2}, "version: 2 stands here"),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)  # fmt: skip
def test_what_is_not_what_the_page_makes_is_refused_with_a_reason(value: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=r".") as refused:
        made(value)
    assert words in str(refused.value)
    assert len(str(refused.value)) < 600


def test_every_picture_that_pillow_writes_without_more_is_taken() -> None:
    """Pillow is what checks our reading of ITU-T T.81: sizes of pictures of many kinds."""
    for how in ({}, {"progressive": True}, {"quality": 20}, {"optimize": True}, {"restart_marker_blocks": 2}):
        for size in ((1, 1), (17, 3), (640, 480)):
            assert check_jpeg(jpeg(size, **how)) == size
    made = io.BytesIO()
    Image.new("CMYK", (9, 5)).save(made, "JPEG")
    assert check_jpeg(made.getvalue()) == (9, 5)


def test_no_part_of_a_picture_is_taken_for_a_whole() -> None:
    data = jpeg(progressive=True)
    for end in range(len(data)):
        with pytest.raises(ValueError, match=r"broken|JPEG"):
            check_jpeg(data[:end])


# ---- glost record --------------------------------------------------------------------------------------


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def keep(tmp_path: Path, run: Run) -> Callable[[Any], Any]:
    (tmp_path / "glost.yaml").write_text("name: Test\n")
    (tmp_path / "log" / "2026").mkdir(parents=True)
    (tmp_path / "log" / "2026" / f"{BATCH}.batch").touch()

    def kept(value: Any) -> Any:
        text = value if isinstance(value, str) else json.dumps(value, indent=2)
        (tmp_path / "fired.json").write_text(text, encoding="utf-8")
        return run("record", "fired.json")

    return kept


def _tree(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_page_and_photos_are_written_once(tmp_path: Path, keep: Callable[[Any], Any]) -> None:
    value = handed(tile(photo=photo(jpeg())))
    said = keep(value)
    assert (said.returncode, said.stderr) == (0, "")
    assert said.stdout == "firings/2026-05-14-kiln-7.firing: recorded, with 1 photo\n"
    assert (tmp_path / "firings" / "photos" / "2026-05-14-kiln-7-1.jpg").read_bytes() == jpeg()
    before = _tree(tmp_path)
    again = keep(value)
    assert (again.returncode, again.stdout) == (0, "firings/2026-05-14-kiln-7.firing: there already\n")
    assert _tree(tmp_path) == before


def test_nothing_is_written_over(tmp_path: Path, keep: Callable[[Any], Any]) -> None:
    value = handed(tile(photo=photo(jpeg())))
    keep(value)
    page = tmp_path / "firings" / "2026-05-14-kiln-7.firing"
    page.write_text(page.read_text() + "# mine\n")
    before = _tree(tmp_path)
    other = copy.deepcopy(value)
    other["tiles"][0]["remarks"] = "later"
    said = keep(other)
    assert said.returncode == 1
    assert "left as it is" in said.stderr
    assert {name: data for name, data in _tree(tmp_path).items() if name != "fired.json"} == {
        name: data for name, data in before.items() if name != "fired.json"
    }


def test_a_photo_that_is_somebody_elses_keeps_the_page_out(
    tmp_path: Path, keep: Callable[[Any], Any]
) -> None:
    place = tmp_path / "firings" / "photos" / "2026-05-14-kiln-7-1.jpg"
    place.parent.mkdir(parents=True)
    place.write_bytes(b"mine")
    said = keep(handed(tile(photo=photo(jpeg()))))
    assert said.returncode == 1
    assert "2026-05-14-kiln-7-1.jpg: is there already and holds something else" in said.stderr
    assert place.read_bytes() == b"mine"
    assert not (tmp_path / "firings" / "2026-05-14-kiln-7.firing").exists()


def test_a_run_that_was_stopped_between_is_finished_by_the_next(
    tmp_path: Path, keep: Callable[[Any], Any]
) -> None:
    value = handed(tile(photo=photo(jpeg())))
    keep(value)
    (tmp_path / "firings" / "2026-05-14-kiln-7.firing").unlink()
    assert "recorded" in keep(value).stdout


def _moved(tmp_path: Path, page: str, picture: str, to_page: str, to_picture: str) -> Path:
    """The page and the picture of a firing under other names, as an earlier version or a person called them."""
    folder = tmp_path / "firings"
    there = folder / to_page
    there.parent.mkdir(parents=True, exist_ok=True)
    (there.parent / to_picture).parent.mkdir(parents=True, exist_ok=True)
    text = (folder / page).read_text("utf-8")
    assert picture in text
    there.write_text(text.replace(picture, to_picture), "utf-8")
    (folder / page).unlink()
    (folder / picture).rename(there.parent / to_picture)
    return there


GREAT = ("2026-05-14-grosser-ofen.firing", "photos/2026-05-14-grosser-ofen-1.jpg")


@pytest.mark.parametrize(
    ("page", "picture"),
    [
        ("2026-05-14-groer-ofen.firing", "photos/2026-05-14-groer-ofen-1.jpg"),
        ("the big one.firing", "photos/big.jpg"),
        ("2026/may/14.firing", "pictures/1.jpg"),
    ],
)
def test_a_firing_is_known_whatever_its_file_is_called(
    tmp_path: Path, keep: Callable[[Any], Any], page: str, picture: str
) -> None:
    value = handed(tile(photo=photo(jpeg())), tile("2"), name="Großer Ofen")
    keep(value)
    there = _moved(tmp_path, *GREAT, page, picture)
    there.write_text(f"# on the second shelf\n{there.read_text('utf-8')}", "utf-8")  # which says nothing else
    before = _tree(tmp_path)
    said = keep(value)
    assert (said.returncode, said.stdout, said.stderr) == (0, f"firings/{page}: there already\n", "")
    assert _tree(tmp_path) == before


@pytest.mark.parametrize(
    "change",
    [
        lambda there: there.write_text(there.read_text("utf-8").replace("6 1/2", "7"), "utf-8"),
        lambda there: there.write_text(f"{there.read_text('utf-8')}\nnotes:\n    fine\n", "utf-8"),
        lambda there: (there.parent / "photos" / "big.jpg").write_bytes(jpeg(colour="red")),
        lambda there: (there.parent / "photos" / "big.jpg").unlink(),
    ],
)
def test_one_that_was_changed_there_is_left_alone_and_told(
    tmp_path: Path, keep: Callable[[Any], Any], change: Callable[[Path], Any]
) -> None:
    value = handed(tile(photo=photo(jpeg())), name="Großer Ofen")
    keep(value)
    there = _moved(tmp_path, *GREAT, "the big one.firing", "photos/big.jpg")
    change(there)
    before = _tree(tmp_path)
    said = keep(value)
    assert said.returncode == 1
    assert "firings/the big one.firing: is there already and holds something else" in said.stderr
    assert _tree(tmp_path) == before


@pytest.mark.parametrize(
    "other", [{"kiln": "gas"}, {"date": "2026-05-15"}, {"name": "Großer Ofen, at night"}], ids=str
)
def test_another_kiln_day_or_name_is_another_firing(
    tmp_path: Path, keep: Callable[[Any], Any], other: dict[str, str]
) -> None:
    value = handed(tile(photo=photo(jpeg())), name="Großer Ofen")
    keep(value)
    there = _moved(tmp_path, *GREAT, "the big one.firing", "photos/big.jpg")
    before = there.read_bytes()
    said = keep(
        handed(tile(photo=photo(jpeg(colour="red")), remarks="hotter"), **{"name": "Großer Ofen", **other})
    )
    assert (said.returncode, said.stderr) == (0, "")
    assert "recorded, with 1 photo" in said.stdout
    assert there.read_bytes() == before
    assert len(list((tmp_path / "firings").glob("*.firing"))) == 2


def test_two_kilns_of_one_day_whose_names_read_alike_are_not_joined(
    tmp_path: Path, keep: Callable[[Any], Any]
) -> None:
    """The file is taken, which is told; what lies there stays."""
    first, second = (
        handed(tile(photo=photo(jpeg())), name="Kiln 7", kiln=kiln) for kiln in ("gas", "electric")
    )
    keep(first)
    before = _tree(tmp_path / "firings")
    said = keep(second)
    assert said.returncode == 1
    assert "holds something else" in said.stderr
    assert _tree(tmp_path / "firings") == before


def test_one_that_was_only_called_otherwise_is_told(tmp_path: Path, keep: Callable[[Any], Any]) -> None:
    keep(handed(tile(photo=photo(jpeg())), name="Next firing"))
    said = keep(handed(tile(photo=photo(jpeg())), name="Kiln 7, glaze"))
    assert (said.returncode, said.stdout.count("recorded")) == (0, 1)
    assert "but for its name this is firings/2026-05-14-next-firing.firing" in said.stderr
    said = keep(handed(tile(photo=photo(jpeg()), remarks="else"), name="A third"))
    assert said.stderr == ""


def test_a_page_of_that_day_that_cannot_be_read_is_no_firing_that_is_known(
    tmp_path: Path, keep: Callable[[Any], Any]
) -> None:
    folder = tmp_path / "firings"
    folder.mkdir()
    (folder / "half.firing").write_text('firing "Kiln 7"\ndate: 2026-05-14\nkiln small electric\n', "utf-8")
    (folder / "bytes.firing").write_bytes(b"2026-05-14 \xff\xfe")
    (folder / "away.firing").symlink_to(tmp_path / "nowhere")
    said = keep(handed())
    assert (said.returncode, said.stderr) == (0, "")
    assert "firings/2026-05-14-kiln-7.firing: recorded" in said.stdout


@pytest.mark.parametrize("where", ["firings", "firings/photos"])
def test_a_link_that_leads_out_is_not_followed(
    tmp_path: Path, keep: Callable[[Any], Any], where: str
) -> None:
    outside = tmp_path.parent / f"{tmp_path.name}-outside"
    outside.mkdir()
    place = tmp_path / where
    place.parent.mkdir(exist_ok=True)
    place.symlink_to(outside)
    said = keep(handed(tile(photo=photo(jpeg()))))
    assert said.returncode == 2
    assert "not recorded" in said.stderr
    assert list(outside.iterdir()) == []


@pytest.mark.parametrize("end", [10, 200, 900, -1, -3])
def test_half_a_file_writes_nothing(tmp_path: Path, keep: Callable[[Any], Any], end: int) -> None:
    text = json.dumps(handed(tile(photo=photo(jpeg()))), indent=2)[:end]
    said = keep(text)
    assert said.returncode == 2
    assert "not recorded" in said.stderr
    assert not (tmp_path / "firings").exists()
    assert (tmp_path / "fired.json").read_text() == text


def test_a_batch_that_was_not_recorded_is_told(tmp_path: Path, keep: Callable[[Any], Any]) -> None:
    said = keep(handed(tile(batch="2026-05-03T10-22-05-other-2b29422a")))
    assert said.returncode == 1
    assert "the log holds no batch 2026-05-03T10-22-05-other-2b29422a" in said.stderr
    assert (tmp_path / "firings" / "2026-05-14-kiln-7.firing").exists()


def test_a_folder_of_downloads_and_a_large_file_are_taken(
    tmp_path: Path, keep: Callable[[Any], Any], run: Run
) -> None:
    noise = Image.effect_noise((1600, 1600), 90)
    out = io.BytesIO()
    noise.save(out, "JPEG", quality=80)
    tiles = [tile(str(at), photo=photo(out.getvalue())) for at in range(12)]
    assert len(json.dumps(handed(*tiles))) > 9_000_000
    keep(handed(*tiles))
    assert len(list((tmp_path / "firings" / "photos").iterdir())) == 12
    said = run("record", str(tmp_path))
    assert (said.returncode, said.stdout) == (0, "firings/2026-05-14-kiln-7.firing: there already\n")


def test_only_what_begins_as_one_may_be_large() -> None:
    assert is_fired(json.dumps(handed(), indent=2).encode())
    assert not is_fired(b'{"version": 2, "kind": "glost record"')
