"""Notes out of strange hands: nothing climbs out of the folder, nothing takes long, nothing is silently lost."""

from __future__ import annotations

import re
import time
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from glost.notebook.bring import Brought, Form, bring
from glost.notebook.materials import Names
from glost.notebook.page import stem_of
from tests.notebook.bench import CATALOGUE, read

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


@pytest.mark.parametrize(
    "text",
    ["silica 22\n" * 9_000, "a" * 250_000, "1" * 250_000, "(" * 250_000, "silica " * 30_000, "1 " * 100_000,
     " " * 250_000 + "x", "# a" + " " * 250_000 + "b", "#" * 250_000 + "x", ", " * 120_000 + "x", "-" * 250_000 + "x",
     "^" * 250_000, "total " * 40_000, ": " * 120_000, '"' + "," * 250_000 + '"', "a: " + " ,;(" * 60_000 + "x",
     "\n".join(f"strange stuff{n} {n}" for n in range(9_000)), "Grey\nsilica 60\nkaolin 40\n\n" * 2_400],
    ids=lambda text: f"{text[:3].strip()}-{len(text)}",
)  # fmt: skip
def test_what_is_huge_is_answered_soon(text: str) -> None:
    began = time.process_time()
    for form in ("text", "csv"):
        of(text, form)
    assert time.process_time() - began < 20


def test_formula_in_a_cell_stays_text() -> None:
    done = of("recipe,material,amount\n=cmd(),silica,22\n@x,kaolin,4\n", "csv")
    assert [page.file for page in done.pages] == ["cmd.glost", "x.glost"]


def test_two_recipes_of_one_name_get_two_files() -> None:
    done = of("# Grey\nsilica 60\nkaolin 40\n\n# GREY!\nsilica 50\nkaolin 50\n")
    assert [page.file for page in done.pages] == ["grey.glost", "grey-2.glost"]


def numbers(text: str) -> Counter[int]:
    return Counter(int(run) for run in re.findall(r"[0-9]+", text))
