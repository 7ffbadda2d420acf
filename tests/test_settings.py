"""glost.yaml and materials.yaml: what is taken, what is refused and where, and that the schemas agree."""

from __future__ import annotations

import datetime
import json
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import jsonschema
import pytest
import yaml

from glost.language.shipped import shipped
from glost.language.source import LARGEST_FILE, Source
from glost.language.yaml_tree import ConfigError
from glost.linter.rule import rule_names
from glost.recipe.materials.catalogue import ROLES, Catalogue, shipped_catalogue
from glost.recipe.materials.own import KEYS as MATERIAL_KEYS
from glost.recipe.materials.own import with_own_materials
from glost.recipe.settings import KEYS, LEVELS, Settings, read_settings
from glost.workspace.collection import Collection, Collections, find
from tests.conftest import STUDIO, Run
from tests.generate.schema import rules_of_the_schema

SETTINGS_SCHEMA: dict[str, Any] = json.loads(shipped("schema", "settings.schema.json").read_text("utf-8"))
MATERIALS_SCHEMA: dict[str, Any] = json.loads(shipped("schema", "materials.schema.json").read_text("utf-8"))


class Case(NamedTuple):
    """A text and the reader's verdict: None where it is taken, else line, column and a piece of the message.
    ``blind``: YAML's own types or its loader hide from the schema what the reader sees."""

    text: str
    refused: tuple[int, int, str] | None = None
    blind: bool = False


def settings(text: str) -> Settings:
    return read_settings(Source("glost.yaml", text), rule_names())


def materials(text: str) -> Catalogue:
    return with_own_materials(shipped_catalogue(), Source("materials.yaml", text))


def schema_takes(text: str, schema: dict[str, Any]) -> bool:
    """The verdict of an editor: plain YAML, then the schema. A date is what an editor shows as its text."""
    try:
        value = yaml.safe_load(text)
    except (yaml.YAMLError, ValueError, RecursionError):
        return False
    return jsonschema.Draft202012Validator(schema).is_valid(_dates_as_text(value))


