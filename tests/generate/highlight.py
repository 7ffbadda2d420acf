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

from glost.language.tables import Tables, tables
from tests.conftest import TOP

FOLDER = TOP / "grammar"
TEXTMATE, VIM = FOLDER / "glost.tmLanguage.json", FOLDER / "glost.vim"
_BELOW = {"ITEM": "items", "STEPS": "items", "INSTRUCTION": "instructions", "TEXT": "text"}


def files() -> dict[Path, str]:
    return {TEXTMATE: textmate(tables()), VIM: vim(tables())}


def openings(read: Tables) -> list[tuple[str, bool, bool, str]]:
    """The heads that open a block: the word or words, whether a name in quotes follows, whether a step does (by 20 %),
    and what stands below."""
    found = []
    for kind, (_, lines) in read.heads.items():
        word = re.match(r"[a-z]+(?: \+?[a-z]+)*", read.patterns[kind])
        below = next((_BELOW[line] for line in lines if line in _BELOW), "")
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
    inside: dict[str, list[dict[str, Any]]] = {
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
    blocks: list[dict[str, Any]] = [
        {
            "match": rf"^({_words(read.lexicon.kinds)}) +{quoted}",
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
    field = {
        "match": r"^([A-Za-z][A-Za-z -]*)(:)(?: +((?:[^ #]| (?!#)|(?<! )#|#(?! |$))*))?",
        "captures": {
            "1": {"name": "variable.other.field.glost"},
            "2": {"name": "punctuation.separator.glost"},
            "3": {"name": "string.unquoted.value.glost"},
        },
    }
    written = {
        "name": "glost",
        "scopeName": "source.glost",
        "fileTypes": ["glost"],
        "comment": "Made from grammar/glost.lark by python -m tests.generate highlight",
        "patterns": [*blocks, field, comment],
    }
    return json.dumps(written, indent=1, ensure_ascii=False) + "\n"


def vim(read: Tables) -> str:
    words = [word.replace(" ", r" \+") for word, *_ in openings(read)]
    either = r"\|".join
    heads, units, kinds = either(words), either(read.lexicon.units), either(read.lexicon.kinds)
    amount = rf"[0-9.]\+\%( *\%({units}\)\)\?"
    lines = [
        '" Made from grammar/glost.lark by python -m tests.generate highlight',
        "if exists('b:current_syntax')",
        "  finish",
        "endif",
        r"syntax match glostField /^\a[A-Za-z -]*:/",
        rf"syntax match glostHead /^\%({heads}\)\%( \+\"[^\"]*\"\)\?\%( \+by \+[0-9.]\+ *%\)\?:/ contains=glostName",
        rf"syntax match glostKind /^\%({kinds}\) \+\ze\"/ nextgroup=glostName",
        'syntax match glostName /"[^"]*"/ contained',
        rf"syntax match glostAmount /\%( \|, *\)\@<={amount}\ze *\%($\|#\|(\|,\)/",
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
