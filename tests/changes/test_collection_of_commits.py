"""A collection of 300 commits with branches, merges, renames, respellings and changes of its own files, made beside a
model of its own: every comparison, every merge and every history must be what the model says.

The model knows recipes as dictionaries and merges them place by place; it shares no code with glost.
"""

from __future__ import annotations

import copy
import json
import os
import random
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Run

pytestmark = [pytest.mark.slow, pytest.mark.process]

COMMITS = 300
RECIPES = 24
SPELLED = {"kaolin": "china clay", "silica": "flint", "whiting": "calcium carbonate"}
"""Two names of one material: common practice."""
BASE = (
    "potash feldspar",
    "silica",
    "kaolin",
    "whiting",
    "talc",
    "dolomite",
    "zinc oxide",
    "wollastonite",
    "house ash",
)
ADDED = ("rutile", "tin oxide", "cobalt carbonate", "red iron oxide")


@dataclass
class Recipe:
    name: str
    path: str
    cone: str
    base: dict[str, int]
    added: dict[str, int]
    spelled: bool = False
    scale: int = 1

    def text(self) -> str:
        def lines(held: dict[str, int]) -> str:
            names = (
                (SPELLED.get(name, name) if self.spelled else name, amount) for name, amount in held.items()
            )
            return "".join(f"    {name}  {amount * self.scale}\n" for name, amount in names)

        added = f"\nadditions:\n{lines(self.added)}" if self.added else ""
        return f'glaze "{self.name}"\ncone: {self.cone}\n\nbase:\n{lines(self.base)}{added}'

    def facts(self) -> dict[tuple[str, str], Any]:
        """What it says, free of spelling and scale: amounts on a base of 100."""
        total = sum(self.base.values())
        held: dict[tuple[str, str], Any] = {("name", ""): self.name, ("field", "cone"): self.cone}
        for section, amounts in (("base", self.base), ("additions", self.added)):
            held |= {(section, name): Fraction(amount * 100, total) for name, amount in amounts.items()}
        return held

    def places(self) -> dict[tuple[str, str], Any]:
        """What a person edits: amounts as they are written."""
        held: dict[tuple[str, str], Any] = {("name", ""): self.name, ("field", "cone"): self.cone}
        held |= {("base", name): amount * self.scale for name, amount in self.base.items()}
        return held | {("additions", name): amount * self.scale for name, amount in self.added.items()}

    def uses(self, material: str) -> bool:
        return material in self.base or material in self.added


Shelf = dict[int, Recipe]


@dataclass(frozen=True)
class House:
    """What the collection says: the analysis of its own ash, and how kaolin is handled."""

    lime: int = 50
    note: str = "mask 1"
    remark: int = 0

    def files(self) -> dict[str, str]:
        ash = (
            "materials:\n  - name: house ash\n    role: ash\n    source: invented\n    hazards: []\n"
            f"    analysis: {{CaO: {self.lime}, K2O: {100 - self.lime}}}\n    loss: 0\n"
        )
        settings = f"# {self.remark}\nmaterials: materials.yaml\nhandling:\n  kaolin: {self.note}\n"
        return {"glost.yaml": settings, "materials.yaml": ash}

    def facts(self, *recipes: Recipe) -> dict[tuple[str, str], Any]:
        """What it says of a recipe, or of two revisions of one."""
        held: dict[tuple[str, str], Any] = {}
        if any(one.uses("house ash") for one in recipes):
            held["materials", "analysis"] = f"CaO {self.lime}, K2O {100 - self.lime}"
        if any(one.uses("kaolin") for one in recipes):
            held["house notes", "kaolin"] = self.note
        return held