def _dates_as_text(value: Any) -> Any:
    if isinstance(value, dict):
        return {_dates_as_text(k): _dates_as_text(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_dates_as_text(item) for item in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


BALANCE = "balances:\n  - name: fine\n    capacity: 300 g\n    readability: 0.01 g\n"


def _body(said: str, range: str = "20-400 C") -> str:
    return f"bodies: {{x: {{{said}, range: {range}, source: y}}}}\n"


SETTINGS_CASES = [
    # ---- taken ---------------------------------------------------------------------------------------
    Case(""),
    Case("# nothing but a comment\n"),
    Case("---\nname: x\n...\n"),
    Case("%YAML 1.2\n---\nname: x\n"),
    Case("name: Halfebb Orchard Studio (invented)\n"),
    Case("name: no\n"),
    Case("name: yes\n"),
    Case("name: 012\n"),
    Case("name: 1:30\n"),
    Case("name: 1e3\n"),
    Case("name: 2026-03-14\n"),
    Case("name: .5\n"),
    Case('name: "two\n  lines"\n'),
    Case("name: ~\n", blind=True),
    Case("name: null\n", blind=True),
    Case("batch: 100 g\n"),
    Case("batch: 2kg\n"),
    Case("batch: .5 lb\n"),
    Case('batch: " 100 g "\n'),
    Case("batch: 000000001.000001 oz\n"),
    Case("balances:\n"),
    Case("balances: []\n"),
    Case(BALANCE),
    Case(BALANCE + "    repeatability: 0.01 g\n    minimum: 0.5 g\n    cup: 80 g\n"),
    Case(
        "balances: [{name: 1, capacity: 9 g, readability: 1 g}, {name: 2, capacity: 6kg, readability: 2 g}]\n"
    ),
    Case("weighing tolerance: 2 %\n"),
    Case("weighing tolerance: 0.5%\n"),
    Case("base tolerance: 0.05\n"),
    Case("base tolerance: 0\n"),
    Case("base tolerance: 012\n"),
    Case("base tolerance: '0.1'\n"),
    Case("materials: materials.yaml\n"),
    Case("materials: own/materials.yaml\n"),
    Case("materials: ./materials..yaml\n"),
    Case("water: 60 %\n"),
    Case("water: 0 %\n"),
    Case("sieve: 100 mesh\n"),
    Case("sieve: 80\n"),
    Case("sieve: 080mesh\n"),
    Case("skip: [needs-work, old/tests/]\n"),
    Case("skip: [2019]\n"),
    Case("skip:\n"),
    Case("bodies:\n"),
    Case("bodies: {house stoneware: {expansion: 62e-7/K, range: 20-400 C, source: a sheet}}\n"),
    Case(
        "bodies: {x: {expansion: 6.2 x 10^-6 /K, plus or minus: ±2e-7/K, range: 20 to 400 °C, source: y}}\n"
    ),
    Case("bodies: {x: {expansion: 6.2 ppm/K, plus or minus: 0.2 ppm/°C, range: 25–500C, source: y}}\n"),
    Case("bodies: {x: {expansion: 62·10-7 per K, range: 20..300 C, source: y}}\n"),
    Case(
        "bodies: {x: {expansion: 6.2 × 10⁻⁶ K⁻¹, plus or minus: 0.2 × 10⁻⁶/K, range: 20-400 C, source: y}}\n"
    ),
    Case("bodies: {x: {expansion: 6.2 µm/(m·K), plus or minus: 0.2 um/m/°C, range: 20-400 C, source: y}}\n"),
    Case("bodies: {x: {expansion: 6.2E-06 1/°C, range: 20-400 C, source: y}}\n"),
    Case("handling:\n"),
    Case("handling: {silica: P100 respirator, all: wet-clean}\n"),
    Case("handling: {silica: no}\n"),
    Case("rules:\n"),
    Case("rules: {base-total: warning}\n"),
    Case("rules: {base-total: off}\n"),
    Case('rules: {base-total: "off"}\n'),
    # ---- shape ---------------------------------------------------------------------------------------
    Case("just a text\n", (1, 1, "glost.yaml is a mapping")),
    Case("- name: x\n", (1, 1, "glost.yaml is a mapping")),
    Case("batch size: 100 g\n", (1, 1, "'batch size' is not a key of glost.yaml")),
    Case("name: x\nbtach: 100 g\n", (2, 1, "'btach' is not a key of glost.yaml")),
    Case("Batch: 100 g\n", (1, 1, "'Batch' is not a key")),
    Case("name:\n", (1, 6, "name is empty")),
    Case('name: ""\n', (1, 7, "name is empty")),
    Case("name: '  '\n", (1, 7, "name is empty")),
    Case("name: [a, b]\n", (1, 7, "name is a text")),
    Case("name:\n  a: b\n", (2, 3, "name is a text")),
    Case('name: "a\\e[2J"\n', (1, 7, "invisible character (U+001B)"), blind=True),
    Case('name: "a\\u202Eb"\n', (1, 7, "invisible character (U+202E)"), blind=True),
    Case(
        "name: x\nbatch: 100 g\nname: y\n",
        (3, 1, "the key 'name' stands here a second time (first on line 1)"),
        blind=True,
    ),
    Case("handling:\n  silica: a\n  silica: b\n", (3, 3, "'silica' stands here a second time"), blind=True),
    Case("handling:\n  silica: a\n  ' silica': b\n", (3, 3, "a second house note for 'silica'"), blind=True),
    Case("name: x\n---\nname: y\n", (2, 1, "a second document begins here")),
    Case("? [a, b]\n: c\n", (1, 3, "a key is a plain word here")),
    # ---- values --------------------------------------------------------------------------------------
    Case("batch: 100\n", (1, 8, "batch: '100' has no unit")),
    Case("batch: 0 g\n", (1, 8, "cannot be weighed out")),
    Case("batch: -5 g\n", (1, 8, "has a sign")),
    Case("batch: 0,5 kg\n", (1, 8, "has a decimal comma")),
    Case("batch: 1,000 g\n", (1, 8, "has a comma")),
    Case("batch: 1e3 g\n", (1, 8, "exponent")),
    Case("batch: 5 stone\n", (1, 8, "'stone' is not a unit of mass")),
    Case("batch: 100 grams\n", (1, 8, "is written g")),
    Case("batch: 1234567890 g\n", (1, 8, "more than 9 digits")),
    Case("batch: 1.2345678 g\n", (1, 8, "more than 6 decimals")),
    Case("batch: 100 %\n", (1, 8, "is not a unit of mass")),
    Case("batch: [100 g]\n", (1, 8, "batch is a text")),
    Case("balances: fine\n", (1, 11, "balances is a list")),
    Case("balances: {name: fine}\n", (1, 11, "balances is a list")),
    Case("balances: [fine]\n", (1, 12, "a balance is a mapping")),
    Case("balances:\n  -\n", (2, 4, "a balance lacks its name")),
    Case("balances:\n  - name: fine\n    capacity: 300 g\n", (2, 5, "a balance lacks its readability")),
    Case(
        "balances: [{name: fine, capacity: 300 g, readability: 0,01 g}]\n",
        (1, 57, "'01 g' is not a key of a balance"),
    ),
    Case(BALANCE.replace("300 g", "300"), (3, 15, "capacity: '300' has no unit")),
    Case(BALANCE.replace("readability", "reads"), (4, 5, "'reads' is not a key of a balance")),
    Case(BALANCE.replace("0.01", "500"), (2, 5, "reads steps of 500 g but carries only 300 g"), blind=True),
    Case(BALANCE + "    cup: 400 g\n", (2, 5, "is 400 g, and it carries only 300 g"), blind=True),
    Case(
        BALANCE + "  - {name: fine, capacity: 6 kg, readability: 1 g}\n",
        (5, 12, "a second balance is called 'fine'"),
        blind=True,
    ),
    Case("weighing tolerance: 2\n", (1, 21, "is not a percentage")),
    Case("weighing tolerance: 0.02\n", (1, 21, "is not a percentage")),
    Case("weighing tolerance: 2,5 %\n", (1, 21, "'2,5' is not a plain number")),
    Case("weighing tolerance: 2 %%\n", (1, 21, "is not a plain number")),
    Case("weighing tolerance: 0 %\n", (1, 21, "is no tolerance")),
    Case("weighing tolerance: 100 %\n", (1, 21, "is no tolerance")),
    Case("base tolerance: 5 %\n", (1, 17, "is not a plain number")),
    Case("base tolerance: -1\n", (1, 17, "is not a plain number")),
    Case("base tolerance: 0,05\n", (1, 17, "is not a plain number")),
    Case("base tolerance: 1e3\n", (1, 17, "is not a plain number")),
    Case("base tolerance: .inf\n", (1, 17, "is not a plain number")),
    Case("base tolerance: .nan\n", (1, 17, "is not a plain number"), blind=True),
    Case("base tolerance: 0x10\n", (1, 17, "is not a plain number"), blind=True),
    Case("base tolerance: 5.\n", (1, 17, "is not a plain number"), blind=True),
    Case("base tolerance: 1_0\n", (1, 17, "is not a plain number"), blind=True),
    Case("base tolerance: 1:30\n", (1, 17, "is not a plain number"), blind=True),
    Case("base tolerance: 1234567890123456\n", (1, 17, "is not a plain number")),
    Case("water: 60\n", (1, 8, "is not a percentage")),
    Case("water: sixty %\n", (1, 8, "is not a plain number")),
    Case("water: %60\n", (1, 8, "% cannot begin a value")),
    Case("sieve: 0\n", (1, 8, "is no mesh number")),
    Case("sieve: 1000\n", (1, 8, "is no mesh number")),
    Case("sieve: 100 holes\n", (1, 8, "is no mesh number")),
    Case("sieve: 99.5\n", (1, 8, "is no mesh number")),
    Case(f"sieve: '{'9' * 5000}'\n", (1, 8, "is no mesh number")),
    Case("skip: needs-work\n", (1, 7, "skip is a list")),
    Case("skip: [/]\n", (1, 8, "is not a path below")),
    Case("skip: [.]\n", (1, 8, "lies outside the collection")),
    Case("skip: [old/../../x]\n", (1, 8, "lies outside the collection")),
    Case("skip: ['']\n", (1, 8, "skip is empty")),
    Case("materials: ../x.yaml\n", (1, 12, "lies outside the collection")),
    Case("materials: own/../../x.yaml\n", (1, 12, "lies outside the collection")),
    Case("materials: /etc/materials.yaml\n", (1, 12, "is not a path below")),
    Case("materials: ~/materials.yaml\n", (1, 12, "is not a path below")),
    Case("materials: C:/materials.yaml\n", (1, 12, "is not a path below")),
    Case("materials: own\\materials.yaml\n", (1, 12, "is not a path below")),
    Case("handling: wet-clean\n", (1, 11, "handling is a mapping")),
    Case("bodies: stoneware\n", (1, 9, "bodies is a mapping")),
    Case("bodies: {x: 62e-7/K}\n", (1, 13, "the body 'x' is a mapping")),
    Case("bodies: {x: {expansion: 62e-7/K, range: 20-400 C}}\n", (1, 10, "the body 'x' lacks its source")),
    Case("bodies: {x: {expansion: 62e-7/K, source: y}}\n", (1, 10, "the body 'x' lacks its range")),
    Case("bodies: {x: {range: 20-400 C, source: y}}\n", (1, 10, "the body 'x' lacks its expansion")),
    Case("bodies: {x: }\n", (1, 10, "the body 'x' lacks its expansion")),
    Case(_body("expansion: 62"), (1, 25, "'62' is no expansion")),
    Case(_body("expansion: 62e-7"), (1, 25, "'62e-7' is no expansion")),
    Case(_body("expansion: 6.2 ppm"), (1, 25, "'6.2 ppm' is no expansion")),
    Case(_body("expansion: 62e-8/K"), (1, 25, "'62e-8/K' is no expansion")),
    Case(_body("expansion: -62e-7/K"), (1, 25, "'-62e-7/K' is no expansion")),
    Case(_body("expansion: nan e-7/K"), (1, 25, "is no expansion")),
    Case(_body("expansion: ''"), (1, 25, "expansion is empty")),
    Case(_body("expansion: [62e-7/K]"), (1, 25, "expansion is a text")),
    Case(_body("expansion: 62e-6/K"), (1, 25, "620e-7/K is the expansion of no fired clay"), blind=True),
    Case(
        _body("expansion: 6.2e-7/K, plus or minus: 0e-7/K"), (1, 50, "0e-7/K is no uncertainty"), blind=True
    ),
    Case(_body("expansion: 0.2e-7/K"), (1, 25, "0.2e-7/K is the expansion of no fired clay"), blind=True),
    Case(_body("expansion: 1.2.3e-7/K"), (1, 25, "expansion:"), blind=True),
    Case(_body("expansion: 62e-7/K", range="warm"), (1, 41, "'warm' is no range of temperature")),
    Case(_body("expansion: 62e-7/K", range="20-400"), (1, 41, "'20-400' is no range of temperature")),
    Case(_body("expansion: 62e-7/K", range="400-20 C"), (1, 41, "is not the range of a body"), blind=True),
    Case(_body("expansion: 62e-7/K", range="20-4000 C"), (1, 41, "is not the range of a body"), blind=True),
    Case(_body("expansion: 62e-7/K, colour: red"), (1, 34, "'colour' is not a key of the body 'x'")),
    Case(
        "bodies:\n  Red: {expansion: 62e-7/K, range: 20-400 C, source: y}\n"
        "  red: {expansion: 62e-7/K, range: 20-400 C, source: y}\n",
        (3, 3, "a second body is called 'red'"),
        blind=True,
    ),
    Case("handling: {silica: }\n", (1, 20, "handling of silica is empty")),
    Case("handling: {silica: [a]}\n", (1, 20, "handling of silica is a text")),
    Case("handling: {'': a}\n", (1, 12, "the name before the colon is empty")),
    Case("handling:\n  silica: P100: always\n", (2, 15, "a colon stands here where no key can be")),
    Case("rules: [base-total]\n", (1, 8, "rules is a mapping")),
    Case("rules: {base-totl: off}\n", (1, 9, "'base-totl' is not a key of rules")),
    Case("rules: {syntax: off}\n", (1, 9, "'syntax' is not a key of rules")),
    Case("rules: {base-total: loud}\n", (1, 21, "'loud' is not a level")),
    Case("rules: {base-total: Warning}\n", (1, 21, "'Warning' is not a level")),
    Case("rules: {base-total: true}\n", (1, 21, "'true' is not a level")),
    Case("rules: {base-total: no}\n", (1, 21, "'no' is not a level"), blind=True),
    # ---- YAML ----------------------------------------------------------------------------------------
    Case("name: &n x\n", (1, 7, "anchors and aliases"), blind=True),
    Case("name: *n\n", (1, 7, "anchors and aliases")),
    Case("a: &a [x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c]\n", (1, 4, "anchors and aliases")),
    Case("<<: {batch: 100 g}\n", (1, 1, "'<<' is not a key of glost.yaml"), blind=True),
    Case("name: !!python/object/apply:os.system [x]\n", (1, 7, "tags (!) are not read here")),
    Case("name: !!str x\n", (1, 7, "tags (!) are not read here"), blind=True),
    Case("name: ! x\n", (1, 7, "tags (!) are not read here"), blind=True),
    Case("balances: " + "[" * 2000 + "]" * 2000, (1, 1010, "the nesting is too deep")),
    Case("balances: " + "[" * 12 + "]" * 12, (1, 22, "the nesting is too deep")),
    Case("\tname: x\n", (1, 1, "a tab stands here")),
    Case("handling:\n\tsilica: x\n", (2, 1, "a tab stands here")),
    Case("name: @x\n", (1, 7, "@ cannot begin a value")),
    Case('name: "x\nbatch: 100 g\n', (1, 7, "the quotation mark that opens here is not closed")),
    Case("skip: [a, b\nname: x\n", (1, 7, "the square bracket that opens here is not closed")),
    Case("handling: {a: b\n", (1, 11, "the curly bracket that opens here is not closed")),
    Case("name: x\nbatch\n", (2, 1, "this line has no colon behind its key")),
    Case("skip: - a\n", (1, 7, "a list begins here behind a key")),
    Case('name: "a\\qb"\n', (1, 9, "a backslash stands in double quotes")),
    Case("name: 'it's'\n", (1, 11, "fits neither")),
    Case("name: x\n}\n", (2, 1, "")),
    Case("name: a\x07b\n", (1, 8, "an invisible character (U+0007)")),
    Case("name: a\u2028batch: 100 g\n", (1, 8, "an invisible character (U+2028)"), blind=True),
    Case("name: a\rbatch: 100 g\n", (1, 8, "an invisible character (U+000D)"), blind=True),
    Case("# \u00fc\u6f22\nhandling: {\u6f22\u00e9: [x]}\n", (2, 16, "is a text")),
]

OWN = "materials:\n  - name: {name}\n    role: clay\n    source: invented\n"


def own(more: str = "", name: str = "house ball clay") -> str:
    return OWN.replace("{name}", name) + more


MATERIAL_CASES = [
    # ---- taken ---------------------------------------------------------------------------------------
    Case(""),
    Case("materials:\n"),
    Case("materials: []\n"),
    Case(own()),
    Case(own(name="no")),
    Case(own(name="012")),
    Case(own(name="1:30")),
    Case(own(name="1e3")),
    Case(own(name="yes")),
    Case(own(name="~"), blind=True),
    Case(own("    aliases: [hbc, 12, house clay]\n")),
    Case(own("    aliases:\n")),
    Case(own("    cas: [1332-58-7]\n")),
    Case(own("    soluble: slightly\n")),
    Case(own("    soluble: True\n")),
    Case(own("    soluble: no\n    caustic: Yes\n")),
    Case(own("    hazards: []\n")),
    Case(own("    hazards: [H372, H302+H332, EUH066, H360FD]\n    hazard source: the sheet\n")),
    Case(own("    restricted: lead\n    note: a note\n")),
    Case(own("    analysis: {SiO2: 60, Al2O3: 30.5, Na2O: '.5'}\n    loss: 9\n")),
    Case(own("    formula: Al2O3·2SiO2·2H2O\n")),
    Case("materials:\n  - name: kaolin\n    note: ours is damp\n"),
    # ---- refused -------------------------------------------------------------------------------------
    Case("name: x\n", (1, 1, "'name' is not a key of materials.yaml")),
    Case("- name: x\n", (1, 1, "no key stands above these")),
    Case("materials: {name: x}\n", (1, 12, "materials is a list")),
    Case("materials: [x]\n", (1, 13, "a material is a mapping")),
    Case("materials:\n  - role: clay\n", (2, 5, "a material without a name")),
    Case(
        "materials:\n  - name: x\n    role: clay\n", (2, 5, "the material 'x' lacks its source"), blind=True
    ),
    Case("materials:\n  - name: x\n    source: y\n", (2, 5, "the material 'x' lacks its role"), blind=True),
    Case(own(name=""), (2, 10, "a name is empty")),
    Case(own(name="All"), (2, 11, "'all' stands for every material")),
    Case(own(name="'a \"b\"'"), (2, 11, "a name holds a double quotation mark")),
    Case(
        own(name="china clay"), (2, 11, "'china clay' is the catalogue's other name for kaolin"), blind=True
    ),
    Case(own(name="Kaolin"), (2, 11, "other name for kaolin"), blind=True),
    Case(own("    rôle: clay\n"), (5, 5, "'rôle' is not a key of a material")),
    Case(own().replace("role: clay", "role: mud"), (3, 11, "'mud' is not a role")),
    Case(own("    aliases: hbc\n"), (5, 14, "aliases is a list")),
    Case(own("    aliases: [all]\n"), (5, 15, "'all' stands for every material")),
    Case(own("    aliases: [kaolin]\n"), (5, 15, "'kaolin' is a material of the catalogue"), blind=True),
    Case(
        own("  - name: house ball clay\n    role: clay\n    source: x\n"),
        (5, 11, "stands here a second time"),
        blind=True,
    ),
    Case(
        own("  - name: House  Ball Clay\n    role: clay\n    source: x\n"),
        (5, 11, "stands for house ball clay and for"),
        blind=True,
    ),
    Case(
        own("    aliases: [hbc]\n  - name: x\n    role: clay\n    source: x\n    aliases: [HBC]\n"),
        (9, 15, "'HBC' stands for house ball clay and for x"),
        blind=True,
    ),
    Case(own("    cas: 1332-58-7\n"), (5, 10, "cas is a list")),
    Case(own("    cas: [133-58]\n"), (5, 11, "is not a CAS number")),
    Case(own("    cas: [1332-58-8]\n"), (5, 11, "the check figure of '1332-58-8'"), blind=True),
    Case(own("    soluble: perhaps\n"), (5, 14, "soluble: 'perhaps' is not known here")),
    Case(own("    soluble: on\n"), (5, 14, "'on' is not known here"), blind=True),
    Case(own("    caustic: very\n"), (5, 14, "caustic is yes or no")),
    Case(own("    hazards: H302\n"), (5, 14, "hazards is a list")),
    Case(own("    hazards: [h302]\n    hazard source: x\n"), (5, 15, "'h302' is not a hazard statement")),
    Case(own("    hazards: [302]\n    hazard source: x\n"), (5, 15, "'302' is not a hazard statement")),
    Case(
        own("    hazards: [H302 Harmful if swallowed]\n    hazard source: x\n"),
        (5, 15, "is not a hazard statement"),
    ),
    Case(own("    hazards: [H302]\n"), (5, 5, "hazard statements without a source")),
    Case(own("    hazard source: x\n"), (5, 5, "a hazard source without hazards")),
    Case(
        "materials:\n  - name: manganese dioxide\n    hazards: []\n",
        (3, 5, "the catalogue's hazard statements are taken away here without a source"),
        blind=True,
    ),
    Case(own("    analysis: {}\n"), (5, 5, "add up to 0, not to 100")),
    Case(own("    analysis:\n"), (5, 5, "add up to 0, not to 100")),
    Case(
        own("    analysis: {SiO2: 60, Al2O3: 20}\n    loss: 9\n"),
        (5, 5, "add up to 89, not to 100"),
        blind=True,
    ),
    Case(own("    analysis: {SiO2: 60 %, Al2O3: 40}\n"), (5, 22, "SiO2: '60 %' is not a plain number")),
    Case(own("    analysis: {SiO2: 60,5, Al2O3: 39.5}\n"), (5, 25, "'5' is not an oxide")),
    Case(own("    analysis: {silica: 100}\n"), (5, 16, "'silica' is not an oxide")),
    Case(own("    analysis: {SiO2: -1, Al2O3: 101}\n"), (5, 22, "'-1' is not a plain number")),
    Case(
        own("    analysis: {SiO2: 100}\n    formula: SiO2\n"),
        (6, 5, "an analysis and a formula for one material"),
    ),
    Case(own("    loss: 9\n"), (5, 5, "a loss on ignition without an analysis")),
    Case(own("    formula: SiO2\n    loss: 9\n"), (6, 5, "a loss on ignition beside a formula")),
    Case(own("    formula: sand\n"), (5, 14, "'sand' is not a chemical formula")),
    # ---- prices, and when to order --------------------------------------------------------------------
    Case(own("    price: 3.20 EUR/kg\n    order below: 1 kg\n")),
    Case(own("    price: 0.004 KWD / g\n    order below: 2.5 lb\n")),
    Case(own("    price: 3.20 EUR\n"), (5, 12, "does not say for how much")),
    Case(own("    price: 3,20 EUR/kg\n"), (5, 12, "a comma stands in it")),
    Case(own("    price: 3.20\n"), (5, 12, "it has no currency")),
    Case(own("    price: 3.20 EUX/kg\n"), (5, 12, "'EUX' is no currency of ISO 4217"), blind=True),
    Case(own("    order below: 5\n"), (5, 18, "'5' has no unit")),
    Case(own("    order below: 0 kg\n"), (5, 18, "cannot be weighed out"), blind=True),
    Case(own("    formula: Ca(OH2\n"), (5, 14, "is not a chemical formula"), blind=True),
]


def _label(case: Case) -> str:
    return case.text.strip().replace("\n", " / ").encode("unicode_escape").decode()[:70] or "nothing"


every_settings_case = pytest.mark.parametrize("case", SETTINGS_CASES, ids=_label)
every_material_case = pytest.mark.parametrize("case", MATERIAL_CASES, ids=_label)


@every_settings_case
def test_settings_are_taken_or_refused_at_their_place(case: Case) -> None:
    _check(case, settings, "glost.yaml")


@every_material_case
def test_materials_are_taken_or_refused_at_their_place(case: Case) -> None:
    _check(case, materials, "materials.yaml")


def _check(case: Case, read: Any, file: str) -> None:
    if case.refused is None:
        read(case.text)
        return
    with pytest.raises(ConfigError) as caught:
        read(case.text)
    error = caught.value
    line, column, message = case.refused
    assert (error.source.path, *error.position) == (file, line, column), error.message
    assert message in error.message
    assert error.message
    assert error.hint
    assert not error.hint.endswith(".")


@every_settings_case
def test_settings_schema_agrees(case: Case) -> None:
    _agrees(case, SETTINGS_SCHEMA)


@every_material_case
def test_materials_schema_agrees(case: Case) -> None:
    _agrees(case, MATERIALS_SCHEMA)


def _agrees(case: Case, schema: dict[str, Any]) -> None:
    agrees = schema_takes(case.text, schema) == (case.refused is None)
    # A case is called blind only where it truly is, so that the list stays honest.
    assert agrees != case.blind


@pytest.mark.parametrize("schema", [SETTINGS_SCHEMA, MATERIALS_SCHEMA], ids=["settings", "materials"])
def test_schema_is_one_and_describes_every_key(schema: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    met = 0
    for name, part in _parts(schema):
        if "properties" in part and "additionalProperties" in part:
            assert part["additionalProperties"] is False, name
        if name in ("if", "then", "not"):
            continue
        for key, value in part.get("properties", {}).items() if "additionalProperties" in part else ():
            met += 1
            assert value["description"].endswith("."), key
            assert value["examples"], key
            validator = jsonschema.Draft202012Validator({**value, "$defs": schema["$defs"]})
            for example in value["examples"]:
                validator.validate(example)
    assert met > 10


def _parts(schema: Any, name: str = "") -> list[tuple[str, dict[str, Any]]]:
    if isinstance(schema, list):
        return [part for item in schema for part in _parts(item, name)]
    if not isinstance(schema, dict) or name in ("examples", "enum", "default"):
        return []
    return [(name, schema), *(part for key, value in schema.items() for part in _parts(value, key))]


def test_schemas_know_the_keys_roles_rules_and_levels_that_there_are() -> None:
    assert set(SETTINGS_SCHEMA["properties"]) == set(KEYS)
    assert SETTINGS_SCHEMA["properties"]["rules"]["properties"] == rules_of_the_schema(), (
        "run: python -m tests.generate schema"
    )
    assert {level for level in SETTINGS_SCHEMA["$defs"]["level"]["enum"] if level} == set(LEVELS)
    entry = MATERIALS_SCHEMA["$defs"]["material"]
    assert set(entry["properties"]) == set(MATERIAL_KEYS)
    assert entry["properties"]["role"]["enum"] == list(ROLES)


def test_defaults_in_the_schema_are_the_defaults() -> None:
    properties = SETTINGS_SCHEMA["properties"]
    said = settings(
        f"weighing tolerance: {properties['weighing tolerance']['default']}\n"
        f"base tolerance: {properties['base tolerance']['default']}\n"
    )
    assert said == Settings()


def test_demo_collection_agrees_with_the_schemas() -> None:
    assert schema_takes((STUDIO / "glost.yaml").read_text("utf-8"), SETTINGS_SCHEMA)
    assert schema_takes((STUDIO / "materials.yaml").read_text("utf-8"), MATERIALS_SCHEMA)


# ---- values ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "written", ["no", "012", "1:30", "1e3", "~", "yes", "null", "0x1F", "1_000", "2026-03-14", "NO"]
)
def test_what_is_written_stays(written: str) -> None:
    assert settings(f"name: {written}\n").name == written
    assert settings(f"handling: {{silica: {written}}}\n").handling == {"silica": written}
    assert settings(f"handling: {{{written}: gloves}}\n").handling == {written: "gloves"}
    found = materials(own(f"    aliases: [{written} alias]\n    note: {written}\n", name=written)).find(
        f"{written} alias"
    )
    assert found is not None
    assert (found.name, found.note) == (written, written)


def test_every_setting_is_read() -> None:
    said = settings(
        "name: a  b\nbatch: 0.5 kg\nweighing tolerance: 1 %\nbase tolerance: 0.1\nmaterials: ./own//m.yaml\n"
        "water: 62.5 %\nsieve: 80 mesh\nskip: [a/, ./b/c]\nhandling: {silica: x, all: y}\n"
        "rules: {base-total: off}\n"
        "balances: [{name: fine, capacity: 300 g, readability: 0.01 g, cup: 20 g}]\n"
    )
    assert (said.name, said.batch_g, said.weighing_tolerance) == ("a b", Decimal(500), Decimal("0.01"))
    assert (said.base_tolerance, said.materials, said.water) == (
        Decimal("0.1"),
        "own/m.yaml",
        Decimal("62.5"),
    )
    assert (said.sieve, said.skip) == (80, ("a", "b/c"))
    assert dict(said.handling) == {"silica": "x", "all": "y"}
    assert dict(said.rules) == {"base-total": "off"}
    assert [(b.name, b.capacity_g, b.readability_g, b.cup_g) for b in said.balances] == [
        ("fine", Decimal(300), Decimal("0.01"), Decimal(20))
    ]


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("btach: 100 g\n", "did you mean 'batch'?"),
        ("batch: 100\n", "write 100 g"),
        ("batch: 100 grams\n", "write 100 g"),
        ("batch: 0,5 kg\n", "0.5 kg"),
        ("weighing tolerance: 2\n", "such as 2 %"),
        ("rules: {base-totl: off}\n", "did you mean 'base-total'?"),
        ("rules: {base-total: loud}\n", "write one of: off, hint, warning, error"),
        (
            "balances: [{name: fine, capacity: 300 g, readability: 0,01 g}]\n",
            "if a decimal comma stands before it, write a point",
        ),
        ("handling:\n  silica: P100: always\n", "double quotes"),
    ],
)
def test_the_hint_says_what_to_write(text: str, hint: str) -> None:
    with pytest.raises(ConfigError) as caught:
        settings(text)
    assert hint in caught.value.hint


