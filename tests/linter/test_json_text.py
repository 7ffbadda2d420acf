"""JSON that any name can be written in: nothing in it steers what shows it, and a JSON library reads the same back."""

from __future__ import annotations

import json

import pytest

from glost.linter.json_text import json_rows, json_text

SIGNS = ["\x7f", "\x1b", "\u202e", "\u3164", "\U000e0041", "\udcff"]


@pytest.mark.parametrize("sign", SIGNS)
@pytest.mark.parametrize("beside", ["", " 20 °C", "\u00a0釉"])
def test_a_sign_is_escaped_and_reads_back(sign: str, beside: str) -> None:
    row = {"file": f"quay{sign}blue{beside}.glost"}
    for text in (json_text(row), json_text([row], indent=1), "".join(json_rows("findings", [row]))):
        assert sign not in text
        assert beside in text
        assert row in (
            read := json.loads(text),
            *(read if isinstance(read, list) else read.get("findings", ())),
        )
