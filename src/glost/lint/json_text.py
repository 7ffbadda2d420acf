"""JSON that any file name can be written in."""

from __future__ import annotations

import json
import re
from typing import Any

_ALONE = re.compile("[\ud800-\udfff]")


def json_text(value: Any, indent: int | None = None) -> str:
    """``value`` as JSON, with letters as they are. The bytes of a file name that are not UTF-8 come from the system
    as lone surrogates, which no file can hold; JSON's own escape keeps them, and reads back to the same name."""
    text = json.dumps(value, ensure_ascii=False, indent=indent)
    return _ALONE.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
