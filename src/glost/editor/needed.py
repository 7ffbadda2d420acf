"""Whether what the server needs beside glost is installed."""

from __future__ import annotations

from importlib.util import find_spec


def is_installed() -> bool:
    """Whether pygls can be imported."""
    return find_spec("pygls") is not None
