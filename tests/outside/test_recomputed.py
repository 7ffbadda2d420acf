"""What the commands print, worked out again: every figure of random recipes with a general library of molar masses and
the factors as they are published, masses and rescues in exact fractions. Nothing of glost's own arithmetic is used."""

from __future__ import annotations

import itertools
import json
import random
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from molmass import Formula
from tests.conftest import Run

import glost.chemistry.additive as additive_module
import glost.recipe.materials.catalogue as catalogue_module

_MATERIALS = Path(catalogue_module.__file__).parent / "data"
_FACTORS = Path(additive_module.__file__).parent / "data"
_RECORDS: dict[str, dict[str, Any]] = {
    entry["name"]: entry["composition"]
    for path in sorted(_MATERIALS.glob("*.json"))
    for entry in json.loads(path.read_text("utf-8"))["materials"]
}
_STAYS = {
    "Li": "Li2O", "Na": "Na2O", "K": "K2O", "Mg": "MgO", "Ca": "CaO", "Sr": "SrO", "Ba": "BaO", "Zn": "ZnO",
    "Pb": "PbO", "Al": "Al2O3", "B": "B2O3", "Si": "SiO2", "Ti": "TiO2", "Zr": "ZrO2", "Sn": "SnO2", "P": "P2O5",
    "Fe": "Fe2O3", "Co": "CoO", "Cu": "CuO", "Mn": "MnO", "Rb": "Rb2O", "Cr": "Cr2O3", "V": "V2O5",
}  # fmt: skip
_FLUXES = ("Li2O", "Na2O", "K2O", "Rb2O", "MgO", "CaO", "SrO", "BaO", "ZnO", "PbO")
_ALKALIS = ("Li2O", "Na2O", "K2O")
_GONE = {"H", "C", "O"}

Grams = Mapping[str, float]
"""Grams of each oxide that stays of 100 g."""
_PLAIN = (
    "talc",
    "zinc oxide",
    "barium carbonate",
    "wollastonite",
    "lead bisilicate frit",
    "calcium borate frit",
)
_OF_GLAZES = (
    *_PLAIN, "lithium carbonate", "strontium carbonate", "red iron oxide", "bone ash", "nepheline syenite",
    "spodumene", "titanium dioxide",
)  # fmt: skip


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@cache
def _mass(formula: str) -> float:
    return sum(number * Formula(part).mass for number, part in _parts(formula))


def _parts(formula: str) -> Iterator[tuple[float, str]]:
    """The parts of a formula with a raised dot, as the library reads them, each with its number."""
    for part in formula.split("·"):
        figures = "".join(itertools.takewhile(lambda sign: sign.isdigit() or sign == ".", part))
        yield float(figures or 1), part[len(figures) :]


@cache
def _elements(formula: str) -> dict[str, float]:
    counts: dict[str, float] = {}
    for number, part in _parts(formula):
        for symbol, item in Formula(part).composition().items():
            counts[symbol] = counts.get(symbol, 0) + number * item.count
    return counts


def _of_formula(formula: str) -> Grams:
    found: dict[str, float] = {}
    for element, count in _elements(formula).items():
        if element in _GONE:
            continue
        oxide = _STAYS[element]
        each = _elements(oxide)[element]
        found[oxide] = found.get(oxide, 0) + 100 * count / each * _mass(oxide) / _mass(formula)
    return found


def _of_analysis(oxides: Mapping[str, str]) -> Grams:
    found: dict[str, float] = {}
    for oxide, percent in oxides.items():
        (element,) = set(_elements(oxide)) - {"O"}
        stays = _STAYS[element]
        factor = _mass(stays) / _elements(stays)[element] / (_mass(oxide) / _elements(oxide)[element])
        found[stays] = found.get(stays, 0) + float(percent) * factor
    return found


def _readable(record: Mapping[str, Any]) -> bool:
    try:
        return bool(_of_record(record)) and all(
            _of_analysis(one["oxides"]) for one in record.get("bracket", ())
        )
    except (ValueError, KeyError):
        return False


def _of_record(record: Mapping[str, Any]) -> Grams:
    if record["kind"] == "formula":
        return _of_formula(record["formula"])
    return _of_analysis(record["oxides"]) if record["kind"] == "analysis" else {}


