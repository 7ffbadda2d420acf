"""Pages for a browser: one file that needs nothing else, sends nothing, and lets nothing else in.

The scripts and style sheets lie beside this module as files of their own; they are read when a page is written
and go into it whole. The policy in the page's head names each of them by its hash, so that a browser runs no
other: a name that slipped through unescaped would stay text.
"""

from __future__ import annotations

import hashlib
import json
import re
from base64 import b64encode
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from pathlib import Path

from glost.output.escape import visible

_FOLDER = Path(__file__).parent
_FOOT = "foot.css"
_NAMED = 3
"""So many names stand at the foot of a page."""
_ROOM = 90
"""Characters for all of them."""
_GENERATOR = '<meta name="generator" content="glost">'
GENERATED = re.compile(re.escape(f"{_GENERATOR}\n"))
"""What is found in every page that was made here (HTML, "4.2.5.1 Standard metadata names": generator)."""


def shown(text: str) -> str:
    """``text`` on one line as the inside of an element or of a quoted attribute: this is the one place where
    text becomes markup."""
    return escape(visible(text), quote=True)


def data(value: object) -> str:
    """``value`` as JSON that can stand inside a script element: no sign in it can end the element."""
    text = json.dumps(value, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def document(
    title: str,
    body: Iterable[str],
    styles: Sequence[str],
    scripts: Sequence[str] = (),
    held: object = None,
    folder: Path = _FOLDER,
    own_style: str = "",
    pictures: bool = False,
    feet: Mapping[str, str] | None = None,
) -> str:
    """A whole page. ``title`` is text, ``body`` markup, a line each; ``styles`` and ``scripts`` name files of
    ``folder``, or of this one where ``folder`` has none of that name: common.css is the hand that all pages share.
    ``own_style`` is style text made for this page; ``held`` is what the scripts read, as JSON, in the element
    "held". ``pictures``: images may stand in it, each in its own address and none from elsewhere. ``feet``: what stands
    at the foot of each page of paper beside its number, by the name of a page in the style, "" for all; the title where
    nothing is given, and with none no foot at all."""
    feet = {"": title} if feet is None else feet
    own_style = "\n".join([*([own_style] if own_style else ()), *(_foot(*one) for one in feet.items())])
    style_texts = [_text(folder, name) for name in (*([_FOOT] if feet else ()), *styles)]
    style_texts += [own_style] if own_style else []
    script_texts = [_text(folder, name) for name in scripts]
    policy = "; ".join(
        (
            "default-src 'none'",
            f"script-src {_hashes(script_texts)}",
            f"style-src {_hashes(style_texts)}",
            *(("img-src data:",) if pictures else ()),
            "connect-src 'none'",
            "form-action 'none'",
            "base-uri 'none'",
        )
    )
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        _GENERATOR,
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1, interactive-widget=resizes-content">',
        '<meta name="referrer" content="no-referrer">',
        f"<title>{shown(title)}</title>",
        *(f"<style>{text}</style>" for text in style_texts),
        "</head>",
        "<body>",
        *body,
    ]
    if script_texts:
        lines.append(f'<script type="application/json" id="held">{data(held)}</script>')
    lines += [f"<script>{text}</script>" for text in script_texts]
    return "\n".join([*lines, "</body>", "</html>"]) + "\n"


def _text(folder: Path, name: str) -> str:
    file = folder / name
    return (file if file.exists() else _FOLDER / name).read_text(encoding="utf-8")


def _foot(page: str, text: str) -> str:
    return f"@page {page} {{ @bottom-left {{ content: {css_string(text)}; }} }}"


def in_short(text: str, most: int = 60) -> str:
    """``text`` on one line as far as there is room for it at the foot of a page."""
    text = visible(text)
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}\u2026"


def some_of(names: Iterable[str]) -> str:
    """The first of these names, and how many more there are: whose a page is that is about many."""
    each = list(dict.fromkeys(names))
    named = each[:_NAMED]
    more = [f"{len(each) - _NAMED} more"] if len(each) > _NAMED else []
    return ", ".join([*(in_short(name, _ROOM // len(named)) for name in named), *more])


def css_string(text: str) -> str:
    """``text`` on one line as a string of a style sheet. Whatever is no letter or figure is written by its number, so
    that no sign in it ends the string or the element."""
    inside = "".join(one if one.isalnum() else f"\\{ord(one):x} " for one in visible(text))
    return f'"{inside}"'


def _hashes(texts: Sequence[str]) -> str:
    """Sources of a policy: the SHA-256 of each text (Content Security Policy Level 3, "hash-source")."""
    digests = (hashlib.sha256(text.encode()).digest() for text in texts)
    return " ".join(f"'sha256-{b64encode(digest).decode()}'" for digest in digests) or "'none'"
