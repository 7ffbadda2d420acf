"""An allowance that is not written as one."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Choice, Diagnostic
from glost.language.nearest import nearest
from glost.language.source import Edit, Span
from glost.linter.allowances import Allowance
from glost.linter.finding import SYNTAX, UNREADABLE
from glost.linter.rule import Checked, Expected, Rule, rule_names


def check(checked: Checked) -> Iterator[Diagnostic]:
    for allowance in checked.allowances:
        if not allowance.rule:
            yield Diagnostic(
                allowance.span, "the allowance names no rule", "write  # allow RULE: why it may pass here"
            )
        elif allowance.rule in (SYNTAX, UNREADABLE):
            yield Diagnostic(
                allowance.span,
                "what cannot be read cannot be allowed",
                "fix the line, and take this comment away",
            )
        elif allowance.rule not in rule_names():
            near = nearest(allowance.rule, rule_names(), 1)
            if not near and not allowance.colon:
                continue  # a comment such as "allow slow-cooling to begin": no word for the linter
            meant = f"did you mean {near[0]}? " if near else ""
            yield Diagnostic(
                allowance.span,
                f"there is no rule '{allowance.rule}' to allow",
                f"{meant}'glost explain' lists the rules",
                choices=tuple(
                    Choice(one, Edit(_place_of(allowance, checked.resolved.page.source.text), one))
                    for one in near
                ),
            )
        elif not allowance.reason:
            yield Diagnostic(
                allowance.span,
                f"the allowance of {allowance.rule} gives no reason, so it is not taken",
                f"write  # allow {allowance.rule}: why it may pass here",
            )


def _place_of(allowance: Allowance, text: str) -> Span:
    """Where the name of the rule stands in the comment."""
    comment = text[allowance.span.start : allowance.span.end].lower()
    start = allowance.span.start + comment.index(
        allowance.rule.lower(), comment.index("allow") + len("allow")
    )
    return Span(start, start + len(allowance.rule))


RULE = Rule(
    name="allowance",
    level="error",
    summary="An allowance that is not written as one.",
    why="""\
A comment `# allow RULE: reason` lets one finding pass: behind a line it holds for that line, on a line of its own for
the next, above the first line for the whole page. Whoever reads the page later, perhaps the one who has to answer for
it, must see why. So an allowance without a reason is not taken, and one for a rule that does not exist is never
passed over in silence: its writer believes that something is allowed, and it is not. A line that cannot be read can
never be allowed. A comment that only begins with the word, such as "allow to dry overnight", is left alone.""",
    how_to_fix="""\
Write the rule's name, a colon and the reason, in words that will still mean something in two years. If nothing on the
line needs to be allowed, take the comment away.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                32
    alkaline frit           8  # allow soluble-material
""",
    expected=(Expected(9, 32, "the allowance of soluble-material gives no reason, so it is not taken"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                32
    soda ash                8  # allow soluble-material: carbon trap, mixed fresh for every firing

handling:
    soda ash: gloves and eye protection.
""",
    check=check,
)
