"""The difference between a page as it is and as a command would write it."""

from __future__ import annotations


def difference(name: str, before: str, after: str, what: str) -> str:
    """A unified difference; ``what`` says in brackets what the page becomes."""
    import difflib

    lines = difflib.unified_diff(_lines(before), _lines(after), name, f"{name} ({what})")
    return "".join(
        line if line.endswith("\n") else line + "\n\\ no line break at the end\n" for line in lines
    )


def _lines(text: str) -> list[str]:
    """The lines with their breaks; a line ends at LF and nowhere else."""
    return [line + "\n" for line in text.split("\n")[:-1]] + [text.rpartition("\n")[2]] * (text[-1:] != "\n")