def test_a_byte_order_mark_and_windows_line_breaks_are_no_matter() -> None:
    text = "name: x\nhandling:\n  silica: a\n  kaolin: b\n"
    assert settings("\ufeff" + text.replace("\n", "\r\n")) == settings(text)
    with pytest.raises(ConfigError) as caught:
        settings("\ufeff" + text.replace("\n", "\r\n") + "btach: 1 g\r\n")
    assert tuple(caught.value.position) == (5, 1)
    with pytest.raises(ConfigError) as caught:
        settings("\ufeffname: @x\r\n")
    assert tuple(caught.value.position) == (1, 8)  # the mark is a character of the line


def test_a_text_too_long_is_refused_before_it_is_read() -> None:
    with pytest.raises(ConfigError, match="too large"):
        settings("#" * (LARGEST_FILE + 1))


# ---- collections on disk -----------------------------------------------------------------------------------

RECIPE = (
    'glaze "Harbour Mist"\ncone: 6\n\nbase:\n    nepheline syenite      60\n    whiting                40\n'
)


def collection(folder: Path) -> Collection:
    return Collections().of(folder / "a.glost")


def refused(folder: Path) -> ConfigError:
    with pytest.raises(ConfigError) as caught:
        collection(folder)
    assert caught.value.message
    assert caught.value.hint
    return caught.value


