"""The page of a firing to come, from what was weighed and not yet fired."""

from __future__ import annotations

from collections.abc import Iterable

from glost.output.firing.door import Waiting
from glost.recipe.firing import FAULTS


def begun(name: str, date: str, kiln: str, waiting: Iterable[Waiting]) -> str:
    """The text of the page; what nobody knows yet is left to fill in, as comments."""
    lines = [
        f'firing "{name}"',
        f"date: {date}".rstrip(" "),
        f"kiln: {kiln}" if kiln else "# kiln: small electric",
        "# cone: 6",
        "# reached: 6 1/2",
        "# atmosphere: oxidation",
        "# body: house stoneware",
        "",
        "# schedule:",
        "#     from 20 C",
        "#     to 600 C at 100 C/h",
        "#     to 1222 C at 150 C/h, hold 15 min",
        "#     to 100 C freely",
        "# Below each tile as well: body, place, surface, colour, flow (4 mm), photo (photos/1.jpg), remarks,",
        f"# faults ({', '.join(FAULTS)}, or others).",
    ]
    for number, one in enumerate(waiting, 1):
        lines += ["", f'tile "{number}":', f"    test: {one.test}", f"    batch: {one.batch}"]
    return "\n".join(lines) + "\n"
