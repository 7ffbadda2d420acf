"""Where the batch sheets of a page in the browser stand within it, read from the page itself: what another page may
link to."""

from __future__ import annotations

import json
import re
from typing import Final
from urllib.parse import quote

from glost.errors import ValueRefusedError
from glost.output.web import GENERATED

_HELD: Final = re.compile(r'<script type="application/json" id="held">(.*?)</script>', re.DOTALL)


def is_page(text: str) -> bool:
    """Whether a text is a page that was made here."""
    return GENERATED.search(text) is not None


def addresses_in(text: str) -> dict[tuple[str, str], str]:
    """File and test of each sheet of a page, with the part of its address behind the #. A page of anything else has
    none. Raises ValueRefusedError where nothing of ours wrote the text."""
    if not is_page(text):
        raise ValueRefusedError(
            "this is no page that glost wrote", "make one with: glost convert PATHS --to html --out SHEETS"
        )
    found = _HELD.search(text)
    try:
        held = json.loads(found[1]) if found else []
    except (ValueError, RecursionError):
        held = []
    out = {}
    for one in held if isinstance(held, list) else ():
        if isinstance(one, dict):
            file, test, anchor = (one.get(key) for key in ("file", "test", "anchor"))
            if isinstance(file, str) and isinstance(test, str) and isinstance(anchor, str):
                out[file, test] = quote(anchor, safe="/@-")
    return out
