"""A made collection as a studio has it after ten years of several hands: pages laid out by nobody, numbers spelled
three ways, old names of materials, totals that are off, notes that are missing, lines that cannot be read."""

from __future__ import annotations

import random
from pathlib import Path

NAMES = ("potash feldspar", "kaolin", "silica", "whiting", "calcium carbonate", "flint", "talc", "zinc oxide")
ADDED = ("rutile", "red iron oxide", "copper carbonate", "black manganese", "cobalt carbonate", "bentonite")
WORDS = ("Reed", "Straw", "Chalk", "Fen", "Lichen", "Silt", "Dune", "Tern", "Loft", "Moor", "Kelp", "Brack")


def write_messy_collection(folder: Path, pages: int, seed: int) -> list[Path]:
    """Writes so many pages into the folders of a collection, the same for the same seed."""
    chance = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "glost.yaml").write_text("name: old boxes (invented)\nbatch: 500 g\n", "utf-8")
    files = []
    for number in range(pages):
        name = f"{chance.choice(WORDS)} {chance.choice(WORDS)} {number:03}"
        path = folder / f"box {number % 7}" / f"{name.lower().replace(' ', '-')}.glost"
        path.parent.mkdir(exist_ok=True)
        path.write_text(messy_page(chance, name), "utf-8")
        files.append(path)
    return files


def messy_page(chance: random.Random, name: str) -> str:
    def gap(least: int = 1) -> str:
        return " " * chance.randint(least, 9)

    def amount(tenths: int) -> str:
        text = f"{tenths // 10}.{tenths % 10}" if tenths % 10 else str(tenths // 10)
        spellings = [text, f"{text}0" if "." in text else f"{text}.0"]
        return chance.choice([*spellings, text.removeprefix("0") if text.startswith("0.") else text])

    def line(material: str, tenths: int, behind: str = "") -> str:
        note = chance.choice(
            ["", "", "", f"{gap()}(sieve   twice)", f"{gap()}# {chance.randint(1990, 2020)}"]
        )
        return f"{gap(2)}{material}{gap()}{amount(tenths)}{behind}{note}{' ' * chance.choice([0, 0, 2])}"

    lines = [f'glaze{gap()}"{name}"']
    for field, value in (
        ("cone", "6"),
        ("atmosphere", "oxidation"),
        ("origin", "a card  of the old box"),
        ("use", "food"),
    ):
        if chance.random() < 0.6:
            lines.append(f"{field}:{gap()}{value}")
    lines += [""] * chance.randint(0, 3) + ["base:"]
    cuts = sorted(chance.sample(range(50, 950), 3))
    shares = [b - a for a, b in zip([0, *cuts], [*cuts, chance.choice([1000, 1000, 990, 1015])], strict=True)]
    lines += [
        line(material, tenths) for material, tenths in zip(chance.sample(NAMES, 4), shares, strict=True)
    ]
    if chance.random() < 0.15:
        lines.append(line(f"jar {chance.choice('abc')}", 15))
    if chance.random() < 0.6:
        lines += ["", "additions:"]
        behind = chance.choice(["", " %", "%"])
        lines += [line(material, chance.randint(1, 90), behind) for material in chance.sample(ADDED, 2)]
    if chance.random() < 0.2:
        lines += ["series:", f"  {chance.choice(ADDED[:3])}{gap()}1.0 %,{gap()}.5 %,{gap()}3 %"]
    if chance.random() < 0.4:
        lines += ["handling:", f"  silica,{gap()}flint{gap()}:{gap()}P100  mask"]
    if chance.random() < 0.3:
        lines += ["notes:", f"{gap(2)}glossy, breaks   over texture", ""]
    if chance.random() < 0.05:
        lines.append("kaolin half a cup")
    return "\n".join(lines) + "\n"
