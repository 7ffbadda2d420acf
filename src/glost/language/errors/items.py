"""Lines of materials: why a name and its amount cannot be read."""

from __future__ import annotations

from glost.language.diagnostics import Diagnostic
from glost.language.errors import item_amounts, item_numbers, item_signs
from glost.language.errors.item_line import ItemLine
from glost.language.errors.lines import Accepts


def bad_item(line: str, start: int, role: str, accepts: Accepts) -> Diagnostic:
    """Why a line under base, additions, a variation or a series cannot be read."""
    item = ItemLine(line, start, role, accepts)
    for told in (
        item_signs.bullet,
        item_signs.fused_comment,
        item_signs.unclosed,
        item_signs.single_quotes,
        item_signs.recipe,
        item_signs.no_material,
        item_numbers.plus,
        item_numbers.fraction,
        item_numbers.bad_number,
        item_numbers.commas,
        item_amounts.trailing_mark,
        item_amounts.unit_spelling,
        item_amounts.several_amounts,
        item_amounts.amount_first,
        item_amounts.between,
        item_amounts.bad_step,
        item_amounts.behind_amount,
        item_amounts.no_amount,
        item_amounts.no_figure,
        item_signs.needs_quotes,
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
