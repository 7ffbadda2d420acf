"""Lines of materials: signs, quotes, brackets and notes around a name, and recipes as ingredients."""

from __future__ import annotations

import re

from glost.language.diagnostics import Diagnostic
from glost.language.errors.item_line import AMOUNT, BEFORE, FIGURE, NOTE, QUOTED, WORDS, ItemLine
from glost.language.nearest import nearest


def bullet(item: ItemLine) -> Diagnostic | None:
    found = re.match(r" *(?P<n>[-*+\u2022\u00b7]|[0-9]{1,2}[.)]) +", item.code)
    if found and item.reads(found.start("n"), found.end(), ""):
        if found["n"] == "+" and item.role == "base":
            return item.diagnostic(
                *found.span("n"),
                "'+' stands before the material",
                "take it away if it is part of the base; what is added to it stands below  additions:",
            )
        return item.diagnostic(
            found.start("n"),
            found.end("n"),
            f"'{found['n']}' stands before the material",
            "take it away; the line begins with the material",
            "",
        )
    found = re.match(rf" *(?P<n>{_LEADS}) *(?=[^\W_])", item.open)
    if found and item.reads(found.start("n"), found.end(), ""):
        return item.diagnostic(
            *found.span("n"),
            f"'{found['n']}' stands before the material",
            "take it away if the line is meant; a comment begins with #",
        )
    return None


_LEADS = r"//+|--+|;+|[:|>,.\u2023\u25aa\u25cf\u25e6]"
"""Signs before a material that begin a list or, elsewhere, a comment."""


def fused_comment(item: ItemLine) -> Diagnostic | None:
    found = re.search(rf"(?:(?<!\S){AMOUNT}|{NOTE})(?P<n>#)", item.open)
    if found is None:
        return None
    return item.diagnostic(
        found.start("n"),
        found.end("n"),
        "a comment begins with a blank before its #",
        "put a blank there",
        " #",
    )


def unclosed(item: ItemLine) -> Diagnostic | None:
    code, blotted = item.code, item.blotted
    if code.count('"') % 2:
        quote = code.rindex('"')
        return item.diagnostic(
            quote,
            quote + 1,
            "this quotation mark has no partner on the line",
            'write  "name"  and then the amount',
        )
    empty = re.search(r'" *"', code)
    if empty and not code[: empty.start()].count('"') % 2:
        return item.diagnostic(
            *empty.span(),
            "nothing stands between these quotation marks",
            'write the name of the material between them, such as  "frit 12"',
        )
    opened, closed = blotted.count("("), blotted.count(")")
    if opened != closed:
        bracket = blotted.index("(") if opened > closed else blotted.rindex(")")
        return item.diagnostic(
            bracket,
            bracket + 1,
            "this round bracket has no partner on the line",
            "write a note as  (note)  behind the amount",
        )
    if opened > 1:
        second = blotted.index("(", blotted.index("(") + 1)
        return item.diagnostic(
            second, second + 1, "a line takes one note, without brackets inside it", "write one  (note)"
        )
    return None


def single_quotes(item: ItemLine) -> Diagnostic | None:
    found = re.match(r" *(?P<n>['`](?P<name>[^'\"`]+)['`])(?= )", item.code)
    if found is None:
        return None
    return item.diagnostic(
        *found.span("n"),
        "a name is quoted with the double mark",
        f'write  "{found["name"]}"',
        f'"{found["name"]}"',
    )


def recipe(item: ItemLine) -> Diagnostic | None:
    """A recipe as an ingredient, its kind not written as it is read."""
    found = re.match(r' *(?P<n>(?P<kind>[A-Za-z]+)(?P<gap>[ :=-]*)(?P<name>"[^"]+"))(?!\S)', item.code)
    if found is None:
        return None
    kind, lower = found["kind"], found["kind"].lower()
    near = [lower] if lower in WORDS.kinds else nearest(lower, WORDS.kinds, 1)
    if not near and not re.match(rf" +{AMOUNT}(?!\S)", item.open[found.end() :]):
        return None
    if not near:
        return item.diagnostic(
            *found.span("kind"),
            f"'{kind}' is not a kind of recipe",
            f"a recipe as an ingredient is written as its first line has it (the kinds are "
            f"{', '.join(WORDS.kinds)}); a name of a material is quoted as a whole",
        )
    shown = f"{near[0]} {found['name']}"
    if found["n"] == shown or (kind == near[0] and set(found["gap"]) == {" "}):
        return None
    if kind == near[0]:
        message = "only blanks stand between the kind of recipe and its name"
    elif lower == near[0]:
        message = f"'{kind}' is written in lower case"
    else:
        message = f"'{kind}' is not a kind of recipe"
    return item.diagnostic(*found.span("n"), message, f"write  {shown}", shown if lower == near[0] else None)


def no_material(item: ItemLine) -> Diagnostic | None:
    hint = "write the material and its amount, such as  silica  22"
    if not re.search(rf"[^\W_]|{QUOTED}", item.open):
        message = "no material and no amount stand here"
    elif re.fullmatch(rf" *{AMOUNT} *{NOTE}*", item.open):
        message = "the material is missing before the amount"
    elif re.fullmatch(rf" *{AMOUNT}(?:[, ]+{AMOUNT})+ *{NOTE}*", item.open):
        message = "only amounts stand here, and no material"
        hint = "write the material before its amount; a name in figures stands in double quotes"
    else:
        return None
    return item.diagnostic(item.at, item.end, message, hint)


def needs_quotes(item: ItemLine) -> Diagnostic | None:
    found = re.match(rf" *(?P<name>[^\"]*?[^\s\"]) +{AMOUNT} *(?:\([^()]*\))?$", item.code)
    if found is None or not item.reads(*found.span("name"), f'"{found["name"]}"'):
        return None
    name = found["name"]
    if "(" in name:
        bracket = item.code.index("(")
        return item.diagnostic(
            bracket,
            found.end("name"),
            "the note stands before the amount",
            f'write it behind the amount; a name with brackets in it is quoted: "{name}"',
        )
    signs = re.findall(r"[^\w\s.'/&+-]", name)
    if not signs or re.search(rf"{BEFORE}{FIGURE}(?!\S)", name):
        return None
    return item.diagnostic(
        *found.span("name"),
        f"the name '{name}' holds '{signs[0]}', which has a meaning on this line",
        f'put the name in double quotes: "{name}"',
        f'"{name}"',
    )
