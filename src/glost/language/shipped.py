"""Where the grammar and the schemas lie: inside an installed wheel, or at the top of a checkout.

pyproject.toml maps the top-level folders grammar/ and schema/ into the wheel. In an editable install they
stay where they are, two layers above this file. Plain paths, since importlib.resources alone costs a
noticeable part of a cold start.
"""

from pathlib import Path

_HERE = Path(__file__).parents[1]


def shipped(folder: str, name: str) -> Path:
    """The path of ``name`` in the shipped ``folder`` ("grammar" or "schema")."""
    installed = _HERE / folder / name
    return installed if installed.exists() else _HERE.parents[1] / folder / name
