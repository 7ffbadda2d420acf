"""Lines of materials: why a name and its amount cannot be read."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, TypeAlias

from glost.language.diagnostics import Diagnostic
from glost.language.errors.lines import SERIES_ROLES, Accepts, code_part
from glost.language.nearest import nearest
from glost.language.source import Edit, Span
from glost.language.tables import in_words, lexicon
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


_WORDS = lexicon()
_FIGURE = _WORDS.number
_UNIT = _WORDS.unit
_AMOUNT = rf"{_FIGURE} *{_UNIT}?"
_QUOTED, _NOTE = "\x01", "\x02"


class _ItemLine:
    """A line of materials that cannot be read, taken apart. ``code`` is the line up to its comment; ``open``
    is that with quoted names and notes blotted out, so that what stands inside them misleads no search."""

    def __init__(self, line: str, start: int, role: str, accepts: Accepts) -> None:
        self.line = line
        self.role = role
        self.code = code_part(line).rstrip(" ")
        self.at = len(line) - len(line.lstrip(" "))
        self.end = len(self.code)
        blotted = re.sub(r'"[^"]*"', lambda m: _QUOTED * len(m[0]), self.code)
        self.open = re.sub(r"\([^()]*\)", lambda m: _NOTE * len(m[0]), blotted)
        self.blotted = blotted
        self._start = start
        self._accepts = accepts

    def diagnostic(
        self, at: int, end: int, message: str, hint: str, becomes: str | None = None
    ) -> Diagnostic:
        """``becomes`` is what to put there; it is offered where the line then reads, if need be with the unit behind it
        in its own spelling."""
        edits: tuple[Edit, ...] = ()
        for last, put in self._with_unit(end, becomes) if becomes is not None else ():
            if self.reads(at, last, put):
                edits = (Edit(Span(self._start + at, self._start + last), put),)
                if not self.line.startswith(" "):
                    edits = (Edit(Span(self._start, self._start), "    "), *edits)
                break
        return Diagnostic(Span(self._start + at, self._start + end), message, hint, edits)

    def _with_unit(self, end: int, becomes: str) -> Iterator[tuple[int, str]]:
        """Where a text ends that is put in up to ``end``, and the text: by itself, and with the unit that follows."""
        yield end, becomes
        unit = re.match(r" *(?P<unit>[A-Za-z]+)\.?(?![^\s,])", self.open[end:])
        right = unit_meant(unit["unit"]) if unit else None
        if unit and right is not None:
            yield end + unit.end(), f"{becomes} {right}".rstrip()

    def reads(self, at: int, end: int, becomes: str) -> bool:
        line = self.line[:at] + becomes + self.line[end:]
        return self._accepts(line if line.startswith(" ") else "    " + line, self.role) is not None

    @property
    def series(self) -> bool:
        return self.role in SERIES_ROLES


def bad_item(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic:
    """Why a line under base, additions, a variation or a series cannot be read."""
    item = _ItemLine(line, start, role, accepts)
    for told in (
        _bullet,
        _fused_comment,
        _unclosed,
        _single_quotes,
        _recipe,
        _no_material,
        _plus,
        _fraction,
        _bad_number,
        _commas,
        _trailing_mark,
        _unit_spelling,
        _several_amounts,
        _amount_first,
        _between,
        _bad_step,
        _behind_amount,
        _no_amount,
        _no_figure,
        _needs_quotes,
    ):
        diagnostic = told(item)
        if diagnostic is not None:
            return diagnostic
    return item.diagnostic(
        item.at,
        item.end,
        "this line cannot be read",
        "write the material, its amount, and if need be a unit and a (note):  tin oxide  4 %  (sifted)",
    )


def _bullet(item: _ItemLine) -> Diagnostic | None:
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


def _fused_comment(item: _ItemLine) -> Diagnostic | None:
    found = re.search(rf"(?:(?<!\S){_AMOUNT}|{_NOTE})(?P<n>#)", item.open)
    if found is None:
        return None
    return item.diagnostic(
        found.start("n"),
        found.end("n"),
        "a comment begins with a blank before its #",
        "put a blank there",
        " #",
    )


def _unclosed(item: _ItemLine) -> Diagnostic | None:
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


def _single_quotes(item: _ItemLine) -> Diagnostic | None:
    found = re.match(r" *(?P<n>['`](?P<name>[^'\"`]+)['`])(?= )", item.code)
    if found is None:
        return None
    return item.diagnostic(
        *found.span("n"),
        "a name is quoted with the double mark",
        f'write  "{found["name"]}"',
        f'"{found["name"]}"',
    )


def _recipe(item: _ItemLine) -> Diagnostic | None:
    """A recipe as an ingredient, its kind not written as it is read."""
    found = re.match(r' *(?P<n>(?P<kind>[A-Za-z]+)(?P<gap>[ :=-]*)(?P<name>"[^"]+"))(?!\S)', item.code)
    if found is None:
        return None
    kind, lower = found["kind"], found["kind"].lower()
    near = [lower] if lower in _WORDS.kinds else nearest(lower, _WORDS.kinds, 1)
    if not near and not re.match(rf" +{_AMOUNT}(?!\S)", item.open[found.end() :]):
        return None
    if not near:
        return item.diagnostic(
            *found.span("kind"),
            f"'{kind}' is not a kind of recipe",
            f"a recipe as an ingredient is written as its first line has it (the kinds are "
            f"{', '.join(_WORDS.kinds)}); a name of a material is quoted as a whole",
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


def _no_material(item: _ItemLine) -> Diagnostic | None:
    if not re.search(rf"[^\W_]|{_QUOTED}", item.open):
        return item.diagnostic(
            item.at,
            item.end,
            "no material and no amount stand here",
            "write the material and its amount, such as  silica  22",
        )
    if re.fullmatch(rf" *{_AMOUNT} *{_NOTE}*", item.open):
        return item.diagnostic(
            item.at,
            item.end,
            "the material is missing before the amount",
            "write the material and its amount, such as  silica  22",
        )
    if re.fullmatch(rf" *{_AMOUNT}(?:[, ]+{_AMOUNT})+ *{_NOTE}*", item.open):
        return item.diagnostic(
            item.at,
            item.end,
            "only amounts stand here, and no material",
            "write the material before its amount; a name in figures stands in double quotes",
        )
    return None


def _decimal_of(value: Fraction) -> str | None:
    """The fraction in as many decimals as are read, where that is exact."""
    text = f"{Decimal(value.numerator) / Decimal(value.denominator):f}"
    return text if len(text.partition(".")[2]) <= _WORDS.decimals and Fraction(text) == value else None


def _in_full(found: re.Match[str]) -> str | None:
    power = int(re.split("[eE]", found["n"])[1])
    return f"{Decimal(found['n']):f}" if abs(power) <= 9 and found["n"].count(".") <= 1 else None


_BEFORE = r"(?<!\S)"
_AFTER = rf"(?=[\s%,;\x02]|{_WORDS.mass}\b|$)"
_Becomes: TypeAlias = Callable[[re.Match[str]], str | None]


class _NumberAccident(NamedTuple):
    """A way to write a number that is none here. ``becomes`` gives the plain number, where there is one, which then
    stands in ``with_number``; ``sure`` says whether that is the only reading of it."""

    pattern: re.Pattern[str]
    message: str
    hint: str
    becomes: _Becomes | None = None
    sure: bool = True
    with_number: str = "write {}"


_NUMBERS = tuple(
    _NumberAccident(re.compile(_BEFORE + rf"(?P<n>{pattern})" + _AFTER), *rest)
    for pattern, *rest in (
        (
            r"[+-]?(?i:nan|infinity|inf)(?=\s*(?:$|[%,(\x02]))",
            "'{0}' is not an amount",
            "write a number of parts, such as 22",
        ),
        (
            rf"{_FIGURE} ?-+ ?{_FIGURE}|{_FIGURE} ?\.\.+ ?{_FIGURE}",
            "'{0}' is a range, and a line takes one amount",
            "write one amount, or the amounts of a series with commas between",
        ),
        (r"-[0-9.]+", "'{0}' is a negative amount", "write an amount of 0 or more"),
        (
            r"[0-9]+(?:\.[0-9]*)?[eE][+-]?[0-9]{1,4}",
            "'{0}' is written with an exponent",
            "write the number in full",
            _in_full,
            False,
            "write the number in full: {}",
        ),
        (
            r"[0-9]+(?:[_'][0-9]+)+(?:\.[0-9]+)?",
            "'{0}' has a sign between its figures",
            "write a plain number",
            lambda m: m["n"].replace("_", "").replace("'", ""),
        ),
        (
            r"[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+",
            "'{0}' has a comma between its thousands",
            "write a plain number",
            lambda m: m["n"].replace(",", ""),
        ),
        (
            r"[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+",
            "'{0}' has a point between its thousands and a decimal comma",
            "write a plain number",
            lambda m: m["n"].replace(".", "").replace(",", "."),
        ),
        (r"[0-9]+(?:\.[0-9]*){2,}", "'{0}' has two decimal points", "write one number, such as 12.5"),
        (r"[0-9]+\.", "'{0}' ends in a decimal point", "write a plain number", lambda m: m["n"][:-1]),
        (
            rf"[0-9]{{{_WORDS.figures + 1},}}(?:\.[0-9]*)?|[0-9]*\.[0-9]{{{_WORDS.decimals + 1},}}",
            "this number has too many figures",
            f"write at most {_WORDS.figures} figures before the point and {_WORDS.decimals} behind it",
        ),
    )
)


def _bad_number(item: _ItemLine) -> Diagnostic | None:
    """A number that is not written as a plain decimal."""
    for accident in _NUMBERS:
        found = accident.pattern.search(item.open)
        if found:
            plain = accident.becomes(found) if accident.becomes else None
            return item.diagnostic(
                *found.span("n"),
                accident.message.format(found["n"]),
                accident.hint if plain is None else accident.with_number.format(plain),
                plain if accident.sure else None,
            )
    return None


_SIXTEENTHS = frozenset((2, 4, 8, 16))
_WITH_FRACTION = re.compile(
    _BEFORE
    + rf"(?P<n>(?P<whole>[0-9]{{1,{_WORDS.figures}}}(?P<gap> *))??"
    + r"(?:(?P<above>[0-9]{1,4})/(?P<below>[0-9]{1,4})|(?P<sign>[\u00bc-\u00be\u2150-\u215e])))"
    + _AFTER
)


def _fraction(item: _ItemLine) -> Diagnostic | None:
    """A number with a fraction. A whole number beside it may belong to the name, and 2/4 may be 2 or 4."""
    found = _WITH_FRACTION.search(item.open)
    if found is None or (found["above"] and found["whole"] and not found["gap"]):
        return None
    if found["sign"]:
        part = Fraction(unicodedata.numeric(found["sign"])).limit_denominator(10)
    else:
        part = Fraction(int(found["above"]), int(found["below"])) if int(found["below"]) else Fraction(-1)
    plain = _decimal_of(int(found["whole"] or 0) + part) if part >= 0 else None
    written, span = found["n"], found.span("n")
    message = f"'{written}' is a fraction"
    if plain is None:
        return item.diagnostic(*span, message, "write it as a decimal, such as 0.5")
    if found["gap"]:
        whole = found["whole"].strip(" ")
        hint = f"write {plain}; where {whole} ends the name, put the name in double quotes"
        return item.diagnostic(*span, message, hint)
    if found["sign"] or (part < 1 and int(found["below"]) in _SIXTEENTHS and int(found["above"]) % 2):
        return item.diagnostic(*span, message, f"write {plain}", plain)
    return item.diagnostic(
        *span,
        f"'{written}' may be a fraction, or {found['above']} or {found['below']}",
        f"write {plain} if it is the fraction, else the one amount that is meant",
    )


def _plus(item: _ItemLine) -> Diagnostic | None:
    """A plus sign before the amount. Among the additions it can only mean that this much is added."""
    found = re.search(rf"{_BEFORE}(?P<n>\+ ?(?P<amount>[0-9.]+)){_AFTER}", item.open)
    if found is None:
        return None
    amount = found["amount"]
    hint = {
        "additions": f"write {amount}",
        "base": f"write {amount} if it is part of the base; what is added to it stands below  additions:",
    }.get(
        item.role,
        f"write {amount} if the test has so much of it; {amount} more than elsewhere is written as the sum",
    )
    sure = amount if item.role == "additions" else None
    return item.diagnostic(*found.span("n"), f"'{found['n']}' carries a plus sign", hint, sure)


def _commas(item: _ItemLine) -> Diagnostic | None:
    """A comma inside a number: a decimal comma, one between thousands, or one between two amounts."""
    found = re.search(rf"{_BEFORE}(?P<n>[0-9.]*(?:,[0-9.]+)+){_AFTER}", item.open)
    if found is None:
        return None
    written = found["n"]
    left, *others = written.split(",")
    if len(others) > 1:
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be one amount or several",
            f"write {', '.join([left, *others])} for several amounts of a series"
            if item.series
            else "write one amount, with a decimal point and no sign between thousands",
        )
    right = others[0]
    if not left and item.series:
        return None
    if not left:
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be 0.{right}, or {right} behind a comma",
            f"write 0.{right}, or {right} with only blanks before it",
        )
    if item.series:
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be one amount or two",
            f"write {left}.{right} for one amount, or {left}, {right} with a blank for two",
        )
    if "." in left or "." in right:
        return item.diagnostic(
            *found.span("n"), f"'{written}' is not an amount", "write a number of parts, such as 22.5"
        )
    if len(right) == 3 and left.strip("0"):
        return item.diagnostic(
            *found.span("n"),
            f"'{written}' may be {left}.{right} or {left}{right}",
            "write a decimal point, and no sign between thousands",
        )
    return item.diagnostic(
        *found.span("n"), f"'{written}' has a decimal comma", f"write {left}.{right}", f"{left}.{right}"
    )


def _trailing_mark(item: _ItemLine) -> Diagnostic | None:
    found = re.search(rf"(?:[0-9%a-z]|{_NOTE}) *(?P<n>[,;.:]+)$", item.open)
    if found and item.reads(found.start("n"), found.end("n"), ""):
        return item.diagnostic(
            *found.span("n"), f"'{found['n']}' stands at the end of this line", "take it away", ""
        )
    return None


def _unit_spelling(item: _ItemLine) -> Diagnostic | None:
    found = re.search(rf"{_BEFORE}(?P<n>{_FIGURE}) *(?P<unit>[A-Za-z]+\.?)(?= *(?:,|{_NOTE}|$))", item.open)
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
    if unit.lower() in _OTHER_UNITS and unit not in _WORDS.units:
        return item.diagnostic(
            *found.span("unit"),
            f"'{found['unit']}' is not a unit that is read here",
            f"write parts, a percentage, or a mass in {in_words(_WORDS.masses)}",
        )
    return None


def _several_amounts(item: _ItemLine) -> Diagnostic | None:
    """Amounts side by side, with or without commas between."""
    bare = item.open.rstrip(_NOTE + " ,;")
    found = re.search(rf"{_BEFORE}(?P<n>{_AMOUNT}(?:(?: *[,;] *| +){_AMOUNT})+)$", bare)
    name = item.code[item.at : found.start()].strip(" ") if found else ""
    if found is None or not name or name[-1] in ":=|;,-/":
        return None
    amounts = [m.strip(" ") for m in re.findall(rf" *({_AMOUNT})", found["n"])]
    parted = re.sub(r" *[,;] *", ", ", found["n"])
    if item.series:
        if re.fullmatch(rf"{_AMOUNT}(?:, {_AMOUNT})+", parted):
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


def _amount_first(item: _ItemLine) -> Diagnostic | None:
    amount = rf"(?P<n>{_FIGURE} *(?:{_UNIT}(?![^\W\d_]))?)"
    found = re.match(rf" *(?:[-*] +)?{amount}[ :=-]+(?P<name>[^\W\d_][^0-9\x01\x02]*)$", item.open)
    if found is None:
        return None
    fixed = f"{found['name']}  {found['n'].strip(' ')}"
    return item.diagnostic(
        item.at, item.end, "the amount stands before the material", f"write  {fixed}", fixed
    )


def _between(item: _ItemLine) -> Diagnostic | None:
    """A sign between the material and its amount."""
    found = re.search(
        rf"(?P<n>[:=|;,]|(?<= )-+(?= )|\.\.+) *(?={_AMOUNT}(?:, +{_AMOUNT})*[ \x02]*$)", item.open
    )
    if found is None or not re.search(r"[^\W_]|\x01", item.open[: found.start()]):
        return None
    blank = "" if item.open[found.end("n")] == " " else " "
    figure_before = re.search(rf"{_BEFORE}{_FIGURE}", item.open[: found.start()])
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


def _bad_step(item: _ItemLine) -> Diagnostic | None:
    """The first piece among the amounts of a series that is none."""
    first = re.search(rf"{_BEFORE}{_AMOUNT} *,", item.open)
    if first is None or not item.series:
        return None
    at = first.start()
    for piece in item.open[at:].rstrip(_NOTE + " ").split(","):
        bare = piece.strip(" ")
        begin = at + len(piece) - len(piece.lstrip(" "))
        if not bare:
            return item.diagnostic(
                at - 1, at, "an amount is missing behind this comma", "write it, or take the comma away"
            )
        if not re.fullmatch(_AMOUNT, bare) and _NOTE not in bare:
            return item.diagnostic(
                begin, begin + len(bare), f"'{bare}' is not an amount", "write amounts with commas between"
            )
        at += len(piece) + 1
    return None


def _behind_amount(item: _ItemLine) -> Diagnostic | None:
    """What stands behind the amount, or behind the note, and is neither a unit nor a note."""
    note = re.search(rf"{_NOTE} *(?P<rest>[^\s{_NOTE}].*)$", item.open)
    amount = re.search(rf"{_BEFORE}{_AMOUNT}(?= +\S|[^\s\w.])", item.open[item.at + 1 :])
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
    if re.fullmatch(_UNIT, rest):
        if re.fullmatch(_FIGURE, amount[0].strip(" ")):
            return None  # its own unit: something else of the line cannot be read
        return item.diagnostic(
            at, item.end, f"a second unit stands behind the amount: {rest}", "write one unit"
        )
    marked = re.fullmatch(r'(?://|;|--|-|\||") *(?P<a>[^()"]*[^\W\d_][^()"]*?)"?|\[(?P<b>[^()\]]+)\]', rest)
    text = (marked["a"] or marked["b"]).strip(" ") if marked else rest
    note_there = f"({text})"
    if re.search(rf"{_NOTE}", item.open[at:]) or not re.search(r"[^\W\d_]", rest) or "(" in text:
        return item.diagnostic(at, item.end, f"'{rest}' stands behind the amount", "take it away")
    return item.diagnostic(
        at,
        item.end,
        f"'{rest}' stands behind the amount",
        f"put it in round brackets if it is a note: {note_there}",
        note_there if marked else None,
    )


def _no_amount(item: _ItemLine) -> Diagnostic | None:
    """No figure stands apart on the line."""
    if re.search(r"(?<!\S)\S?[0-9]|(?<!\S)\.[0-9]", item.open[item.at :].lstrip("0123456789.")):
        return None
    held = re.search(rf"[(\"]\s*(?P<n>{_AMOUNT})\s*[)\"]$", item.code)
    if held and re.search(r"[^\W\d_]", item.open[: held.start()]):
        return item.diagnostic(
            *held.span(),
            "the amount stands in brackets or quotation marks",
            f"write {held['n'].strip(' ')} without them, if it is the amount",
        )
    fused = re.search(rf"(?P<name>[^\W\d_]){_AMOUNT}$", item.open)
    hint = "write how many parts, such as  silica  22; a material that is not used is left out, or is 0"
    if fused:
        hint = "put blanks before the amount, as in  silica  22"
    if re.match(r" *# *[0-9]", item.line[item.end :]):
        name = item.code.strip(" ")
        hint = f'what stands behind # is a comment; a name with # in it is quoted: "{name} #1"  22'
    return item.diagnostic(item.end - 1, item.end, "the amount is missing behind the material", hint)


def _no_figure(item: _ItemLine) -> Diagnostic | None:
    """A last word that holds a figure, and is no amount."""
    bare = item.open.rstrip(_NOTE + " ")
    sign = re.search(rf"(?P<n>%) *{_FIGURE}$", bare)
    if sign:
        return item.diagnostic(
            *sign.span("n"), "the sign % stands before the amount", "write it behind, as in  tin oxide  4 %"
        )
    found = re.search(r"(?<!\S)(?P<n>[^\s\w\x01]?[0-9][^\s\x01]*|[^\s\w\x01]+[0-9.]+)$", bare)
    if found and found.start() > item.at and not re.fullmatch(_FIGURE, found["n"]):
        return item.diagnostic(
            *found.span("n"), f"'{found['n']}' is not an amount", "write a plain number, such as 22 or 0.5"
        )
    return None


def _needs_quotes(item: _ItemLine) -> Diagnostic | None:
    found = re.match(rf" *(?P<name>[^\"]*?[^\s\"]) +{_AMOUNT} *(?:\([^()]*\))?$", item.code)
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
    if not signs or re.search(rf"{_BEFORE}{_FIGURE}(?!\S)", name):
        return None
    return item.diagnostic(
        *found.span("name"),
        f"the name '{name}' holds '{signs[0]}', which has a meaning on this line",
        f'put the name in double quotes: "{name}"',
        f'"{name}"',
    )
