"""The cache never changes an answer: cold, warm, broken, absent, read-only, raced."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from glost.workspace import cache
from glost.workspace.collection import Collection, Collections
from glost.workspace.page_cache import PageCache
from glost.workspace.runs.lint import lint_files
from glost.workspace.runs.lint_options import LintOptions
from tests.conftest import STUDIO, TOP, Run
from tests.stopping import calls_of, start_stopping
from tests.work import HANG_S

SETTINGS = "batch: 100 g\nbalances:\n  - {name: fine, capacity: 300 g, readability: 0.01 g}\n"
PAGE = 'glaze "A"\ncone: 06\natmosphere: oxidation\norigin: x\n\nbase:\n    whiting  100\n'


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def collection(tmp_path: Path) -> Path:
    (tmp_path / "glost.yaml").write_text(SETTINGS)
    (tmp_path / "a.glost").write_text(PAGE)
    return tmp_path


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """The demo collection, with the recipes that need work beside it."""
    folder = tmp_path / "studio"
    shutil.copytree(STUDIO, folder)
    settings = folder / "glost.yaml"
    settings.write_text(
        "\n".join(line for line in settings.read_text().splitlines() if not line.startswith("skip"))
    )
    return folder


def same(run: Run, *arguments: str) -> str:
    """What lint says with the cache as it stands; it is what it says with none."""
    warm, cold = (run("lint", *arguments), run("lint", *arguments, GLOST_CACHE="off"))
    assert (warm.returncode, warm.stdout, warm.stderr) == (cold.returncode, cold.stdout, cold.stderr)
    return warm.stdout


# ---- one entry -----------------------------------------------------------------------------------------------


def test_what_was_kept_is_found_for_that_text_alone() -> None:
    cache.keep("test", "text", [1, {"a": None}])
    assert cache.find("test", "text") == [1, {"a": None}]
    assert cache.find("test", "texu") is None
    assert cache.find("other", "text") is None


def test_an_entry_made_from_something_else_is_not_taken() -> None:
    cache.put("name", "one", 1)
    assert cache.take("name", "one") == 1
    assert cache.take("name", "two") is None
    cache.put("name", "two", 2)
    assert cache.take("name", "one") is None


def test_an_entry_of_another_build_is_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    cache.put("name", "one", 1)
    monkeypatch.setattr(cache, "build", lambda: "another")
    assert cache.take("name", "one") is None


def test_a_build_is_told_by_its_files(tmp_path: Path) -> None:
    """A changed rule must not be answered by what the old one found, whatever the version says."""
    code = "from glost.workspace.cache import build; print(build())"
    for folder in ("src", "grammar", "schema"):
        shutil.copytree(TOP / folder, tmp_path / folder, ignore=shutil.ignore_patterns("__pycache__"))

    def build() -> str:
        environment = {**os.environ, "PYTHONPATH": str(tmp_path / "src")}
        asked = [sys.executable, "-c", code]
        return subprocess.run(asked, env=environment, capture_output=True, text=True, check=True).stdout

    before = build()
    assert build() == before
    rule = tmp_path / "src" / "glost" / "linter" / "rules" / "base_total.py"
    text = rule.read_text()
    rule.write_text(text + "#\n")
    assert build() != before
    (tmp_path / "grammar" / "lines.json").touch()
    rule.write_text(text)
    assert build() != before


@pytest.mark.parametrize("at", range(0, 400, 7))
def test_an_entry_with_one_wrong_byte_is_not_taken(cache: Path, at: int) -> None:
    from glost.workspace import cache as module

    value = {"rows": [[n, f"text {n}"] for n in range(30)]}
    module.put("name", "one", value)
    [entry] = cache.rglob("*.jsonl")
    data = bytearray(entry.read_bytes())
    data[at] ^= 1
    entry.write_bytes(data)
    assert module.take("name", "one") is None


@pytest.mark.skipif(sys.platform == "win32", reason="a folder there has no such mode")
@pytest.mark.parametrize("mode", [0o777, 0o775, 0o1777])
def test_a_folder_that_others_can_write_to_is_no_cache(
    run: Run, collection: Path, cache: Path, mode: int
) -> None:
    cache.chmod(mode)
    run("lint")
    assert not list(cache.iterdir())


def test_what_is_kept_is_for_the_user_alone(run: Run, collection: Path, cache: Path) -> None:
    run("lint", GLOST_CACHE=str(cache / "new" / "place"))
    assert (cache / "new" / "place" / "glost").stat().st_mode & 0o777 == 0o700


def test_no_home_means_no_cache(run: Run, collection: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert run("lint", GLOST_CACHE="", HOME="", XDG_CACHE_HOME="").returncode == 0
    for name in ("GLOST_CACHE", "HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, "")
    assert cache.folder() is None


# ---- a run ---------------------------------------------------------------------------------------------------

BROKEN = [b"", b"{", b"[]", b"null", b"{}\n{}", b'{"from": 1}\n[]', b"\xff\xfe", b"[" * 100_000, b"\n\n"]


@pytest.mark.parametrize("broken", BROKEN, ids=range(len(BROKEN)))
def test_a_broken_entry_is_as_if_it_were_not_there(
    run: Run, collection: Path, cache: Path, broken: bytes
) -> None:
    same(run)
    entries = list(cache.rglob("*.jsonl"))
    assert len(entries) == 3
    for entry in entries:
        entry.write_bytes(broken)
    same(run)


@pytest.mark.parametrize(
    "wrong", [1, [], {"p": 1}, {"p": ["x", "1"]}, {"p": [None, "[[],[]]"]}, {"p": ["C", "[[[1]],[]]"]}]
)
def test_a_whole_entry_of_the_wrong_shape_is_as_if_it_were_not_there(
    run: Run, collection: Path, cache: Path, monkeypatch: pytest.MonkeyPatch, wrong: object
) -> None:
    """Its checksum agrees, so that only what it says can tell."""
    from glost.workspace import cache as module

    same(run)
    page = collection / "a.glost"
    if isinstance(wrong, dict):
        content = module.digest(page.read_bytes())
        wrong = {
            str(page): [content if e == "C" else e for e in v] if isinstance(v, list) else v
            for v in wrong.values()
        }
    for file in cache.rglob("*.jsonl"):
        made_from = json.loads(file.read_bytes().partition(b"\n")[0])["from"]
        module.put(str(file.relative_to(cache / "glost").with_suffix("")), made_from, wrong)
    same(run)


def test_cold_warm_and_off_say_the_same(run: Run) -> None:
    said = [
        run("lint", str(STUDIO / "needs-work"), "--output", "json", GLOST_CACHE=asked).stdout
        for asked in ("off", "/proc/nowhere", "off")
    ]
    said += [run("lint", str(STUDIO / "needs-work"), "--output", "json").stdout for _ in range(2)]
    assert len(set(said)) == 1


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="nothing is read-only for this user")
def test_a_read_only_cache(run: Run, studio: Path, cache: Path) -> None:
    (studio / "a.glost").write_text(PAGE)
    same(run, str(studio))
    for place in [*cache.rglob("*"), cache]:
        place.chmod(place.stat().st_mode & ~0o222)
    (studio / "a.glost").write_text(PAGE.replace("06", "6"))
    same(run, str(studio))
    for place in [cache, *cache.rglob("*")]:
        place.chmod(place.stat().st_mode | 0o700)


def test_a_cache_that_cannot_be_written(run: Run, studio: Path, cache: Path) -> None:
    """As a full disk or a folder of another user would have it, for root too."""
    (cache / "glost").mkdir()
    (cache / "glost" / "pages").write_text("a file stands where the folder would be")
    same(run, str(studio))
    same(run, str(studio))


def test_changed_settings_of_the_same_size_are_seen(run: Run, collection: Path) -> None:
    assert run("lint").returncode == 0
    (collection / "glost.yaml").write_text(
        SETTINGS.replace("100 g", "900 g").replace("batch: 900", "batcx: 900")
    )
    assert run("lint").returncode == 2


def test_a_page_of_the_same_size_and_time_is_seen_to_be_another(run: Run, collection: Path) -> None:
    page = collection / "a.glost"
    before = page.stat()
    said = same(run)
    page.write_text(PAGE.replace("100", "109"))
    os.utime(page, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert page.stat().st_size == before.st_size
    assert same(run) != said


def test_a_changed_material_is_seen_on_pages_that_did_not_change(run: Run, collection: Path) -> None:
    materials = collection / "materials.yaml"
    own = "materials:\n  - {name: house clay, role: clay, source: invented}\n"
    materials.write_text(own)
    (collection / "glost.yaml").write_text(SETTINGS + "materials: materials.yaml\n")
    (collection / "a.glost").write_text(PAGE.replace("whiting", "house clay"))
    said = same(run)
    materials.write_text(own.replace("house", "other"))
    assert "unknown-material" in same(run)
    materials.write_text(own)
    assert same(run) == said


def test_a_materials_file_that_now_leads_out_is_refused(run: Run, collection: Path, tmp_path: Path) -> None:
    """Though its text is the same."""
    outside = tmp_path.with_name(f"{tmp_path.name}-outside.yaml")
    outside.write_text("materials:\n  - {name: house clay, role: clay, source: invented}\n")
    (collection / "materials.yaml").write_text(outside.read_text())
    (collection / "glost.yaml").write_text(SETTINGS + "materials: materials.yaml\n")
    same(run)
    (collection / "materials.yaml").unlink()
    (collection / "materials.yaml").symlink_to(outside)
    same(run)
    assert "lies outside the collection" in run("lint").stderr


@pytest.mark.parametrize("command", [("lint",), ("format", "--check")], ids=" ".join)
def test_a_materials_file_that_is_broken_now_is_told_by_every_run(
    run: Run, collection: Path, command: tuple[str, ...]
) -> None:
    """Also by one that has no page to look at; folders are what asks for the settings."""
    (collection / "below").mkdir()
    (collection / "materials.yaml").write_text("materials: []\n")
    (collection / "glost.yaml").write_text(SETTINGS + "materials: materials.yaml\n")
    run("format")
    assert run(*command).returncode == 0
    (collection / "materials.yaml").write_text("materials: 12\n")
    (collection / "a.glost").unlink()
    warm, cold = run(*command), run(*command, GLOST_CACHE="off")
    assert (warm.returncode, warm.stdout, warm.stderr) == (cold.returncode, cold.stdout, cold.stderr)
    assert warm.returncode == 2


def test_settings_that_change_while_pages_are_looked_at(
    collection: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was found under the new settings is not taken for what the old ones would have found."""

    def found() -> list[str]:
        collections = Collections()
        looks = lint_files([collection / "a.glost"], LintOptions(), collections)
        return [finding.level for looked in looks for finding in looked.report.findings]

    quiet, loud = (SETTINGS + f"rules: {{missing-cone: {level}}}\n" for level in ("off", "error"))
    (collection / "a.glost").write_text(PAGE.replace("cone: 06\n", ""))
    (collection / "glost.yaml").write_text(quiet)
    found()  # so that its outline is known
    (collection / "a.glost").write_text(PAGE.replace("cone: 06\n", "\n"))
    read = Collections.of

    def late(self: Collections, path: Path) -> Collection:
        (collection / "glost.yaml").write_text(loud)
        return read(self, path)

    with monkeypatch.context() as patched:
        patched.setattr(Collections, "of", late)
        assert "error" in found()
    (collection / "glost.yaml").write_text(quiet)
    assert "error" not in found()
    assert "error" not in found()