_USED = sorted(name for name, record in _RECORDS.items() if _readable(record))
_SINGLE = [name for name in _USED if not _RECORDS[name].get("bracket") and not _RECORDS[name].get("invented")]


def _random_recipes(
    count: int, seed: str, least: int, most: int, pool: Sequence[str]
) -> Iterator[dict[str, int]]:
    """Glazes of materials of the catalogue, each with feldspar or whiting among them, so that there is a flux."""
    luck = random.Random(seed)
    for _ in range(count):
        names = dict.fromkeys([luck.choice(["potash feldspar", "whiting", "soda feldspar", "dolomite"])])
        size = luck.randint(least, most)
        while len(names) < size:
            names[luck.choice(["silica", "kaolin", luck.choice(pool), luck.choice(pool)])] = None
        yield {name: luck.randint(5, 900) for name in names}


def _write(folder: Path, recipes: Sequence[Mapping[str, int]]) -> None:
    for number, parts in enumerate(recipes):
        lines = "".join(f"    {name}  {amount / 10:g}\n" for name, amount in parts.items())
        (folder / f"r{number}.glost").write_text(f'glaze "R{number}"\nbase:\n{lines}', "utf-8")


def _told(run: Run, *options: str) -> dict[str, dict[str, Any]]:
    done = run("formula", "--output", "json", *options)
    assert (done.returncode, done.stderr) == (0, "")
    return {test["name"]: test for test in json.loads(done.stdout)["tests"]}


def _fired(lines: Sequence[tuple[float, Grams]]) -> dict[str, float]:
    """Grams of 100 g of batch."""
    total = sum(parts for parts, _ in lines)
    grams: dict[str, float] = {}
    for parts, held in lines:
        for oxide, mass in held.items():
            grams[oxide] = grams.get(oxide, 0) + parts / total * mass
    return {oxide: mass for oxide, mass in grams.items() if mass}


def _figures(grams: Grams) -> dict[str, dict[str, float]]:
    moles = {oxide: mass / _mass(oxide) for oxide, mass in grams.items()}
    one = sum(moles.get(oxide, 0) for oxide in _FLUXES)
    return {
        "unity": {oxide: amount / one for oxide, amount in moles.items()},
        "fired_weight_percent": {oxide: 100 * mass / sum(grams.values()) for oxide, mass in grams.items()},
        "mol_percent": {oxide: 100 * amount / sum(moles.values()) for oxide, amount in moles.items()},
    }


# Source: PyPI molmass, whose masses (of B, S and Li up to 100 ppm from others) and parser of formulas are its own.
def test_every_figure_of_the_composition_of_20_recipes(run: Run, tmp_path: Path) -> None:
    recipes = list(_random_recipes(20, "compositions", 4, 10, _USED))
    _write(tmp_path, recipes)
    found = _told(run)
    assert len(found) == len(recipes)
    for number, parts in enumerate(recipes):
        told = found[f"R{number}"]
        grams = _fired([(amount, _of_record(_RECORDS[name])) for name, amount in parts.items()])
        figures = _figures(grams)
        for what, values in {**figures, "batch_weight_percent": grams}.items():
            assert told[what] == pytest.approx(values, rel=4e-4, abs=2e-4), (what, parts)
        unity = figures["unity"]
        if unity.get("Al2O3") and unity.get("SiO2"):
            assert told["silica_to_alumina"] == pytest.approx(unity["SiO2"] / unity["Al2O3"], rel=4e-4)
        assert told["boron"] == pytest.approx(unity.get("B2O3", 0), rel=4e-4, abs=1e-6)
        assert told["alkali"] == pytest.approx(sum(unity.get(o, 0) for o in _ALKALIS), rel=4e-4, abs=1e-6)
        stated = [
            (amount, float(_RECORDS[name].get("loss", 100 - sum(_of_record(_RECORDS[name]).values()))))
            for name, amount in parts.items()
        ]
        loss = sum(amount * lost for amount, lost in stated) / sum(parts.values())
        assert told["loss_on_ignition"] == pytest.approx(loss, abs=0.15), parts


