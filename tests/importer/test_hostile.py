"""Notes out of strange hands: nothing climbs out of the folder, nothing takes long, nothing is silently lost."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glost.importer.import_file import Brought, Form, bring
from glost.importer.materials import Names
from glost.importer.page import stem_of
from tests.importer.bench import CATALOGUE, read
from tests.work import steps_grow_in_proportion, time_grows_in_proportion

NAMES = Names(CATALOGUE)


def of(text: str, form: Form = "text") -> Brought:
    return bring("x", text, form, Names(CATALOGUE), set())


@given(st.text())
@settings(max_examples=200, deadline=None)
def test_name_of_a_file_is_a_plain_one(name: str) -> None:
    stem = stem_of(name)
    assert stem.replace("-", "").isalnum()
    assert len(stem.encode("utf-8")) <= 110
    assert not stem.startswith((".", "-"))


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("../../x", "x"),
        ("C:\\Windows\\x", "c-windows-x"),
        ("~/.ssh/config", "ssh-config"),
        ("CON", "con-recipe"),
        ("lpt1", "lpt1-recipe"),
        ("...", "recipe"),
        ("", "recipe"),
        ("a" * 5000, "a" * 100),
        ("Straße", "strasse"),
    ],
)
def test_names_of_files(name: str, stem: str) -> None:
    assert stem_of(name) == stem


WORDS = st.sampled_from(
    ["silica", "whiting", "tin oxide", "22", "0,5", "1/2", "½", "%", "g", "-----", "Total", "100", "add:", "+",
     "cone 6", "^6", "ox", "Grey", "\n", "\n\n", "#", '"', "(", ")", "200 mesh", "4-5", "trace", "=", "|",
     "\t", "\u202e", "\x1b[2J",
     "12.3.2024", "notes:", "source: 7", "1,500", "1.2.3.4", "999999999999", "~3", "\ufeff", ";", ","]
)  # fmt: skip


@given(st.lists(WORDS, max_size=40).map(" ".join))
@settings(max_examples=300, deadline=None)
def test_whatever_is_written_no_number_is_lost(text: str) -> None:
    for form in ("text", "csv"):
        done = bring("x", text, form, NAMES, set())
        if done.refused:
            continue
        for page in done.pages:
            read(page.text)
        kept = [re.sub(r"^origin: x, line .*$", "", page.text, flags=re.M) for page in done.pages]
        kept += [remark.text for remark in done.remarks]
        there, here = numbers(text), numbers("\n".join(kept))
        assert there <= here if form == "text" else set(there) <= set(here)


@given(st.text(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_text_is_taken_or_refused(text: str) -> None:
    for form in ("text", "csv", "json"):
        for page in bring("x", text, form, NAMES, set()).pages:
            read(page.text)


def repeated(start: str, unit: str, end: str, size: int) -> str:
    """``{}`` in the unit stands for a number that differs in each."""
    return start + "".join(unit.replace("{}", str(number)) for number in range(size)) + end


@pytest.mark.parametrize("form", ["text", "csv"])
@pytest.mark.parametrize(
    ("start", "unit", "end"),
    [("", "silica 22\n", ""), ("", "a", ""), ("", "1", ""), ("", "(", ""), ("", "silica ", ""), ("", "1 ", ""),
     ("", " ", "x"), ("# a", " ", "b"), ("", "#", "x"), ("", ", ", "x"), ("", "-", "x"), ("", "^", ""),
     ("", "total ", ""), ("", ": ", ""), ('"', ",", '"'), ("a: ", " ,;(", "x"), ("", "strange stuff{} {}\n", ""),
     ("", "Grey\nsilica 60\nkaolin 40\n\n", "")],
    ids=lambda text: ascii(text)[1:6].strip(),
)  # fmt: skip
def test_work_grows_in_proportion_to_what_is_written(form: Form, start: str, unit: str, end: str) -> None:
    def run(size: int) -> object:
        return of(repeated(start, unit, end, size), form)

    assert steps_grow_in_proportion(run, 60)
    assert time_grows_in_proportion(run, 600)


def test_formula_in_a_cell_stays_text() -> None:
    done = of("recipe,material,amount\n=cmd(),silica,22\n@x,kaolin,4\n", "csv")
    assert [page.file for page in done.pages] == ["cmd.glost", "x.glost"]


def test_two_recipes_of_one_name_get_two_files() -> None:
    done = of("# Grey\nsilica 60\nkaolin 40\n\n# GREY!\nsilica 50\nkaolin 50\n")
    assert [page.file for page in done.pages] == ["grey.glost", "grey-2.glost"]


def numbers(text: str) -> Counter[int]:
    return Counter(int(run) for run in re.findall(r"[0-9]+", text))
