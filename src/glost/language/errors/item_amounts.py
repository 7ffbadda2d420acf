"""Lines of materials: amounts that are missing, are too many, stand elsewhere, or have another unit."""

from __future__ import annotations

import re

from glost.language.diagnostics import Diagnostic
from glost.language.errors.item_line import AMOUNT, BEFORE, FIGURE, NOTE, UNIT, WORDS, ItemLine
from glost.language.source import Span
from glost.language.tables import in_words
from glost.language.units import unit_meant

_OTHER_UNITS = frozenset(
    (
        "mg",
        "ml",
        "cl",
        "dl",
        "l",
        "cc",
        "mol",
        "ppm",
        "tsp",
        "tbsp",
        "teaspoon",
        "teaspoons",
        "tablespoon",
        "tablespoons",
        "cup",
        "cups",
        "scoop",
        "scoops",
        "drop",
        "drops",
        "pinch",
        "t",
        "ton",
        "tons",
        "stone",
    )
)


def trailing_mark(item: ItemLine) -> Diagnostic | None:
    found = re.search(rf"(?:[0-9%a-z]|{NOTE}) *(?P<n>[,;.:]+)$", item.open)
    if found and item.reads(found.start("n"), found.end("n"), ""):
        return item.diagnostic(
            *found.span("n"), f"'{found['n']}' stands at the end of this line", "take it away", ""
        )
    return None


def unit_spelling(item: ItemLine) -> Diagnostic | None:
    found = re.search(rf"{BEFORE}(?P<n>{FIGURE}) *(?P<unit>[A-Za-z]+\.?)(?= *(?:,|{NOTE}|$))", item.open)
    if found is None or not item.open[: found.start()].strip(" "):
        return None
    unit = found["unit"].rstrip(".")
    right = unit_meant(unit)
    if right is not None:
        at = found.start("unit") if right else found.end("n")
        behind = " (a bare number is parts)" if not right else ""
        diagnostic = item.diagnostic(
            at,
            found.end("unit"),
            f"'{found['unit']}' is not how a unit is written here",
            f"write {found['n']} {right}".rstrip() + behind,
            right,
        )
        # The blank before an idle word goes with it, but the word alone is what is wrong.
        return diagnostic._replace(span=Span(diagnostic.span.end - len(found["unit"]), diagnostic.span.end))
    if unit.lower() in _OTHER_UNITS and unit not in WORDS.units:
        return item.diagnostic(
            *found.span("unit"),
            f"'{found['unit']}' is not a unit that is read here",
            f"write parts, a percentage, or a mass in {in_words(WORDS.masses)}",
        )
    return None


def several_amounts(item: ItemLine) -> Diagnostic | None:
    """Amounts side by side, with or without commas between."""
    bare = item.open.rstrip(NOTE + " ,;")
    found = re.search(rf"{BEFORE}(?P<n>{AMOUNT}(?:(?: *[,;] *| +){AMOUNT})+)$", bare)
    name = item.code[item.at : found.start()].strip(" ") if found else ""
    if found is None or not name or name[-1] in ":=|;,-/":
        return None
    amounts = [m.strip(" ") for m in re.findall(rf" *({AMOUNT})", found["n"])]
    parted = re.sub(r" *[,;] *", ", ", found["n"])
    if item.series:
        if re.fullmatch(rf"{AMOUNT}(?:, {AMOUNT})+", parted):
            mark = ";" if ";" in found["n"] else ","
            message = "';' stands between the amounts" if mark == ";" else "a blank stands before the comma"
            return item.diagnostic(*found.span("n"), message, f"write {parted}", parted)
        return item.diagnostic(
            *found.span("n"),
            "amounts stand here without a comma between them",
            f"write {', '.join(amounts)}; a name that ends in a figure stands in double quotes",
        )
    if "," in found["n"] or ";" in found["n"]:
        return item.diagnostic(
            *found.span("n"),
            "several amounts stand here; a line of this block takes one",
            'write them in a block of their own, headed  series "name":',
        )
    quoted = f'"{name} {" ".join(amounts[:-1])}"  {amounts[-1]}'
    if re.fullmatch(r"[1-9][0-9]{0,2}(?: [0-9]{3})+(?:\.[0-9]+)?", found["n"]):
        return item.diagnostic(
            *found.span("n"),
            f"'{found['n']}' may be one number or two",
            f"write {found['n'].replace(' ', '')} for one; a name that ends in a figure stands "
            f"in double quotes, as  {quoted}",
        )
    return item.diagnostic(
        *found.span("n"),
        f"two amounts stand here: {amounts[0]} and {amounts[1]}",
        f"write one of them; a name that ends in a figure stands in double quotes, as  {quoted}",
    )


def amount_first(item: ItemLine) -> Diagnostic | None:
    amount = rf"(?P<n>{FIGURE} *(?:{UNIT}(?![^\W\d_]))?)"
    found = re.match(rf" *(?:[-*] +)?{amount}[ :=-]+(?P<name>[^\W\d_][^0-9\x01\x02]*)$", item.open)
    if found is None:
        return None
    fixed = f"{found['name']}  {found['n'].strip(' ')}"
    return item.diagnostic(
        item.at, item.end, "the amount stands before the material", f"write  {fixed}", fixed
    )