def _additive(fit: dict[str, Any], mol: Grams) -> float:
    """The sum, and the products within the ranges, of mol fractions."""
    known = {oxide: mol[oxide] for oxide in mol if oxide in fit["factors"]}
    x = {oxide: amount / sum(known.values()) for oxide, amount in known.items()}
    # The ranges are printed to 0.1: what rounds to one is still within it.
    inside = all(low - 0.05 <= 100 * x.get(o, 0) <= high + 0.05 for o, (low, high) in fit["ranges"].items())
    if not inside:
        return float(sum(share * fit["plain"][oxide] for oxide, share in x.items()))
    plain = sum(share * fit["factors"][oxide] for oxide, share in x.items())
    return float(plain + sum(x.get(one, 0) * x.get(other, 0) * f for one, other, f in fit["products"]))


# Source: the factors of A. A. Appen, from memory, as docs/models.md gives them; written again here.
def _appen(mol: Mapping[str, float]) -> float:
    p = {oxide: 100 * amount / sum(mol.values()) for oxide, amount in mol.items()}

    def of(*names: str) -> float:
        return sum(p.get(name, 0) for name in names)

    factors = {
        "SiO2": 0.38 - 0.01 * max(0, of("SiO2") - 67), "Al2O3": -0.3, "K2O": 4.65 if of("Na2O") else 4.2,
        "Na2O": 3.95, "Li2O": 2.7, "CaO": 1.3, "MgO": 0.6, "BaO": 2.0, "SrO": 1.6, "ZnO": 0.5, "PbO": 1.3,
        "Fe2O3": 0.55, "ZrO2": -0.6, "P2O5": 1.4,
        "TiO2": 0.3 - 0.015 * (min(max(of("SiO2"), 50), 80) - 50),
    }  # fmt: skip
    lent = (
        of("Na2O", "K2O", "BaO")
        + 0.7 * of("CaO", "SrO", "PbO")
        + 0.3 * of("Li2O", "MgO", "ZnO")
        - of("Al2O3")
    )
    factors["B2O3"] = -0.125 * min(4, max(0, lent / of("B2O3"))) if of("B2O3") else 0
    factors["PbO"] += 0.05 * max(0, min(of(*_ALKALIS), 15) - 3)
    return sum(percent * factors[oxide] for oxide, percent in p.items())


# Source: the factors of S. English and W. E. S. Turner (1927-29), from memory, 1e-7/K for each mass %.
_ENGLISH_TURNER = {
    "SiO2": 0.05, "Al2O3": 0.14, "B2O3": -0.653, "K2O": 3.9, "Na2O": 4.16, "CaO": 1.63, "MgO": 0.45, "BaO": 1.4,
    "ZnO": 0.7, "PbO": 1.06, "ZrO2": 0.23,
}  # fmt: skip
_APPENS = {*_FLUXES, "SiO2", "Al2O3", "B2O3", "Fe2O3", "ZrO2", "P2O5", "TiO2"} - {"Rb2O"}


# Source: factors and products as docs/models.md prints them; the sum is made here.
def test_every_estimate_of_recipes(run: Run, tmp_path: Path) -> None:
    recipes = [
        *_random_recipes(40, "estimates", 5, 9, _OF_GLAZES),
        *_random_recipes(30, "plain", 4, 7, _PLAIN),
    ]
    _write(tmp_path, recipes)
    own = json.loads((_FACTORS / "expansion-fit.json").read_text("utf-8"))
    flow = json.loads((_FACTORS / "softening-fit.json").read_text("utf-8"))
    found = {model: _told(run, "--expansion", model) for model in ("glost", "appen", "english-turner")}
    counted = dict.fromkeys(found, 0)
    for number, parts in enumerate(recipes):
        grams = _fired([(amount, _of_record(_RECORDS[name])) for name, amount in parts.items()])
        mol = {oxide: mass / _mass(oxide) for oxide, mass in grams.items()}
        told, old = found["glost"][f"R{number}"], found["appen"][f"R{number}"]
        if told["expansion"] and told["softening"]:
            assert told["expansion"]["value"] == pytest.approx(_additive(own, mol), abs=0.06), parts
            assert told["softening"]["value"] == pytest.approx(_additive(flow, mol), abs=0.2), parts
            counted["glost"] += 1
        if old["expansion"] and mol.keys() <= _APPENS:
            assert old["expansion"]["value"] == pytest.approx(_appen(mol), abs=0.06), parts
            counted["appen"] += 1
        third = found["english-turner"][f"R{number}"]
        if third["expansion"] and grams.keys() <= _ENGLISH_TURNER.keys():
            by_mass = sum(100 * mass * _ENGLISH_TURNER[oxide] for oxide, mass in grams.items()) / sum(
                grams.values()
            )
            assert third["expansion"]["value"] == pytest.approx(by_mass, abs=0.06), parts
            counted["english-turner"] += 1
    assert min(counted.values()) >= 20, counted


