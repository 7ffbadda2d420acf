"""corpus/conformance/: what can be told of a case without a judgement, so that nobody counts bytes by hand.

A case that has no JSON file yet gets one that holds what this implementation gives now. It is a draft: it lacks the
sentence that says what the case is about, without which the tests take no case, and whoever writes that sentence reads
first whether the rest is what the language asks for. What stands in a file that is there is never written over.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from glost.language.parse import FIRING
from glost.language.source import DecodeError, decode
from tests import test_conformance_of_firings as of_firings
from tests.test_conformance import CORPUS, diagnostics, figure, findings, meaning, read, weighed


def files() -> dict[Path, str]:
    pages = sorted(path for folder in ("accept", "reject") for path in (CORPUS / folder).glob("*.glost"))
    pages += [*of_firings.ACCEPT, *of_firings.REJECT]
    return {page.with_suffix(".json"): _described(page) for page in pages}


def _described(page: Path) -> str:
    data = page.read_bytes()
    file = page.with_suffix(".json")
    old = file.read_text("utf-8") if file.exists() else ""
    draft = _draft_of_firing if page.suffix == FIRING else _draft
    case = json.loads(old) if old else draft(data)
    case |= {"bytes": len(data), "decodes": _decodes(data)}
    return json.dumps(case, indent=1, ensure_ascii=old.isascii()) + "\n"  # signs stay as they were written


def _decodes(data: bytes) -> bool:
    try:
        decode(data)
    except DecodeError:
        return False
    return True


def _draft_of_firing(data: bytes) -> dict[str, Any]:
    case: dict[str, Any] = {"says": "", "bytes": len(data), "decodes": _decodes(data)}
    resolved = of_firings.read(data)
    if of_firings.diagnostics(resolved):
        return case | {"findings": of_firings.findings(data), "keeps": of_firings.meaning(resolved)}
    return case | {"firing": of_firings.meaning(resolved)}


def _draft(data: bytes) -> dict[str, Any]:
    case: dict[str, Any] = {"says": "", "bytes": len(data), "decodes": _decodes(data)}
    if not case["decodes"]:
        return case | {"findings": findings(data)}
    resolved = read(data)
    if diagnostics(resolved):
        return case | {"findings": findings(data), "keeps": meaning(resolved)}
    usable = {} if resolved.complete else {"usable": False}
    return (
        case
        | usable
        | {
            "recipe": meaning(resolved),
            "base total": figure(resolved.recipe.base_total),
            "tests": weighed(resolved.recipe),
        }
    )
