"""A large collection with firings, made up: how long results and catalog take, how much memory and how large the pages.

``python -m tests.benchmark.firings [RECIPES TILES]``; without numbers 2,000 recipes and 5,000 tiles. No figure of it is
a test's verdict.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

_A_FIRING = 25
"""Tiles."""
_FIRST = date(2020, 1, 6)
_FAULTS = ("", "pinholes", "crazing", "crawling, pinholes", "running")


def build(folder: Path, recipes: int, tiles: int) -> None:
    """The collection: each recipe with a variation, each tile one of a test in turn."""
    (folder / "glost.yaml").write_text("name: Invented\n", "utf-8")
    for at in range(recipes):
        (folder / f"recipe-{at:05}.glost").write_text(
            f'glaze "Recipe {at}"\ncone: 6\natmosphere: oxidation\norigin: invented\n\nbase:\n'
            f"    nepheline syenite   {40 + at % 20}\n    silica              {30 - at % 20}\n"
            f"    whiting             {20 + at % 7}\n    kaolin              {10 - at % 7}\n\n"
            f'variation "blue":\n    cobalt carbonate    {1 + at % 3}\n',
            "utf-8",
        )
    (folder / "firings").mkdir()
    for number in range(0, tiles, _A_FIRING):
        day = _FIRST + timedelta(days=number // _A_FIRING * 7)
        lines = [
            f'firing "Kiln {number // _A_FIRING}"',
            f"date: {day}",
            "cone: 6",
            "kiln: small electric",
            "",
        ]
        for at in range(number, min(number + _A_FIRING, tiles)):
            test = at % recipes
            label = ", blue" if at // recipes % 2 else ""
            fault = _FAULTS[at % len(_FAULTS)]
            lines += [f'tile "{at}":', f'    test: glaze "Recipe {test}{label}"', "    surface: satin"]
            lines += [f"    colour: pale blue {at % 40}", *([f"    faults: {fault}"] if fault else []), ""]
        (folder / "firings" / f"{number:05}.firing").write_text("\n".join(lines), "utf-8")


def measure(folder: Path, *arguments: str) -> str:
    """Seconds, size of what was written, and the most memory that any run took until now."""
    begun = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", "glost", *arguments], cwd=folder, capture_output=True, check=False
    )
    seconds = time.monotonic() - begun
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    size = len(done.stdout) / 1e6
    return f"glost {' '.join(arguments)}: {seconds:.1f} s, {size:.2f} MB, up to {most:.0f} MiB, exit {done.returncode}"


def main() -> None:
    recipes, tiles = (int(one) for one in sys.argv[1:3]) if len(sys.argv) > 2 else (2000, 5000)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        build(folder, recipes, tiles)
        for arguments in (
            ("results", ".", "--output", "text"),
            ("results", ".", "--output", "html"),
            ("results", ".", "--fault", "running", "--output", "csv"),
            ("results", "recipe-00003.glost"),
            ("catalog", "."),
            ("lint", "firings"),
        ):
            print(measure(folder, *arguments), flush=True)


if __name__ == "__main__":
    main()
