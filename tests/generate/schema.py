"""schema/settings.schema.json: the rules that there are, with their levels."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from glost.lint.rule import all_rules
from tests.conftest import TOP

PAGE = TOP / "schema" / "settings.schema.json"


def rules_of_the_schema() -> dict[str, Any]:
    """What the schema says of every rule that there is."""
    return {
        rule.name: {
            "$ref": "#/$defs/level",
            "description": f"{rule.summary} {rule.level.capitalize()}, unless a level stands here.",
            "examples": ["warning"],
        }
        for rule in all_rules()
    }


def files() -> dict[Path, str]:
    schema = json.loads(PAGE.read_text("utf-8"))
    schema["properties"]["rules"]["properties"] = rules_of_the_schema()
    return {PAGE: json.dumps(schema, ensure_ascii=False, indent=2) + "\n"}