# Source: PyPI molmass again; what each material may be is read from the catalogue's own files. Each recipe is fired
# with every analysis of each material while the others stay, and with many random choices for all at once.
def test_printed_ranges_of_200_recipes_hold_every_extreme(run: Run, tmp_path: Path) -> None:
    luck = random.Random("extremes")
    recipes = list(_random_recipes(200, "ranges", 2, 12, _USED))
    _write(tmp_path, recipes)
    found = _told(run)
    held_open = 0
    for number, parts in enumerate(recipes):
        if any(_RECORDS[name].get("invented") for name in parts):
            continue
        told = found[f"R{number}"]
        ends = [
            [
                _of_record(_RECORDS[name]),
                *(_of_analysis(one["oxides"]) for one in _RECORDS[name].get("bracket", ())),
            ]
            for name in parts
        ]
        picked = [[0] * len(ends)]
        picked += [
            [at if line == other else 0 for other in range(len(ends))]
            for line, each in enumerate(ends)
            for at in range(1, len(each))
        ]
        picked += [[luck.randrange(len(each)) for each in ends] for _ in range(25)]
        if told["ranges"] is None:
            assert len(picked) == 26
            continue
        held_open += 1
        for choice in picked:
            lines = [
                (amount, each[at]) for amount, each, at in zip(parts.values(), ends, choice, strict=True)
            ]
            for what, values in _figures(_fired(lines)).items():
                for oxide, value in values.items():
                    low, high = told["ranges"][what][oxide]
                    assert low - 1e-4 - 4e-4 * value <= value, (what, oxide, parts)
                    assert high is None or value <= high + 1e-4 + 4e-4 * value, (what, oxide, parts)
    assert held_open > 100


# ---- masses ---------------------------------------------------------------------------------------------

# Source: NIST SP 811, appendix B.8 (from memory): the pound is 0.45359237 kg, an ounce its sixteenth.
_GRAMS = {
    "g": Fraction(1),
    "kg": Fraction(1000),
    "lb": Fraction("453.59237"),
    "oz": Fraction("453.59237") / 16,
}


def _half_even(value: Fraction, step: Fraction) -> Fraction:
    return round(value / step) * step  # round() of a fraction goes half to even