def test_the_nearest_settings_above_a_recipe_hold(tmp_path: Path) -> None:
    (tmp_path / "in" / "deep").mkdir(parents=True)
    (tmp_path / "glost.yaml").write_text("name: outer\n")
    (tmp_path / "in" / "glost.yaml").write_text("name: inner\n")
    collections = Collections()
    assert collections.of(tmp_path / "a.glost").settings.name == "outer"
    inner = collections.of(tmp_path / "in" / "deep" / "a.glost")
    assert (inner.settings.name, inner.root) == ("inner", tmp_path / "in")
    assert collections.of(tmp_path / "in" / "b.glost") is inner


def test_materials_file_is_found_in_the_folder(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "glost.yaml").write_text("materials: own/m.yaml\nhandling: {hbc: gloves}\n")
    (tmp_path / "own" / "m.yaml").write_text(own("    aliases: [hbc]\n"))
    found = collection(tmp_path).catalogue.find("HBC")
    assert found is not None
    assert found.name == "house ball clay"


@pytest.mark.parametrize("named", ["materials.yaml", "own", "gone/materials.yaml", "~", "x" * 300 + ".yaml"])
def test_materials_file_that_is_not_there(tmp_path: Path, named: str) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "glost.yaml").write_text(f"# not {named}\nmaterials: {named}\n")
    error = refused(tmp_path)
    assert (tuple(error.position), error.message) == ((2, 12), f"there is no file '{named}' here")


