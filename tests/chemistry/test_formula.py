"""Reading chemical formulas."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.recipe.materials.elements import ATOMIC_WEIGHTS
from glost.recipe.materials.formula import DEEPEST, FormulaError, atoms


def _counts(**counts: str) -> dict[str, Decimal]:
    return {element: Decimal(count) for element, count in counts.items()}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("SiO2", _counts(Si="1", O="2")),
        ("Al2Si2O5(OH)4", _counts(Al="2", Si="2", O="9", H="4")),
        ("Na2B4O7·10H2O", _counts(Na="2", B="4", O="17", H="20")),
        ("CaMg(CO3)2", _counts(Ca="1", Mg="1", C="2", O="6")),
        ("4MgCO3·Mg(OH)2·4H2O", _counts(Mg="5", C="4", O="18", H="10")),
        ("CaSO4·0.5H2O", _counts(Ca="1", S="1", O="4.5", H="1")),
        ("0.5Na2O·0.5CaO·2.5SiO2·0.5B2O3", _counts(Na="1", O="7.5", Ca="0.5", Si="2.5", B="1")),
        ("K2Li3Al5Si6O20F4", _counts(K="2", Li="3", Al="5", Si="6", O="20", F="4")),
        ("Ca10(PO4)6(OH)2", _counts(Ca="10", P="6", O="26", H="2")),
        ("Co", _counts(Co="1")),
        ("CO", _counts(C="1", O="1")),
        (".5SiO2", _counts(Si="0.5", O="1")),
        ("((Si)2O4)3", _counts(Si="6", O="12")),
    ],
)
def test_counts_of_atoms(text: str, expected: dict[str, Decimal]) -> None:
    assert atoms(text) == expected


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "empty"),
        ("·SiO2", "missing beside '·'"),
        ("CaSO4·", "missing beside '·'"),
        ("CaSO4.2H2O", "character 6: '.' cannot stand here; parts are divided by '·'"),
        ("Li1.5AlO2", "character 4: '.' cannot stand here"),
        ("Al2[SiO5]", "write round brackets"),
        ("Al₂O₃", "write counts in plain figures"),
        ("Xy2O", "'Xy' is no element"),
        ("sio2", "character 1: 's' cannot stand here"),
        ("Si O2", "' ' cannot stand here"),
        ("Al2(OH", "character 4: a bracket is not closed"),
        ("AlOH)3", "closed that was not opened"),
        ("Al()3", "holds nothing"),
        ("2", "stands before nothing"),
        ("CaO·3", "stands before nothing"),
        ("0CaO", "coefficient of 0"),
        ("CaO0", "count of 0"),
        ("Ca-1O", "'-' cannot stand here"),
        ("1e9CaO", "'e' cannot stand here"),
        ("Ca1234567O", "'7' cannot stand here"),
        ("(" * (DEEPEST + 1) + "O" + ")" * (DEEPEST + 1), "brackets stand inside each other"),
        ("O" * 201, "201 characters"),
    ],
)
def test_what_is_no_formula(text: str, why: str) -> None:
    with pytest.raises(FormulaError) as refused:
        atoms(text)
    assert why in str(refused.value)


@given(st.text(alphabet="CaSiO()·0123456789. ₂", max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        found = atoms(text)
    except FormulaError:
        return
    assert found
    assert all(count > 0 for count in found.values())


@given(
    st.lists(
        st.tuples(
            st.integers(1, 99),
            st.lists(
                st.tuples(st.sampled_from(sorted(ATOMIC_WEIGHTS)), st.integers(1, 99)), min_size=1, max_size=5
            ),
        ),
        min_size=1,
        max_size=4,
    )
)
def test_what_is_written_is_what_is_counted(parts: list[tuple[int, list[tuple[str, int]]]]) -> None:
    expected: dict[str, Decimal] = {}
    for factor, items in parts:
        for element, count in items:
            expected[element] = expected.get(element, Decimal(0)) + factor * count
    text = "·".join(f"{factor}" + "".join(f"{e}{n}" for e, n in items) for factor, items in parts)
    assert atoms(text) == expected
