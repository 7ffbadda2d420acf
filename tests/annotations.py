"""GitHub's workflow commands, read as its runner does; the source of their form is named in outside/test_github.py."""

from __future__ import annotations

import re

_COMMAND = re.compile(r"::(?P<command>error|warning|notice) (?P<properties>[^:]*)::(?P<data>.*)")


def read(line: str) -> tuple[str, dict[str, str], str]:
    """A command as the runner takes it apart: properties up to the next two colons, separated by commas."""
    found = _COMMAND.fullmatch(line)
    assert found is not None, line
    properties = dict(item.split("=", 1) for item in found["properties"].split(","))
    whole = {key: _plain(value, {"%3A": ":", "%2C": ","}) for key, value in properties.items()}
    return found["command"], whole, _plain(found["data"], {})


def _plain(text: str, more: dict[str, str]) -> str:
    signs = {"%0D": "\r", "%0A": "\n", **more, "%25": "%"}
    return re.sub("%[0-9A-F]{2}", lambda escape: signs[escape[0]], text)