def test_materials_file_by_a_link_that_leads_out(tmp_path: Path) -> None:
    inside = tmp_path / "studio"
    inside.mkdir()
    (tmp_path / "m.yaml").write_text(own())
    (inside / "m.yaml").symlink_to(tmp_path / "m.yaml")
    (inside / "glost.yaml").write_text("materials: m.yaml\n")
    assert "lies outside the collection" in refused(inside).message
    (inside / "there").symlink_to(tmp_path)
    (inside / "glost.yaml").write_text("materials: there/m.yaml\n")
    assert "lies outside the collection" in refused(inside).message


def test_materials_file_by_a_loop_of_links(tmp_path: Path) -> None:
    (tmp_path / "m.yaml").symlink_to(tmp_path / "m.yaml")
    (tmp_path / "glost.yaml").write_text("materials: m.yaml\n")
    assert "there is no file" in refused(tmp_path).message


def test_a_collection_reached_by_a_link_is_a_collection(tmp_path: Path) -> None:
    (tmp_path / "studio").mkdir()
    (tmp_path / "studio" / "m.yaml").write_text(own())
    (tmp_path / "studio" / "glost.yaml").write_text("materials: m.yaml\n")
    (tmp_path / "link").symlink_to(tmp_path / "studio")
    assert collection(tmp_path / "link").catalogue.find("house ball clay")