def _largest_remainder(exact: Sequence[Fraction], step: Fraction) -> list[Fraction]:
    seats = round(sum(exact, Fraction(0)) / step)
    floors = [each / step // 1 for each in exact]
    order = sorted(range(len(exact)), key=lambda at: (-(exact[at] / step - floors[at]), at))
    more = set(order[: seats - sum(floors)])
    return [(floors[at] + (at in more)) * step for at in range(len(exact))]


def _batches(
    count: int, seed: str
) -> Iterator[tuple[dict[str, Fraction], dict[str, Fraction], Fraction, str]]:
    luck = random.Random(seed)
    for _ in range(count):
        base = {
            name: Fraction(luck.randint(20, 600), 10) for name in luck.sample(_SINGLE, luck.randint(2, 7))
        }
        more = [name for name in luck.sample(_SINGLE, 3) if name not in base]
        additions = {name: Fraction(luck.randint(20, 120), 10) for name in more[: luck.randint(0, 2)]}
        unit = luck.choice(["g", "g", *_GRAMS])
        amount = Fraction(luck.randint(150, 2500)) / _GRAMS[unit]
        yield base, additions, Fraction(round(amount * 1000), 1000), unit


def _page(name: str, base: Mapping[str, Fraction], additions: Mapping[str, Fraction]) -> str:
    def lines(parts: Mapping[str, Fraction]) -> str:
        return "".join(f"    {material}  {float(amount):g}\n" for material, amount in parts.items())

    return f'glaze "{name}"\nbase:\n{lines(base)}' + (f"additions:\n{lines(additions)}" if additions else "")


# Source: fractions, which Python's standard library keeps exact; rounding half to even as ASTM E29 has it, shares by
# largest remainder.
@pytest.mark.parametrize("way", ["tared", "running", "apart"])
@pytest.mark.parametrize("asked", ["--batch", "--total"])
def test_40_batches_in_exact_fractions(run: Run, tmp_path: Path, way: str, asked: str) -> None:
    step = Fraction(1, 10)  # the balance that is assumed where none is listed
    for number, (base, additions, amount, unit) in enumerate(_batches(40, f"batches {way}")):
        (tmp_path / "b.glost").write_text(_page("B", base, additions), "utf-8")
        done = run("batch", "b.glost", asked, f"{float(amount):g} {unit}", "--way", way, "--output", "json")
        assert (done.returncode, done.stderr) == (0, ""), number
        (plan,) = json.loads(done.stdout, parse_float=Fraction, parse_int=Fraction)["tests"]
        mass = amount * _GRAMS[unit]
        parts = [*base.values(), *additions.values()]
        whole = sum(base.values()) if asked == "--batch" else sum(parts)
        exact = [mass * each / whole for each in parts]
        rounded = [_half_even(each, step) for each in exact]
        if sum(exact[: len(base)]) % step == 0:  # else the base cannot add up to its mass
            rounded[: len(base)] = _largest_remainder(exact[: len(base)], step)
        lines = plan["lines"]
        assert [line["target_g"] for line in lines] == rounded, number
        running = list(itertools.accumulate(rounded))
        for line, want, is_, so_far in zip(lines, exact, rounded, running, strict=True):
            assert abs(line["exact_g"] - want) < Fraction(1, 10**15)
            assert line["running_total_g"] == so_far
            assert abs(line["rounding_error_percent"] - (is_ - want) / want * 100) < Fraction(1, 10**5)
            assert line["within"] == (abs(is_ - want) * 100 <= 2 * want) or line["why_not"]
        assert plan["total_target_g"] == running[-1]
        assert plan["base_target_g"] == sum(rounded[: len(base)])


# Source: fractions again: the smallest batch in which what got too much is right, and more only where rounding asks.
def test_40_rescues_in_exact_fractions(run: Run, tmp_path: Path) -> None:
    luck = random.Random("rescues")
    step = Fraction(1, 10)
    larger = 0
    for number, (base, additions, _, _) in enumerate(_batches(40, "rescues")):
        (tmp_path / "b.glost").write_text(_page("B", base, additions), "utf-8")
        parts = {**base, **additions}
        total = sum(base.values())
        planned = Fraction(luck.randint(200, 900))
        inside: dict[str, Fraction] = {}
        for name in luck.sample(list(parts), luck.randint(1, len(parts))):
            factor = Fraction(luck.choice([70, 100, 101, 115, 140]), 100)
            inside[name] = _half_even(planned * parts[name] / total * factor, step)
        said = ",".join(f"{name}={float(grams):g}" for name, grams in inside.items())
        done = run("rescue", "b.glost", "--batch", f"{planned} g", "--weighed", said, "--output", "json")
        assert done.returncode in (0, 1), done.stderr
        told = json.loads(done.stdout, parse_float=Fraction, parse_int=Fraction)
        grams = told["base_mass_g"]
        least = max(planned, *(held * total / parts[name] for name, held in inside.items()))
        if told["verdict"] == "larger batch":
            larger += 1
            assert grams >= least - Fraction(1, 10**12), number
        else:
            assert grams == planned
            off = [abs(held / (planned * parts[name] / total) - 1) for name, held in inside.items()]
            over = [each for name, each in zip(inside, off, strict=True) if name in told["over"]]
            assert all(each <= Fraction(2, 100) for each in over), number
        assert abs(told["factor"] - grams / planned) < Fraction(1, 10**12)
        assert told["in_g"] == sum(inside.values())
        assert told["taken"] == []
        for line in told["steps"]:
            want = grams * parts[line["material"]] / total
            assert abs(line["exact_g"] - want) < Fraction(1, 10**9), number
            assert line["in_g"] == inside.get(line["material"], 0)
            assert line["add_g"] >= 0
            assert line["add_g"] % step == 0
            assert line["final_g"] == line["in_g"] + line["add_g"]
            assert abs(line["error_percent"] - abs(line["final_g"] - want) / want * 100) < Fraction(1, 10**5)
        assert told["total_g"] == sum(line["final_g"] for line in told["steps"])
    assert larger > 15