@dataclass
class Studio:
    folder: Path
    chance: random.Random
    shelf: Shelf = field(default_factory=dict)
    house: House = House()
    commits: list[tuple[str, Shelf, House]] = field(default_factory=list)
    of_the_house: list[int] = field(default_factory=list)
    """The commits of the collection's own files alone, by their places."""
    made: int = 0
    conflicts: int = 0
    merges: int = 0

    def git(self, *words: str, check: bool = True) -> subprocess.CompletedProcess[str]:
        day = "2026-01-01T00:00:00 +0000"
        who = {f"GIT_{role}_{what}": value for role in ("AUTHOR", "COMMITTER") for what, value in
               (("NAME", "Tern"), ("EMAIL", "tern@example.org"), ("DATE", day))}  # fmt: skip
        environment = {**os.environ, **who, "GIT_CONFIG_GLOBAL": os.devnull}
        return subprocess.run(
            ["git", *words], cwd=self.folder, env=environment, check=check, capture_output=True, text=True
        )

    def commit(self) -> None:
        wanted = {one.path: one.text() for one in self.shelf.values()}
        for path in self.folder.rglob("*.glost"):
            if path.relative_to(self.folder).as_posix() not in wanted:
                path.unlink()
        for name, text in wanted.items():
            path = self.folder / name
            path.parent.mkdir(exist_ok=True)
            if not path.exists() or path.read_text("utf-8") != text:
                path.write_text(text, "utf-8")
        for name, text in self.house.files().items():
            (self.folder / name).write_text(text, "utf-8")
        self.git("add", "-A")
        self.git("commit", "-q", "--allow-empty", "-m", f"step {len(self.commits)}")
        self.remember()

    def remember(self) -> None:
        name = self.git("rev-parse", "HEAD").stdout.strip()
        self.commits.append((name, copy.deepcopy(self.shelf), self.house))

    # ---- edits ----

    def new(self) -> None:
        self.made += 1
        names = self.chance.sample(BASE, 5)
        amounts = [self.chance.randint(8, 30) for _ in names[1:]]
        base = {names[0]: 100 - sum(amounts), **dict(zip(names[1:], amounts, strict=True))}
        if min(base.values()) < 4:
            self.made -= 1
            self.new()
            return
        added = {
            name: self.chance.randint(1, 6) for name in self.chance.sample(ADDED, self.chance.randint(0, 2))
        }
        place = self.chance.choice(("loft", "yard"))
        self.shelf[self.made] = Recipe(
            f"Glaze {self.made}", f"{place}/glaze-{self.made}.glost", "6", base, added
        )

    def edit(self) -> None:
        at = self.chance.choice(list(self.shelf))
        one = self.shelf[at]
        match self.chance.choice("aaaaaacnrsltw"):
            case "a":  # from one material to another
                give, take = self.chance.sample(list(one.base), 2)
                parts = self.chance.randint(1, 3)
                if one.base[give] > parts:
                    one.base[give] -= parts
                    one.base[take] += parts
            case "c":
                one.cone = self.chance.choice(("04", "5", "6", "10"))
            case "n":
                self.new()
            case "r":  # its file and its name
                self.made += 1
                one.name, one.path = f"Glaze {self.made}", f"kiln/glaze-{self.made}.glost"
            case "s":
                one.spelled = not one.spelled
            case "l":
                order = list(one.base.items())
                self.chance.shuffle(order)
                one.base = dict(order)
            case "t":
                if len(self.shelf) > RECIPES // 2:
                    del self.shelf[at]
            case "w":
                name = self.chance.choice(ADDED)
                one.added[name] = self.chance.randint(1, 6)
                if self.chance.random() < 0.3:
                    del one.added[name]

    def of_house(self) -> None:
        """A commit of materials.yaml or glost.yaml alone."""
        match self.chance.choice("aanr"):
            case "a":
                self.house = replace(
                    self.house, lime=20 + (self.house.lime - 20 + self.chance.randint(1, 60)) % 61
                )
            case "n":
                self.house = replace(self.house, note=f"mask {len(self.commits)}")
            case "r":
                self.house = replace(self.house, remark=len(self.commits))
        self.of_the_house.append(len(self.commits))
        self.commit()

    # ---- branches ----

    def branch_and_merge(self) -> None:
        base = copy.deepcopy(self.shelf)
        sides = []
        for branch in ("side", "main"):
            self.git("switch", "-q", *(["-c", "side"] if branch == "side" else ["main"]))
            self.shelf = copy.deepcopy(base)
            for _ in range(self.chance.randint(1, 3)):
                self.amounts_only()
                self.commit()
            sides.append(self.shelf)
        theirs, ours = sides
        meant = merged(base, ours, theirs)
        done = self.git("merge", "-q", "--no-edit", "side", check=False)
        self.merges += 1
        if done.returncode == 0:
            assert meant is not None, "both changed one place, and nobody was told"
            self.shelf = meant
            held = {path.relative_to(self.folder).as_posix() for path in self.folder.rglob("*.glost")}
            assert held == {one.path for one in meant.values()}
            self.remember()
        else:
            self.conflicts += 1
            assert meant is None or not totals_hold(base, ours, theirs, meant), done.stdout + done.stderr
            self.git("merge", "--abort")
            self.shelf = ours
        self.git("branch", "-q", "-D", "side")

    def amounts_only(self) -> None:
        one = self.shelf[self.chance.choice(list(self.shelf)[:6])]  # so few that both sides often meet
        give, take = self.chance.sample(list(one.base), 2)
        if one.base[give] > 3:
            one.base[give] -= 1
            one.base[take] += 1
        if self.chance.random() < 0.3:
            one.cone = self.chance.choice(("04", "5", "6", "10"))


def merged(base: Shelf, ours: Shelf, theirs: Shelf) -> Shelf | None:
    """Place by place, None where both changed one otherwise."""
    out = copy.deepcopy(ours)
    for at, one in out.items():
        was, here, there = (side[at].places() for side in (base, ours, theirs))
        for place in was:
            if there[place] != was[place]:
                if here[place] not in (was[place], there[place]):
                    return None
                section, name = place
                if section == "base":
                    one.base[name] = theirs[at].base[name]
                elif section == "field":
                    one.cone = theirs[at].cone
    return out