def test_each_wish_has_its_own_answer(run: Run, studio: Path) -> None:
    for wish in (
        [],
        ["--batch", "5 g"],
        ["--select", "base-total"],
        ["--ignore", "base-total"],
        ["--strict"],
    ):
        said = same(run, str(studio), "--output", "json", *wish)
        assert run("lint", str(studio), "--output", "json", *wish).stdout == said


def test_pages_are_shown_from_where_the_run_stands(run: Run, studio: Path) -> None:
    first = run("lint", "needs-work", cwd=studio).stdout
    again = run("lint", cwd=studio / "needs-work").stdout
    assert "needs-work/" in first
    assert first.replace("needs-work/", "") == again.replace(f"{studio}{os.sep}", "")


def test_a_known_page_is_held_against_a_new_one(run: Run, studio: Path) -> None:
    """What pages are compared with each other by is kept too."""
    same(run, str(studio))
    shutil.copy(studio / "stoneware" / "clear-ebb.glost", studio / "washes" / "clear-ebb.glost")
    said = same(run, str(studio), "--output", "line")
    assert "stoneware/clear-ebb.glost" in said
    assert "washes/clear-ebb.glost" in said
    (studio / "washes" / "clear-ebb.glost").unlink()
    assert "stoneware/clear-ebb.glost" not in same(run, str(studio), "--output", "line")


