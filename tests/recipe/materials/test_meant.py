"""What a name means: certain, one of several, or called alike; and what is never offered."""

from __future__ import annotations

import itertools
import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glost.recipe.materials.catalogue import Catalogue, LibraryError, Material, key, shipped_catalogue
from glost.recipe.materials.chemical_words import ELEMENTS
from glost.recipe.materials.likely import elements_that_harm, guarded
from glost.recipe.materials.meant import Meaning, meant, question
from glost.recipe.materials.short_words import BY_FORMULA, ELEMENTS_ALONE, MAY_BE
from glost.recipe.materials.slips import distance
from glost.recipe.materials.spelling import texts, without_grade, words

CATALOGUE = shipped_catalogue()
EVERYDAY = Path(__file__).parent / "everyday.txt"
SPELLINGS = [(spelling, one) for one in CATALOGUE for spelling in (one.name, *one.aliases)]


def named(name: str, catalogue: Catalogue = CATALOGUE) -> tuple[str, set[str]]:
    """How a name was taken, and every material that was named for it."""
    found = meant(name, catalogue)
    return found.how, {one.name for one in (found.material, *found.candidates) if one is not None}


# ---- everyday spellings --------------------------------------------------------------------------------


def _everyday() -> Iterator[tuple[str, str, set[str]]]:
    for line in EVERYDAY.read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            match = re.fullmatch(r"(.+) ([=?-])(?: (.+))?", line)
            assert match, line
            yield match[1], match[2], set(match[3].split(", ")) if match[3] else set()


@pytest.mark.parametrize(("written", "sign", "wanted"), list(_everyday()))
def test_everyday_spelling(written: str, sign: str, wanted: set[str]) -> None:
    how, found = named(written)
    certain = CATALOGUE.find(written)
    if sign == "=":
        assert how in ("exact", "spelling")
        assert certain is not None
        assert {certain.name} == found == wanted
    else:
        assert certain is None
        assert how in (("ambiguous", "near") if sign == "?" else ("none",))
        assert wanted <= found


def test_everyday_spellings_are_many_and_each_once() -> None:
    written = [one for one, _, _ in _everyday()]
    assert len(written) > 300
    assert len(written) == len(set(written))


# ---- one spelling, one material ------------------------------------------------------------------------


every_material = pytest.mark.parametrize("material", list(CATALOGUE), ids=[one.name for one in CATALOGUE])


@every_material
def test_words_in_any_order_and_any_writing_never_mean_another(material: Material) -> None:
    for spelling in (material.name, *material.aliases):
        parts = spelling.split()
        orders = list(itertools.permutations(parts))
        if len(orders) > 24:
            orders = [tuple(parts), *random.Random(spelling).sample(orders, 23)]
        for order, join in itertools.product(orders, (" ", "-", ", ", "  ")):
            for write in (str.lower, str.upper, str.title):
                written = write(join.join(order))
                how, found = named(written)
                assert material.name in found, (written, how, found)
                if how in ("exact", "spelling"):
                    assert found == {material.name}, written
                certain = CATALOGUE.find(written)
                assert certain is None or certain.name == material.name, written


@every_material
def test_a_grade_behind_a_name_is_kept_beside_it(material: Material) -> None:
    for spelling in (material.name, *material.aliases):
        for grade in ("325 mesh", "200#", "(-100 mesh)", "powder", "technical", "99.5 %"):
            found = meant(f"{spelling} {grade}", CATALOGUE)
            if spelling.startswith("coarse") and grade in ("powder", "technical"):
                assert material in (found.material, *found.candidates), (
                    spelling
                )  # 'coarse' or 'powder' is the grade
                continue
            assert found.material == material, (spelling, grade)
            if found.how != "exact" and not any(
                without_grade(words(spelling))
            ):  # 'quartz flour' has one already
                assert found.how == "spelling"
                assert found.grade == grade.strip("()"), spelling
            before = meant(f"{grade} {spelling}", CATALOGUE)
            assert before.material in (material, None), (spelling, grade)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("kaolin", "calcined kaolin"),
        ("zinc oxide", "calcined zinc oxide"),
        ("titanium dioxide", "rutile"),
        ("rutile", "granular rutile"),
        ("bone ash", "wood ash"),
        ("wood ash", "washed wood ash"),
        ("black copper oxide", "red copper oxide"),
        ("magnesium carbonate", "magnesite"),
        ("whiting", "quicklime"),
        ("quicklime", "slaked lime"),
        ("borax", "anhydrous borax"),
        ("alumina", "alumina hydrate"),
        ("silica", "fused silica"),
        ("gypsum", "plaster"),
        ("ball clay", "bentonite"),
        ("soda ash", "soda crystals"),
    ],
)
def test_two_jars_stay_two(one: str, other: str) -> None:
    for name in (one, other):
        for written in (f"{name} powder", f"{name}, 200 mesh", " ".join(reversed(name.split()))):
            found = CATALOGUE.find(written)
            assert found is not None
            assert found.name == name