def totals_hold(base: Shelf, ours: Shelf, theirs: Shelf, meant: Shelf) -> bool:
    return all(sum(one.base.values()) == sum(base[at].base.values()) for at, one in meant.items())


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Studio:
    import sys

    made = Studio(tmp_path_factory.mktemp("collection"), random.Random(17))
    made.git("init", "-q", "-b", "main")
    environment = {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull}
    subprocess.run(
        [sys.executable, "-P", "-m", "glost", "git-setup"],
        cwd=made.folder,
        env=environment,
        check=True,
        capture_output=True,
    )
    for _ in range(RECIPES):
        made.new()
    made.commit()
    while len(made.commits) < COMMITS:
        if made.chance.random() < 0.1:
            made.branch_and_merge()
        elif made.chance.random() < 0.15:
            made.of_house()
        else:
            made.edit()
            made.commit()
    return made


def test_every_merge_was_right_and_many_were_put_to_the_test(studio: Studio) -> None:
    """Each was held against the model where it was made."""
    assert studio.merges >= 12
    assert 0 < studio.conflicts < studio.merges


def pairs(studio: Studio) -> Iterator[tuple[int, int]]:
    chance = random.Random(3)
    for _ in range(60):
        first = chance.randrange(len(studio.commits) - 1)
        yield first, min(first + chance.choice((1, 2, 5, 20)), len(studio.commits) - 1)


def test_every_comparison_is_what_the_model_says(studio: Studio, run_here: Run) -> None:
    compared = changes = renamed = found = 0
    for first, second in pairs(studio):
        (old_name, old, then), (new_name, new, now_house) = studio.commits[first], studio.commits[second]
        done = run_here("compare", old_name, new_name, "--output", "json", cwd=studio.folder)
        document = json.loads(done.stdout)
        by_path = {one["new"].partition(":")[2]: one for one in document["recipes"] if one["new"]}
        gone = {one["old"].partition(":")[2] for one in document["recipes"] if not one["new"]}
        differs = False
        for at in {*old, *new}:
            was, now = old.get(at), new.get(at)
            if was is None and now is not None:
                differs = True
                assert by_path[now.path]["state"] == "added"
            elif now is None and was is not None:
                differs = True
                assert was.path in gone
            elif was is not None and now is not None:
                compared += 1
                before = {**was.facts(), **then.facts(was, now)}
                after = {**now.facts(), **now_house.facts(was, now)}
                meant = {place: (before.get(place), after.get(place)) for place in {*before, *after}
                         if before.get(place) != after.get(place)}  # fmt: skip
                differs |= bool(meant)
                said = by_path.get(now.path)
                if was.path != now.path:
                    renamed += 1
                    if said is not None and said["old"] is None:
                        assert was.path in gone  # nothing is lost, though it is not known as the same one
                        continue
                    found += 1
                if said is None:
                    assert not meant
                    continue
                assert said["old"].partition(":")[2] == was.path
                assert {
                    (one["section"], one["what"]): (value(one["old"]), value(one["new"]))
                    for one in said["changes"]
                } == meant
                changes += len(meant)
        assert done.returncode == int(differs)
    assert compared > 1000
    assert changes > 300
    assert found > renamed * 0.8 > 4


def value(side: dict[str, Any] | None) -> Any:
    if side is None:
        return None
    return Fraction(side["exact"][0]) if "exact" in side else side["text"]


def test_every_history_lists_the_commits_of_the_collection_that_touch_the_recipe(
    studio: Studio, run_here: Run
) -> None:
    assert len(studio.of_the_house) > 15
    listed = passed_over = 0
    _, last, _ = studio.commits[-1]
    for at, recipe in last.items():
        done = run_here("history", recipe.path, "--output", "json", cwd=studio.folder)
        revisions = {one["commit"]: one for one in json.loads(done.stdout)["revisions"]}
        for place in studio.of_the_house:
            (_, before, was), (name, shelf, house) = studio.commits[place - 1], studio.commits[place]
            if at not in shelf or at not in before:
                continue
            then, now = was.facts(shelf[at]), house.facts(shelf[at])
            meant = {at: (then[at], now[at]) for at in now if then[at] != now[at]}
            if name not in revisions:
                assert not meant or not followed(revisions.values(), shelf[at])
                passed_over += 1
                continue
            listed += 1
            assert (
                {
                    (one["section"], one["what"]): (value(one["old"]), value(one["new"]))
                    for one in revisions[name]["changes"]
                }
                == meant
                != {}
            )
    assert listed > 60
    assert passed_over > 60


def followed(revisions: Iterable[dict[str, Any]], recipe: Recipe) -> bool:
    """Whether a history leads back to the file that a recipe had: beyond a rename that was a change of much more it
    does not."""
    return recipe.path in {one["path"] for one in revisions}