@pytest.mark.parametrize("file", ["glost.yaml", "materials.yaml"])
@pytest.mark.parametrize(
    ("data", "position", "message"),
    [
        (b"name: a\x00b\n", (1, 8), "zero byte"),
        ("name: Kr\u00fcge\n".encode("latin-1"), (1, 9), "0xfc"),
        ("name: x\n".encode("utf-16"), (1, 1), "UTF-16"),
        (b"name: x\n" * 10_002, (1, 1), "more than 10,000 lines"),
    ],
)
def test_bytes_that_are_no_text(
    tmp_path: Path, file: str, data: bytes, position: tuple[int, int], message: str
) -> None:
    (tmp_path / "glost.yaml").write_text("materials: materials.yaml\n")
    (tmp_path / file).write_bytes(data)
    error = refused(tmp_path)
    assert error.source.path.endswith(file)
    assert tuple(error.position) == position
    assert message in error.message
    assert "recipe" not in error.hint


def test_a_file_of_50_megabytes(tmp_path: Path) -> None:
    with (tmp_path / "glost.yaml").open("wb") as file:
        file.truncate(50_000_000)
    error = refused(tmp_path)
    assert error.message == "this file holds 50,000,000 bytes; 262,144 are read at most"


@pytest.mark.parametrize("kind", ["folder", "link"])
def test_settings_that_are_no_file_are_not_passed_over(tmp_path: Path, kind: str) -> None:
    if kind == "folder":
        (tmp_path / "glost.yaml").mkdir()
    else:
        (tmp_path / "glost.yaml").symlink_to(tmp_path / "gone.yaml")
    assert refused(tmp_path).message in ("this is a folder", "there is no such file")