@pytest.mark.parametrize(
    ("written", "never"),
    [
        ("calcined talc", "talc"),
        ("raw alumina", "alumina"),
        ("raw bone ash", "bone ash"),
        ("precipitated silica", "silica"),
        ("fumed silica", "silica"),
        ("copper powder", "black copper oxide"),
        ("CuCO3", "copper carbonate"),
        ("CaSO4", "gypsum"),
        ("CrO3", "chromium oxide"),
        ("washed rice husk ash", "rice husk ash"),
        ("spent alumina", "alumina"),
        ("kaolin silica", "kaolin"),
        ("+ tin oxide", "tin oxide"),
        ("silica/kaolin", "silica"),
        ("silica & flint", "silica"),
        ("tin oxide 5 %", "tin oxide"),
        ("silica 100", "silica"),
        ("silica: 325 mesh", "silica"),
        ("silica and kaolin", "silica"),
        ("zinc oxide, lead free", "litharge"),
    ],
)
def test_what_only_looks_like_it_is_not_taken_for_it(written: str, never: str) -> None:
    found = CATALOGUE.find(written)
    assert found is None or found.name != never


def test_two_entries_with_one_name_are_refused() -> None:
    one = Material("lanthanum oxide", "flux", "common practice")
    with pytest.raises(LibraryError, match="'lanthanum oxide' has two entries"):
        Catalogue([one, one._replace(note="another")])


def test_a_name_that_only_its_words_share_is_refused_with_both() -> None:
    catalogue = Catalogue(
        [
            Material("soda lime frit", "frit", "invented"),
            Material("house frit", "frit", "invented", aliases=("lime soda frit",)),
        ]
    )
    assert named("Soda-lime frit", catalogue) == ("spelling", {"soda lime frit"})
    assert named("frit, soda lime", catalogue) == ("ambiguous", {"soda lime frit", "house frit"})
    assert catalogue.find("frit, soda lime") is None


def test_a_house_s_own_names_go_before_rules_of_spelling() -> None:
    catalogue = CATALOGUE.with_own(
        [
            Material("silica 325 mesh", "silica", "studio"),
            Material("river ash", "ash", "studio", aliases=("ash",)),
            Material("pit clay", "clay", "studio"),
        ]
    )
    assert named("Silica  325 mesh", catalogue) == ("exact", {"silica 325 mesh"})
    assert named("325 mesh silica", catalogue) == ("spelling", {"silica 325 mesh"})
    assert named("silica 200 mesh", catalogue) == ("spelling", {"silica"})
    assert named("ash", catalogue) == ("exact", {"river ash"})
    assert "pit clay" in named("clay", catalogue)[1]
    assert "pit clay" not in named("clay")[1]


# ---- words that may mean several -----------------------------------------------------------------------


@pytest.mark.parametrize("word", list(MAY_BE))
def test_a_short_word_is_no_name_and_lists_what_there_is(word: str) -> None:
    assert CATALOGUE.spelled(word) is None
    assert CATALOGUE.find(word) is None
    found = meant(word, CATALOGUE)
    assert found.how == "ambiguous"
    assert [one.name for one in found.candidates] == list(MAY_BE[word])


@pytest.mark.parametrize("word", list(MAY_BE))
def test_a_short_word_lists_nothing_that_harms_unless_its_element_is_written(word: str) -> None:
    written = _elements(texts(words(word)))
    for one in meant(word, CATALOGUE).candidates:
        if guarded(one):
            assert _elements_of(one) & written, (word, one.name)


def test_no_two_short_words_are_one() -> None:
    read = [" ".join(sorted(texts(words(word)))) for word in MAY_BE]
    assert len(read) == len(set(read))


def test_a_bare_element_is_among_the_short_words() -> None:
    assert {" ".join(texts(words(word))) for word in MAY_BE} >= ELEMENTS_ALONE
    for word in ELEMENTS_ALONE:
        assert CATALOGUE.find(word) is None, word
        found = meant(f"{word} powder", CATALOGUE)
        if found.material is None:
            assert found.how == "none", "that is the metal"
        else:
            record = found.material.composition or {}
            assert record["formula"] in ELEMENTS.values(), "only the metal itself is called so"


