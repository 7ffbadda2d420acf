"""grammar/glost.tmLanguage.json and grammar/glost.vim: highlighting for editors, from the tables of the grammar.

Each kind of line becomes a rule: where its expression has a name in quotes, so has the rule; which lines stand below a
head says what is coloured there. Expressions of what may stand inside a name are simpler than the grammar's: to say
what is wrong is the server's part.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from glost.language.firing_words import TILE_KEYS
from glost.language.tables import Tables, tables
from tests.conftest import TOP

FOLDER = TOP / "grammar"
TEXTMATE, VIM = FOLDER / "glost.tmLanguage.json", FOLDER / "glost.vim"
_BELOW = {
    "OWN": "own",  # of a variation, whose lines are those of materials as well
    "ITEM": "items",
    "STEPS": "items",
    "INSTRUCTION": "instructions",
    "TEXT": "text",
    "RAMP": "ramps",
    "ENTRY": "entries",
}
_VALUE = r"(?: *((?!#(?: |$))[^ ]+(?: +(?!#(?: |$))[^ ]+)*))?"
"""A text up to a comment, which has a blank on both sides of its #."""


def files() -> dict[Path, str]:
    return {TEXTMATE: textmate(tables()), VIM: vim(tables())}


def openings(read: Tables) -> list[tuple[str, bool, bool, str]]:
    """The heads that open a block: the word or words, whether a name in quotes follows, whether a step does (by 20 %),
    and what stands below."""
    found = []
    for kind, (_, lines) in {**read.heads, **read.parts}.items():
        word = re.match(r"[a-z]+(?: \+?[a-z]+)*", read.patterns[kind])
        below = next((said for line, said in _BELOW.items() if line in lines), "")
        if word is not None and below:
            pattern = read.patterns[kind]
            found.append(
                (word[0].replace(" +", " "), "(?P<quoted>" in pattern, "(?P<step>" in pattern, below)
            )
    return found


def _words(words: list[str] | tuple[str, ...]) -> str:
    return "|".join(re.escape(word).replace("\\ ", " +") for word in sorted(words, key=len, reverse=True))


def textmate(read: Tables) -> str:
    number, units = read.lexicon.number, _words(read.lexicon.units)
    amount = rf"(?:{number})(?: *(?:{units}))?"
    comment = {"match": r"(?:^|(?<= ))#.*$", "name": "comment.line.number-sign.glost"}
    end = r"^(?=[^ \r\n#])"
    quoted = r'("[^"]*")'
    span = r"[0-9]{1,4} *(?:h|min)\b"
    degrees = r"[0-9]{1,4}(?:\.[0-9]{1,2})? *[CF](?:/h)?\b"
    inside: dict[str, list[dict[str, Any]]] = {
        "entries": [_said(r"^ +([A-Za-z][A-Za-z -]*)")],
        "ramps": [
            {"match": rf"{degrees}|{span}", "name": "constant.numeric.amount.glost"},
            {"match": r"\b(?:from|to|at|in|freely|hold)\b", "name": "keyword.other.step.glost"},
        ],
        "items": [
            {
                "match": rf'^ +("[^"]*"|.+?) +({amount}(?:, +{amount})*)(?= *(?:$|#|\())',
                "captures": {
                    "1": {"name": "entity.name.type.material.glost"},
                    "2": {"name": "constant.numeric.amount.glost"},
                },
            },
            {"match": r"\([^()]*\)", "name": "string.other.note.glost"},
        ],
        "instructions": [
            {
                "match": r'^ +((?:"[^"]*"|[^":#])+)(:)',
                "captures": {
                    "1": {"name": "entity.name.type.material.glost"},
                    "2": {"name": "punctuation.separator.glost"},
                },
            }
        ],
        "text": [{"match": r"^ +(?![# ])(.*)$", "captures": {"1": {"name": "string.unquoted.text.glost"}}}],
    }
    own = re.search(r"\(\?P<own_key>\(\?:([a-z|]+)\)\)", read.patterns["OWN"])
    inside["own"] = [_said(rf"^ +({own[1] if own else ''})"), *inside["items"]]
    blocks: list[dict[str, Any]] = [
        {
            "match": rf"^({_words([*read.lexicon.kinds, 'firing'])}) +{quoted}",
            "captures": {
                "1": {"name": "storage.type.kind.glost"},
                "2": {"name": "entity.name.section.recipe.glost"},
            },
        }
    ]
    for word, named, stepped, below in openings(read):
        begin = rf"^({_words([word])})" + (rf" +{quoted}" if named else "")
        names = ["keyword.control.head.glost"] + ["entity.name.function.test.glost"] * named
        if stepped:
            begin += rf" +(by) +({number} *%)"
            names += ["keyword.control.head.glost", "constant.numeric.amount.glost"]
        begin += "(:)"
        names.append("punctuation.separator.glost")
        captures = {str(at): {"name": name} for at, name in enumerate(names, 1)}
        blocks.append(
            {
                "begin": begin,
                "end": end,
                "beginCaptures": captures,
                # In a text a hash is a comment only where the line begins with it.
                "patterns": [*inside[below], comment] if below == "text" else [comment, *inside[below]],
            }
        )
    written = {
        "name": "glost",
        "scopeName": "source.glost",
        "fileTypes": ["glost", "firing"],
        "comment": "Made from grammar/glost.lark by python -m tests.generate highlight",
        "patterns": [*blocks, _said(r"^([A-Za-z][A-Za-z -]*)"), comment],
    }
    return json.dumps(written, indent=1, ensure_ascii=False) + "\n"