def between(item: ItemLine) -> Diagnostic | None:
    """A sign between the material and its amount."""
    found = re.search(
        rf"(?P<n>[:=|;,]|(?<= )-+(?= )|\.\.+) *(?={AMOUNT}(?:, +{AMOUNT})*[ \x02]*$)", item.open
    )
    if found is None or not re.search(r"[^\W_]|\x01", item.open[: found.start()]):
        return None
    blank = "" if item.open[found.end("n")] == " " else " "
    figure_before = re.search(rf"{BEFORE}{FIGURE}", item.open[: found.start()])
    if figure_before and (found["n"] == "," or not item.reads(*found.span("n"), blank)):
        return None
    if item.series and found["n"] == ",":
        return item.diagnostic(
            *found.span("n"), "an amount is missing before this comma", "write it, or take the comma away"
        )
    return item.diagnostic(
        *found.span("n"),
        f"'{found['n']}' stands between the material and its amount",
        "put only blanks there",
        blank,
    )


def bad_step(item: ItemLine) -> Diagnostic | None:
    """The first piece among the amounts of a series that is none."""
    first = re.search(rf"{BEFORE}{AMOUNT} *,", item.open)
    if first is None or not item.series:
        return None
    at = first.start()
    for piece in item.open[at:].rstrip(NOTE + " ").split(","):
        bare = piece.strip(" ")
        begin = at + len(piece) - len(piece.lstrip(" "))
        if not bare:
            return item.diagnostic(
                at - 1, at, "an amount is missing behind this comma", "write it, or take the comma away"
            )
        if not re.fullmatch(AMOUNT, bare) and NOTE not in bare:
            return item.diagnostic(
                begin, begin + len(bare), f"'{bare}' is not an amount", "write amounts with commas between"
            )
        at += len(piece) + 1
    return None


def behind_amount(item: ItemLine) -> Diagnostic | None:
    """What stands behind the amount, or behind the note, and is neither a unit nor a note."""
    note = re.search(rf"{NOTE} *(?P<rest>[^\s{NOTE}].*)$", item.open)
    amount = re.search(rf"{BEFORE}{AMOUNT}(?= +\S|[^\s\w.])", item.open[item.at + 1 :])
    if note and amount and amount.start() + item.at + 1 < note.start():
        rest = item.code[note.start("rest") : item.end]
        return item.diagnostic(
            note.start("rest"),
            item.end,
            f"'{rest}' stands behind the note",
            "write it inside the brackets, or behind # as a comment",
        )
    if amount is None:
        return None
    at = amount.end() + item.at + 1
    at += len(item.code[at:]) - len(item.code[at:].lstrip(" "))
    rest = item.code[at:]
    if not rest or rest.startswith("(") or not re.match(r"[^\w.]|.*[^\W\d_]", rest):
        return None
    if re.fullmatch(UNIT, rest):
        if re.fullmatch(FIGURE, amount[0].strip(" ")):
            return None  # its own unit: something else of the line cannot be read
        return item.diagnostic(
            at, item.end, f"a second unit stands behind the amount: {rest}", "write one unit"
        )
    marked = re.fullmatch(r'(?://|;|--|-|\||") *(?P<a>[^()"]*[^\W\d_][^()"]*?)"?|\[(?P<b>[^()\]]+)\]', rest)
    text = (marked["a"] or marked["b"]).strip(" ") if marked else rest
    note_there = f"({text})"
    if re.search(rf"{NOTE}", item.open[at:]) or not re.search(r"[^\W\d_]", rest) or "(" in text:
        return item.diagnostic(at, item.end, f"'{rest}' stands behind the amount", "take it away")
    return item.diagnostic(
        at,
        item.end,
        f"'{rest}' stands behind the amount",
        f"put it in round brackets if it is a note: {note_there}",
        note_there if marked else None,
    )


def no_amount(item: ItemLine) -> Diagnostic | None:
    """No figure stands apart on the line."""
    if re.search(r"(?<!\S)\S?[0-9]|(?<!\S)\.[0-9]", item.open[item.at :].lstrip("0123456789.")):
        return None
    held = re.search(rf"[(\"]\s*(?P<n>{AMOUNT})\s*[)\"]$", item.code)
    if held and re.search(r"[^\W\d_]", item.open[: held.start()]):
        return item.diagnostic(
            *held.span(),
            "the amount stands in brackets or quotation marks",
            f"write {held['n'].strip(' ')} without them, if it is the amount",
        )
    fused = re.search(rf"(?P<name>[^\W\d_]){AMOUNT}$", item.open)
    hint = "write how many parts, such as  silica  22; a material that is not used is left out, or is 0"
    if fused:
        hint = "put blanks before the amount, as in  silica  22"
    if re.match(r" *# *[0-9]", item.line[item.end :]):
        name = item.code.strip(" ")
        hint = f'what stands behind # is a comment; a name with # in it is quoted: "{name} #1"  22'
    return item.diagnostic(item.end - 1, item.end, "the amount is missing behind the material", hint)


def no_figure(item: ItemLine) -> Diagnostic | None:
    """A last word that holds a figure, and is no amount."""
    bare = item.open.rstrip(NOTE + " ")
    sign = re.search(rf"(?P<n>%) *{FIGURE}$", bare)
    if sign:
        return item.diagnostic(
            *sign.span("n"), "the sign % stands before the amount", "write it behind, as in  tin oxide  4 %"
        )
    found = re.search(r"(?<!\S)(?P<n>[^\s\w\x01]?[0-9][^\s\x01]*|[^\s\w\x01]+[0-9.]+)$", bare)
    if found and found.start() > item.at and not re.fullmatch(FIGURE, found["n"]):
        return item.diagnostic(
            *found.span("n"), f"'{found['n']}' is not an amount", "write a plain number, such as 22 or 0.5"
        )
    return None