def test_formulas_that_stand_for_several_are_all_told() -> None:
    """A composition that several materials share resolves to one that is written down, or is refused."""
    by_formula: dict[str, set[str]] = {}
    for one in CATALOGUE:
        if one.composition and one.composition["kind"] == "formula":
            by_formula.setdefault(one.composition["formula"], set()).add(one.name)
    shared = {formula: names for formula, names in by_formula.items() if len(names) > 1}
    assert shared
    for formula, names in shared.items():
        how, found = named(formula)
        assert found <= names
        assert how == "ambiguous" or (formula in BY_FORMULA and how in ("exact", "spelling"))
        if how == "ambiguous":
            assert found == names


@pytest.mark.parametrize(
    ("written", "offered"),
    [
        # Words of another meaning, which look like a short word of a material with a slip.
        ("kiln wash", []),
        ("kiln shelf grit", []),
        ("sand grit", ["silica sand"]),
        ("hand wash", []),
        ("ball mill", []),
        ("ilmenite gran", ["ilmenite", "granular ilmenite"]),
        ("rutile gran", ["rutile"]),
        # A slip in the word of an element or a kind that begins alike, or in a long word, says what is meant.
        ("zink oxid", ["zinc oxide"]),
        ("tin oxde", ["tin oxide"]),
        ("copper corbonate", ["copper carbonate"]),
        ("bone ahs", ["bone ash"]),
        ("wood aash", ["wood ash"]),
    ],
)
def test_a_word_of_another_meaning_is_no_slip(written: str, offered: list[str]) -> None:
    found = meant(written, shipped_catalogue())
    assert found.how == ("near" if offered else "none")
    names = [material.name for material in found.candidates]
    assert names[: len(offered)] == offered
    assert not [name for name in names if "ash" in name] or "ash" in " ".join(offered)


# ---- what is never offered -----------------------------------------------------------------------------

# Regulation (EC) 1272/2008: acute toxicity and what stands beside it (H300 to H332), mutagenic, carcinogenic, toxic to
# reproduction.
_HARM = re.compile(r"H(30\d|31\d|32\d|33[0-2]|34[01]|35[01]|36[0-2])")
# The words of each element are written here once more, so that a slip in the table of the code is found.
_SAID = {
    "Pb": "lead plumb litharge",
    "As": "arsen",
    "Cd": "cadmium",
    "U": "uran",
    "Se": "selen",
    "Cr": "chrom",
    "Co": "cobalt",
    "Cu": "copper cupr",
    "Ni": "nickel",
    "Mn": "mangan",
    "V": "vanad",
    "Sb": "antimon",
    "Mo": "molybd",
    "Ag": "silver",
    "Ba": "bari baryt",
    "Li": "lithi",
    "B": "bor tetrabor",
    "F": "fluor",
    "Fe": "iron ferr",
    "Sn": "tin stann",
    "Zn": "zinc",
    "Na": "sodium soda disodium tetrasodium",
    "K": "potas",
    "Ca": "calc lime",
    "Al": "alum",
    "Si": "silic",
    "P": "phosph",
}


def _elements(said: list[str]) -> set[str]:
    bare = [re.sub(r"^(di|tri|tetra|penta|bi)(?=[a-z]{5})", "", word) for word in said]
    return {
        symbol
        for symbol, stems in _SAID.items()
        if any(_says(word, stem) for word in (*said, *bare) for stem in stems.split())
    }


def _says(word: str, stem: str) -> bool:
    return word.startswith(stem) or (len(stem) > 3 and stem in word)


def _elements_of(material: Material) -> set[str]:
    said = [word for spelling in (material.name, *material.aliases) for word in texts(words(spelling))]
    return _elements(said)


def _near_its_own_name(written: list[str], material: Material) -> bool:
    """Whether each telling word of one of its spellings stands there, but for one slip."""
    return any(
        all(
            min((distance(word, one, 1) for one in written), default=9) <= 1
            for word in texts(words(spelling))
        )
        for spelling in (material.name, *material.aliases)
    )


def _check_harmless(written: str) -> None:
    found = meant(written, CATALOGUE)
    if found.how in ("exact", "spelling"):
        return
    said = texts(words(written))
    for one in found.candidates:
        # Neither the quartz that a clay carries nor what a committee holds makes it a poison that nobody meant.
        codes = [
            code
            for hazard in one.hazards
            if not hazard.carried and hazard.basis != "opinion"
            for code in hazard.statements
        ]
        if not (one.restricted or any(_HARM.match(code) for code in codes)):
            continue
        assert guarded(one)
        held = _elements_of(one)
        slips = [word for word in said for stems in _SAID.values() for s in stems.split() if _slip(word, s)]
        harmless: object = held & _elements(said)
        if not one.restricted:
            harmless = harmless or slips or _near_its_own_name(said, one)
        assert harmless, (written, one.name)