def test_what_is_fixed_is_known_afterwards(run: Run, studio: Path) -> None:
    same(run, str(studio))
    other = studio.with_name("other")
    shutil.copytree(studio, other)
    warm, cold = run("lint", "--fix", str(studio)), run("lint", "--fix", str(other), GLOST_CACHE="off")
    assert warm.stdout.replace("studio/", "other/") == cold.stdout
    for page in studio.rglob("*.glost"):
        assert page.read_bytes() == (other / page.relative_to(studio)).read_bytes()
    same(run, str(studio))


@pytest.mark.slow
def test_random_edits_between_runs(run: Run, studio: Path) -> None:
    """Pages come, go, change, change back and move; settings change: no run knows it from the cache alone."""
    chance = random.Random(7)
    texts = [page.read_text() for page in sorted(studio.rglob("*.glost"))]
    settings = (studio / "glost.yaml").read_text()
    for round_ in range(15):
        pages = sorted(studio.rglob("*.glost"))
        for page in chance.sample(pages, 6):
            match chance.randrange(5):
                case 0:
                    page.write_text(chance.choice(texts))
                case 1:
                    page.unlink()
                case 2:
                    page.rename(page.with_name(f"moved-{round_}-{page.name}"))
                case 3:
                    page.write_text(page.read_text().replace("silica", "flint", 1))
                case 4:
                    (page.parent / f"new-{round_}.glost").write_text(chance.choice(texts))
        if round_ % 5 == 4:
            level = chance.choice(("off", "hint", "error"))
            (studio / "glost.yaml").write_text(
                f"{settings}\nrules:\n  same-composition: {level}\n" if "rules:" not in settings else settings
            )
        same(run, str(studio), "--output", "json")


