"""What glost itself wrote as data comes back as equal recipes; a page that cannot say a recipe is not written."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given, settings

from glost.importer.import_file import Form, bring
from glost.importer.materials import Names
from glost.importer.page import with_materials
from glost.language.parse import parse
from glost.language.source import Source
from glost.output.format import Job
from glost.recipe.recipe import Recipe
from glost.recipe.resolve import resolve_own
from glost.workspace.collection import Collections, find
from glost.workspace.load import load
from tests.conftest import STUDIO, TOP
from tests.importer.bench import CATALOGUE, read
from tests.output.convert.bench import job_of, several, text_in

FORMATS: list[tuple[str, Form]] = [("csv", "csv"), ("json", "json"), ("jsonl", "json")]


@pytest.mark.parametrize(("name", "form"), FORMATS)
def test_the_whole_studio_comes_back(name: str, form: Form) -> None:
    collections = Collections()
    entries = [load(path, collections) for path in find([str(STUDIO)], collections)]
    catalogue = entries[0].collection.catalogue
    jobs = [Job(e.file, e.resolved.recipe, e.collection.settings, e.collection.catalogue) for e in entries]
    done = bring("studio", text_in(name, jobs), form, Names(catalogue), set())
    assert (done.refused, done.remarks) == ("", ())
    back = [resolve_own(parse(Source("x", page.text)), catalogue).recipe for page in done.pages]
    assert back == [
        replace(job.recipe, uses={}) for job in jobs
    ]  # what the other pages hold is theirs to say
    assert len({page.file for page in done.pages}) == len(jobs) >= 40


@pytest.mark.parametrize(("name", "form"), FORMATS)
def test_pages_of_the_conformance_suite_come_back(name: str, form: Form) -> None:
    pages = sorted((TOP / "corpus" / "conformance" / "accept").glob("*.glost"))
    assert len(pages) > 300
    for path in pages:
        case = json.loads(path.with_suffix(".json").read_text("utf-8"))
        if not case.get("usable", True):
            continue  # no page can say it whole
        recipe = resolve_own(parse(Source("x", path.read_text("utf-8"))), CATALOGUE).recipe
        done = bring("x", text_in(name, [job_of(recipe)]), form, Names(CATALOGUE), set())
        assert [read(page.text) for page in done.pages] == [recipe], path.name


@pytest.mark.parametrize(("name", "form"), FORMATS)
@given(recipes=several.filter(bool))
@settings(max_examples=40, deadline=None)
def test_recipe_of_any_kind_comes_back_or_is_reported(name: str, form: Form, recipes: list[Recipe]) -> None:
    done = bring("x", text_in(name, [job_of(recipe) for recipe in recipes]), form, Names(CATALOGUE), set())
    assert done.refused == ""
    assert len(done.pages) + sum(remark.kind == "unwritten" for remark in done.remarks) == len(recipes)
    meant = [with_materials(recipe, CATALOGUE) for recipe in recipes]
    assert all(read(page.text) in meant for page in done.pages)


def test_name_that_no_page_can_say_is_reported() -> None:
    recipe = replace(Recipe("glaze", 'a "b"'))
    done = bring("x", text_in("json", [job_of(recipe)]), "json", Names(CATALOGUE), set())
    assert done.pages == ()
    assert [remark.kind for remark in done.remarks] == ["unwritten"]


@pytest.mark.parametrize(
    ("amount", "said"),
    [
        ("-60", "recipes[0].base[0].amount: -60 stands here; write 0 or more"),
        ("true", "recipes[0].base[0].amount: write a number here"),
        ('"60"', "recipes[0].base[0].amount: write a number here"),
    ],
)
@pytest.mark.parametrize("end", ["", "\n"])
def test_what_is_wrong_in_a_document_of_one_line_is_said_of_its_place(
    amount: str, said: str, end: str
) -> None:
    line = f'{{"name": "silica", "amount": {amount}}}'
    text = f'{{"version": 1, "recipes": [{{"kind": "glaze", "name": "A", "base": [{line}]}}]}}{end}'
    assert bring("x", text, "json", Names(CATALOGUE), set()).refused == said


def test_what_is_wrong_in_json_lines_is_said_with_its_line() -> None:
    line = '{{"version": 1, "kind": "glaze", "name": "A", "base": [{{"name": "silica", "amount": {}}}]}}\n'
    said = "line 2: base[0].amount: -60 stands here; write 0 or more"
    assert bring("x", line.format(60) + line.format(-60), "json", Names(CATALOGUE), set()).refused == said
    alone = bring("x", line.format(-60), "json", Names(CATALOGUE), set()).refused
    assert alone == said.replace("line 2", "line 1")