def _slip(word: str, stem: str) -> bool:
    return len(stem) > 3 and any(
        distance(word[:size], stem, 1) <= 1 for size in (len(stem) - 1, len(stem), len(stem) + 1)
    )


@pytest.mark.parametrize(
    "written",
    [
        "titanium",
        "limestone dust",
        "lithia",
        "white glue",
        "sodium alginat",
        "iron oxide",
        "iron oxide x",
        "blue stain",
        "blue stone",
        "yellow stain",
        "red stain",
        "orange stain",
        "silver carbonate",
        "sodium borat",
        "potassium bicarbonate",
        "potassium hydroxide",
        "potassium permanganate",
        "white",
        "white lime",
        "yellow",
        "red",
        "red leaf",
        "minimum",
        "cerise",
        "galena glaze",
        "lithage",
        "mystery powder",
        "green vitrol",
        "heavy sand",
        "quarry dust",
        "manganite",
        "magnesia frit",
        "titanate",
        "molochite",
        "molochite 120 mesh",
        "massecat",
    ],
)
def test_nothing_that_harms_is_offered_for_the_look_of_its_letters(written: str) -> None:
    _check_harmless(written)
    found = meant(written, CATALOGUE)
    restricted = {one.restricted for one in found.candidates} - {""}
    assert not restricted, (written, restricted)


_WORDS = sorted({word for spelling, _ in SPELLINGS for word in spelling.split()})
_OTHERS = [
    "house",
    "glue",
    "hill",
    "blue",
    "dust",
    "new",
    "sodium",
    "iron",
    "titanium",
    "zirconium",
    "frit",
    "x",
]


@settings(deadline=None)
@given(st.lists(st.sampled_from(_WORDS + _OTHERS * 8), min_size=1, max_size=4).map(" ".join))
def test_no_words_of_names_bring_up_what_harms_without_its_element(written: str) -> None:
    _check_harmless(written)


@settings(deadline=None)
@given(
    st.sampled_from([spelling for spelling, _ in SPELLINGS if len(spelling) > 5]),
    st.integers(0, 100),
    st.sampled_from("aeioutnrsl"),
)
def test_a_slip_of_the_pen_never_brings_up_what_harms(spelling: str, at: int, letter: str) -> None:
    at %= len(spelling)
    for written in (spelling[:at] + letter + spelling[at:], spelling[:at] + spelling[at + 1 :]):
        _check_harmless(written)


@settings(deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_answered(text: str) -> None:
    found = meant(text, CATALOGUE)
    assert (found.material is not None) == (found.how in ("exact", "spelling"))
    assert bool(found.candidates) == (found.how in ("ambiguous", "near"))
    certain = CATALOGUE.find(text)
    assert certain == found.material
    assert found.grade == "" or found.grade in text or " " in found.grade


def test_elements_that_harm_are_those_that_few_materials_hold() -> None:
    assert elements_that_harm([["copper", "sulfate"]]) == {"Cu"}
    assert elements_that_harm([["zinc", "borate"]]) == {"Zn", "B"}
    assert elements_that_harm([["calcium", "oxide"]]) == {"Ca"}
    assert elements_that_harm([["blue", "vitriol"]]) == frozenset()


# ---- in a message --------------------------------------------------------------------------------------


def test_what_a_message_asks() -> None:
    assert question(meant("tin", CATALOGUE)) == "which is meant: tin oxide (SnO2)?"
    assert question(meant("copper oxide", CATALOGUE)) == (
        "which is meant: black copper oxide (CuO) or red copper oxide (Cu2O)?"
    )
    assert question(meant("lead oxide", CATALOGUE), quoted=True) == (
        "which is meant: 'litharge' (PbO, restricted: lead) or 'red lead' (Pb3O4, restricted: lead)?"
    )
    assert question(meant("wolastonite", CATALOGUE)) == "did you mean wollastonite?"
    assert question(meant("moonlight", CATALOGUE)) == ""
    assert question(Meaning("none")) == ""
    many = question(meant("lead", CATALOGUE))
    assert many.count("restricted: lead") == 6
    assert many.endswith("or 1 more?")


def test_no_label_of_the_catalogue_is_of_one_place_only() -> None:
    districts = re.compile(r"\b(pala|zettlitz|r\u00f6rstrand|carrara)\b")
    for spelling, _ in SPELLINGS:
        assert not districts.search(key(spelling)), spelling


@pytest.mark.parametrize(
    "written", ["¼%", "silica ¼ mesh", "silica ٣٢٥", "²", "silica²", "# %", "mesh", "325 mesh", "-,()"]
)
def test_odd_figures_and_signs_mean_nothing(written: str) -> None:
    assert CATALOGUE.find(written) is None
