"""A rule's page, made from the rule itself: what it finds, why it matters, how to fix it."""

from __future__ import annotations

from functools import partial

from glost.language import tree
from glost.language.source import Source
from glost.language.yaml_tree import read as read_yaml
from glost.linter.engine import LintContext, examine
from glost.linter.finding import Finding
from glost.linter.report import cross_check
from glost.linter.reporters import plain
from glost.linter.rule import Rule, Weighed, all_rules
from glost.recipe.library import Kept, Library, Read
from glost.recipe.materials.catalogue import Catalogue, shipped_catalogue
from glost.recipe.materials.own import with_own_materials
from glost.recipe.resolve import resolve_own
from glost.recipe.settings import Settings, read_settings

EXAMPLE = "harbour-mist.glost"
BESIDE = "beside.glost"
"""The names that a rule's examples are read under."""


def listing() -> str:
    """One line a rule."""
    widest = max(len(rule.name) for rule in all_rules())
    return "".join(f"{rule.name:<{widest}}  {rule.level:<7}  {rule.summary}\n" for rule in all_rules())


def listing_markdown() -> str:
    """The first page of the rules' documentation."""
    rows = [f"| [{rule.name}]({rule.name}.md) | {rule.level} | {rule.summary} |" for rule in all_rules()]
    return "\n".join(
        [
            "# The rules",
            "",
            "Made from the rules themselves; `glost explain RULE` prints the same pages.",
            "Why each has its level: [levels](../levels.md). How to run the linter: [linting](../linting.md).",
            "",
            "| rule | level | finds |",
            "| --- | --- | --- |",
            *rows,
            "",
        ]
    )


def example_settings(rule: Rule) -> Settings:
    """The settings that a rule's examples stand under."""
    return read_settings(Source("glost.yaml", rule.settings), frozenset({rule.name}))


def example_catalogue(rule: Rule) -> Catalogue:
    """The materials that a rule's examples are read with."""
    if not rule.materials:
        return shipped_catalogue()
    source = Source("materials.yaml", rule.materials)
    return with_own_materials(shipped_catalogue(), source, read_yaml(source))


def example_context(rule: Rule) -> LintContext:
    """The collection that a rule's examples stand in, with the recipe beside them where there is one."""
    catalogue = example_catalogue(rule)

    def read(page: tree.Page) -> Read:
        own = resolve_own(page, catalogue)
        return Read(page, own.recipe, own.complete)

    beside = [] if rule.beside is None else [Kept(BESIDE, partial(str, rule.beside))]
    return LintContext(catalogue, example_settings(rule), finder=Library(lambda: beside, read))


def findings(rule: Rule, text: str, rules: tuple[Rule, ...], file: str = EXAMPLE) -> list[Finding]:
    """What ``rules`` find on an example of ``rule``, with the recipe beside it in mind where there is one."""
    context = example_context(rule)._replace(rules=rules)
    if rule.firing is not None:
        context = context._replace(finder=_beside(rule, example_catalogue(rule)), around=_Example())
    reports = [examine(Source(file, text), context)]
    if rule.beside is not None:
        reports.append(examine(Source(BESIDE, rule.beside), context))
    return [finding for finding in cross_check(reports) if finding.file == file]


_LOGGED = "2026-03-14T10-22-05-harbour-mist-2b29422a"


class _Example:
    """The surroundings of an example: no photo, and a log of one batch."""

    def has_photo(self, place: str) -> bool:  # noqa: ARG002 (as surroundings have it)
        return False

    def batch(self, name: str) -> Weighed | None:
        return Weighed("Harbour Mist", "", _LOGGED[:10]) if name == _LOGGED else None


def _beside(rule: Rule, catalogue: Catalogue) -> Library | None:
    """The recipe beside an example, for a firing that names it."""
    text = rule.beside
    if text is None:
        return None

    def read(page: tree.Page) -> Read:
        own = resolve_own(page, catalogue)
        return Read(page, own.recipe, own.complete)

    return Library(lambda: [Kept(BESIDE, lambda: text)], read)


def report(rule: Rule) -> str:
    """What the rule says of its bad example."""
    return plain.text(findings(rule, rule.bad, (rule,)))


def text(rule: Rule) -> str:
    """The page for a terminal."""
    parts = [f"{rule.name} ({rule.level})", rule.summary, rule.why, f"How to fix it:\n{rule.how_to_fix}"]
    if rule.settings:
        parts.append("In a collection whose glost.yaml says:\n\n" + _indented(rule.settings))
    if rule.materials:
        parts.append("and whose materials.yaml says:\n\n" + _indented(rule.materials))
    if rule.beside is not None:
        parts.append(f"With this recipe beside it, as {BESIDE}:\n\n" + _indented(rule.beside))
    parts += [
        "Found here:\n\n" + _indented(rule.bad),
        _indented(report(rule)),
        "Fixed:\n\n" + _indented(rule.good),
    ]
    if rule.fixed is not None and rule.fixed != rule.good:
        parts.append("By glost lint --fix:\n\n" + _indented(rule.fixed))
    if rule.rescaled is not None:
        parts.append("By glost lint --fix --rescale:\n\n" + _indented(rule.rescaled))
    return "\n\n".join(part.rstrip("\n") for part in parts) + "\n"


def markdown(rule: Rule) -> str:
    """The page of the documentation."""
    parts = [
        f"# {rule.name}",
        f"**{rule.summary}** Level: {rule.level}, unless the collection's glost.yaml sets another.",
        "## Why it matters",
        rule.why,
        "## How to fix it",
        rule.how_to_fix,
        "## Example",
    ]
    if rule.settings:
        parts += ["In a collection whose glost.yaml says", _fenced("yaml", rule.settings)]
    if rule.materials:
        parts += ["and whose materials.yaml says", _fenced("yaml", rule.materials)]
    if rule.beside is not None:
        parts += [f"With this recipe beside it, as `{BESIDE}`:", _fenced("glost", rule.beside)]
    parts += [
        _fenced("glost", rule.bad),
        "`glost lint` says",
        _fenced("text", report(rule)),
        "Fixed:",
        _fenced("glost", rule.good),
    ]
    if rule.fixed is not None and rule.fixed != rule.good:
        parts += ["By `glost lint --fix`:", _fenced("glost", rule.fixed)]
    if rule.rescaled is not None:
        parts += ["By `glost lint --fix --rescale`:", _fenced("glost", rule.rescaled)]
    parts.append(f"<!-- made from src/glost/linter/rules/{rule.name.replace('-', '_')}.py -->")
    return "\n\n".join(part.rstrip("\n") for part in parts) + "\n"


def _fenced(language: str, text: str) -> str:
    return f"```{language}\n{text.rstrip()}\n```"


def _indented(text: str) -> str:
    return "".join(f"    {line}\n" if line else "\n" for line in text.splitlines())