def test_runs_at_the_same_time(studio: Path, cache: Path, run: Run) -> None:
    asked = [sys.executable, "-m", "glost", "lint", str(studio), "--output", "json"]
    expected = run("lint", str(studio), "--output", "json", GLOST_CACHE="off").stdout
    for _ in range(2):
        shutil.rmtree(cache, ignore_errors=True)
        cache.mkdir()
        at_once = [
            subprocess.Popen(asked, cwd=studio.parent, stdout=subprocess.PIPE, text=True, encoding="utf-8")
            for _ in range(4)
        ]
        assert {process.communicate(timeout=HANG_S)[0] for process in at_once} == {expected}
        assert same(run, str(studio), "--output", "json") == expected
        assert not list(cache.rglob("*.part"))


@pytest.mark.slow
def test_a_run_that_is_killed_leaves_nothing_wrong(run: Run, studio: Path, cache: Path) -> None:
    for number in range(100):
        (studio / f"{number}.glost").write_text(PAGE.replace('"A"', f'"A {number}"'))
    asked = ("lint", str(studio), "--workers", "1")
    expected = run("lint", str(studio), "--output", "json", GLOST_CACHE="off").stdout
    calls = calls_of(studio, *asked)
    chance = random.Random(5)
    for _ in range(8):
        shutil.rmtree(cache / "glost" / "pages", ignore_errors=True)
        process = start_stopping(studio, int(calls * chance.uniform(0.3, 1)), signal.SIGKILL, asked)
        process.communicate(timeout=HANG_S)
        assert run("lint", str(studio), "--output", "json").stdout == expected