def test_a_house_note_that_no_sheet_would_print(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("handling:\n  all: wet-clean\n  sillica: P100 respirator\n")
    error = refused(tmp_path)
    assert tuple(error.position) == (3, 3)
    assert "'sillica'" in error.message
    assert "did you mean 'silica'?" in error.hint


def test_two_house_notes_for_one_material(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("handling:\n  kaolin: a\n  china clay: b\n")
    error = refused(tmp_path)
    assert (tuple(error.position), error.message) == (
        (3, 3),
        "'kaolin' and 'china clay' are one material, with two house notes",
    )


def test_skipped_folders_are_left_out_unless_named(tmp_path: Path) -> None:
    for folder in ("a", "skipped", "a/skipped", ".hidden"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "r.glost").write_text(RECIPE)
    (tmp_path / "glost.yaml").write_text("skip: [skipped/]\n")
    collections = Collections()
    assert find([str(tmp_path)], collections) == [
        tmp_path / "a" / "r.glost",
        tmp_path / "a" / "skipped" / "r.glost",
    ]
    assert find([str(tmp_path / "skipped")], collections) == [tmp_path / "skipped" / "r.glost"]


def test_command_shows_place_line_and_hint(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: x\nbtach: 100 g\n")
    (tmp_path / "a.glost").write_text(RECIPE)
    for command in (["lint"], ["convert", "--to", "json"]):
        done = run(*command)
        assert done.returncode == 2, command
        assert done.stderr == (
            "glost.yaml:2:1: error: 'btach' is not a key of glost.yaml (unreadable)\n"
            "    2 | btach: 100 g\n"
            "      | ^\n"
            "      hint: did you mean 'batch'? the keys are: name, batch, balances, weighing tolerance, base "
            "tolerance, materials, water, sieve, skip, handling, bodies, rules\n"
        ), command
    assert (tmp_path / "a.glost").read_text() == RECIPE


def test_control_characters_in_names_do_not_reach_the_terminal(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text('"\\e[2J": x\n')
    (tmp_path / "a.glost").write_text(RECIPE)
    done = run("lint")
    assert done.returncode == 2
    assert "\x1b" not in done.stdout + done.stderr
