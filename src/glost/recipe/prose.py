"""Free text below a head, of a recipe and of a firing."""

from __future__ import annotations

from glost.language import tree


def prose(block: tree.Block) -> str:
    """The text below a head: its lines without their common indent, at most one empty line between."""
    lines = [line for line in block.lines if isinstance(line, (tree.Prose, tree.Blank))]
    edge = min((line.indent for line in lines if isinstance(line, tree.Prose)), default=0)
    out: list[str] = []
    for line in lines:
        text = " " * (line.indent - edge) + line.text if isinstance(line, tree.Prose) else ""
        if text or (out and out[-1]):
            out.append(text)
    return "\n".join(out).strip("\n")