def test_a_shared_run_and_a_single_one_keep_the_same(studio: Path, cache: Path, run: Run) -> None:
    held = []
    for workers in ("1", "2", "3"):
        place = cache / workers
        run("lint", str(studio), "--workers", workers, GLOST_CACHE=str(place))
        held.append({file.relative_to(place): file.read_bytes() for file in place.rglob("*.jsonl")})
    assert held[0] == held[1] == held[2]
    assert len(held[0]) > 50


def test_what_is_gone_is_not_kept_for_ever(tmp_path: Path, cache: Path) -> None:
    pages = [tmp_path / f"{number}.glost" for number in range(600)]  # more than there are parts
    for page in pages:
        page.touch()
    reports = PageCache("place", "about")
    for page in pages:
        reports.keep(page, "content", "")
    reports.save()
    old = cache / "glost" / "pages" / ("0" * 32)
    old.mkdir()
    for name in ("3a.jsonl", "3b.77.part"):
        (old / name).touch()
        os.utime(old / name, (0, 0))
    os.utime(old, (0, 0))
    part = cache / "glost" / "yaml-0123abcd-12.345.part"
    part.touch()
    os.utime(part, (0, 0))
    for page in pages[:300]:
        page.unlink()
    reports = PageCache("place", "about")
    assert reports.knows(pages[0])
    for page in pages[300:]:
        reports.keep(page, "other content", "")
    reports.save()
    reports = PageCache("place", "about")
    held = [page for page in pages if reports.knows(page)]
    assert set(pages[300:]) <= set(held)
    assert len(held) < 450  # a part to which nothing new came is left alone
    assert not old.exists()
    assert not part.exists()


@pytest.mark.parametrize("named", ["site", "site/glost", "site/glost/pages"])
def test_what_is_not_of_the_cache_is_never_taken_away(
    run: Run, collection: Path, tmp_path: Path, named: str
) -> None:
    """A folder of somebody's own is named, whatever lies in it and however old that is."""
    site = tmp_path / "site"
    digits = "0123456789abcdef" * 2
    files = [
        *(
            f"{folder}{name}"
            for folder in ("", "pages/", "glost/pages/")
            for name in ("blog/index.html", "x.jsonl")
        ),
        f"pages/{digits}/index.html",
        f"pages/{digits}/3a.jsonl",
        f"glost/pages/{digits}/index.html",
        f"glost/pages/{digits}/notes.jsonl",
        f"glost/pages/{digits}/sub/3a.jsonl",
        "glost/pages/0123/3a.jsonl",
        "glost/mine.part",
    ]
    for name in files:
        (site / name).parent.mkdir(parents=True, exist_ok=True)
        (site / name).write_text("my website")
    for path in (*site.rglob("*"), site):
        os.utime(path, (0, 0))
    for folder in (tmp_path, *site.rglob("*"), site):
        if folder.is_dir():
            folder.chmod(0o700)
    assert run("lint", str(collection), GLOST_CACHE=str(tmp_path / named)).returncode == 0
    for name in files:
        assert (site / name).read_text() == "my website"


@pytest.mark.skipif(sys.platform == "win32", reason="links are made otherwise there")
def test_nothing_is_taken_away_behind_a_link(run: Run, collection: Path, cache: Path, tmp_path: Path) -> None:
    far = tmp_path / "far" / ("0" * 32)
    far.mkdir(parents=True)
    (far / "3a.jsonl").write_text("not ours")
    (cache / "glost").mkdir(mode=0o700)
    (cache / "glost" / "pages").symlink_to(far.parent)
    os.utime(far / "3a.jsonl", (0, 0))
    os.utime(far, (0, 0))
    run("lint", str(collection))
    assert (far / "3a.jsonl").read_text() == "not ours"


def test_nothing_is_left_but_entries(run: Run, collection: Path, cache: Path) -> None:
    run("lint")
    assert {path.suffix for path in cache.rglob("*") if path.is_file()} == {".jsonl"}


def test_a_page_that_cannot_be_read_is_not_known_afterwards(run: Run, collection: Path) -> None:
    (collection / "b.glost").write_bytes(b"\xff\xfe")
    for _ in range(2):
        assert "UTF-16" in same(run)


# ---- the other runs that keep something ------------------------------------------------------------------------