def _said(key: str) -> dict[str, Any]:
    """A line that says one thing: its key, a colon, a text."""
    names = ("variable.other.field.glost", "punctuation.separator.glost", "string.unquoted.value.glost")
    return {
        "match": f"{key}(:){_VALUE}",
        "captures": {str(at): {"name": name} for at, name in enumerate(names, 1)},
    }


def vim(read: Tables) -> str:
    words = list(dict.fromkeys(word.replace(" ", r" \+") for word, *_ in openings(read)))
    either = r"\|".join
    heads, units, kinds = either(words), either(read.lexicon.units), either([*read.lexicon.kinds, "firing"])
    said = either(TILE_KEYS)
    amount = rf"[0-9.]\+\%( *\%({units}\)\)\?"
    lines = [
        '" Made from grammar/glost.lark by python -m tests.generate highlight',
        "if exists('b:current_syntax')",
        "  finish",
        "endif",
        r"syntax match glostField /^\a[A-Za-z -]*:/",
        rf"syntax match glostField /^ \+\%({said}\):/",
        rf"syntax match glostHead /^\%({heads}\)\%( \+\"[^\"]*\"\)\?\%( \+by \+[0-9.]\+ *%\)\?:/ contains=glostName",
        rf"syntax match glostKind /^\%({kinds}\) \+\ze\"/ nextgroup=glostName",
        'syntax match glostName /"[^"]*"/ contained',
        rf"syntax match glostAmount /\%( \|, *\)\@<={amount}\ze *\%($\|#\|(\|,\)/",
        r"syntax match glostAmount /^ \+\%(from\|to\) .*/ contains=glostComment",
        r"syntax match glostNote /([^()]*)/",
        r"syntax match glostComment /\%(^\| \)\@<=#.*$/",
        *(
            f"highlight default link {group} {to}"
            for group, to in (
                ("glostField", "Identifier"),
                ("glostHead", "Statement"),
                ("glostKind", "Type"),
                ("glostName", "String"),
                ("glostAmount", "Number"),
                ("glostNote", "Special"),
                ("glostComment", "Comment"),
            )
        ),
        "let b:current_syntax = 'glost'",
    ]
    return "\n".join(lines) + "\n"