def test_format_knows_what_is_laid_out_and_nothing_else(run: Run, collection: Path, cache: Path) -> None:
    run("format")
    loose = collection / "b.glost"
    loose.write_text(PAGE.replace('"A"', '"B"').replace("    whiting  100", "  whiting 100"))
    broken = collection / "c.glost"
    broken.write_text(PAGE + "what\n")
    for _ in range(2):
        warm, cold = run("format", "--check"), run("format", "--check", GLOST_CACHE="off")
        assert (warm.returncode, warm.stdout, warm.stderr) == (cold.returncode, cold.stdout, cold.stderr)
        assert "b.glost: would be laid out anew" in warm.stdout
    assert run("format").stdout == "b.glost: laid out\n"
    for _ in range(2):
        assert run("format").stdout == ""
    page = collection / "a.glost"
    page.write_text(page.read_text().replace("    whiting", "  whiting"))
    assert run("format").stdout == "a.glost: laid out\n"


def sheets(folder: Path) -> dict[str, bytes]:
    return {file.relative_to(folder).as_posix(): file.read_bytes() for file in folder.rglob("*.txt")}


def test_convert_knows_which_sheets_stand(run: Run, studio: Path, tmp_path: Path) -> None:
    """After any change of a page, the settings, the materials, the batch or a sheet, all sheets are as if they were
    written anew."""
    warm, cold = tmp_path / "warm", tmp_path / "cold"

    def convert(*more: str) -> str:
        shutil.rmtree(cold, ignore_errors=True)
        asked = ("convert", "--to", "sheet", str(studio / "stoneware"), *more)
        run(*asked, "--out", str(cold), GLOST_CACHE="off")
        said = run(*asked, "--out", str(warm)).stderr
        assert sheets(warm) == sheets(cold)
        return said.partition(": ")[2].strip()

    assert convert() == "22 recipes written"
    times = {file: file.stat().st_mtime_ns for file in warm.rglob("*.txt")}
    assert convert() == "0 recipes written, 22 unchanged"
    assert {file: file.stat().st_mtime_ns for file in warm.rglob("*.txt")} == times
    page = studio / "stoneware" / "clear-ebb.glost"
    text = page.read_text()
    page.write_text(text.replace("silica                 25", "silica                 26"))
    assert convert() == "1 recipe written, 21 unchanged"
    page.write_text(text)
    assert convert() == "1 recipe written, 21 unchanged"
    with next(iter(times)).open("a") as sheet:
        sheet.write("spilt on")
    assert convert() == "1 recipe written, 21 unchanged"
    next(iter(times)).unlink()
    assert convert() == "1 recipe written, 21 unchanged"
    assert convert("--batch", "250 g") == "22 recipes written"
    assert convert("--batch", "250 g") == "0 recipes written, 22 unchanged"
    assert convert() == "22 recipes written"
    settings = studio / "glost.yaml"
    settings.write_text(settings.read_text().replace("never sweep", "do not sweep"))
    assert "0 recipes written" not in convert()
    page.write_text(text + "what\n")
    for _ in range(2):  # what cannot be read is told in every run
        done = run("convert", "--to", "sheet", str(studio / "stoneware"), "--out", str(warm))
        assert (
            "clear-ebb.glost: not converted, and warm/stoneware/clear-ebb.txt is left from before;"
            in done.stderr
        )
        assert "0 recipes written, 21 unchanged" in done.stderr
        assert done.returncode == 1


def test_a_sheet_shows_a_new_revision(run: Run, collection: Path) -> None:
    """What it prints of git is not in the page."""
    git = ["git", "-c", "user.name=bench", "-c", "user.email=bench@example.org"]
    convert = ("convert", "--to", "sheet", "a.glost", "--out", "sheets")
    run(*convert)
    assert "0 recipes written" in run(*convert).stderr
    for command in (["init", "-q"], ["add", "a.glost"], ["commit", "-q", "-m", "one"]):
        subprocess.run([*git, *command], cwd=collection, check=True)
    assert "1 recipe written" in run(*convert).stderr
    assert "0 recipes written" in run(*convert).stderr
