"""Findings as JUnit XML, which most build servers show: a suite a file, a case a finding.

An error is a failure. Warnings and hints, which let a run pass, are skipped cases, so that they are shown and fail
nothing. Where nothing is found one case says so and passes: some build servers take a report without a case for a run
that did not happen. The elements and attributes are those that build servers have in common (from memory: there is no
standard).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from xml.sax.saxutils import escape, quoteattr

from glost.linter.finding import ERROR, Finding
from glost.linter.reporters import plain
from glost.linter.reporters.plain import visible


def junit(findings: Sequence[Finding]) -> Iterator[str]:
    """One document."""
    tests, failures, errors, _ = _counts(findings)
    yield f'<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="glost" {tests} {failures} {errors}>\n'
    for file, mine in groupby(findings, key=lambda finding: finding.file):
        yield _suite(file, list(mine))
    yield f"{'' if findings else _NOTHING}</testsuites>\n"


_NOTHING = """\
  <testsuite name="glost" tests="1" failures="0" errors="0" skipped="0">
   <testcase classname="glost" name="nothing found"/>
  </testsuite>
"""


def _suite(file: str, findings: list[Finding]) -> str:
    cases = "".join(map(_case, findings))
    return f" <testsuite name={_attribute(file)} {' '.join(_counts(findings))}>\n{cases} </testsuite>\n"


def _counts(findings: Sequence[Finding]) -> tuple[str, str, str, str]:
    """The attributes that count cases; the last one is known to suites alone."""
    tests = max(1, len(findings))
    failures = sum(finding.level == ERROR for finding in findings)
    return f'tests="{tests}"', f'failures="{failures}"', 'errors="0"', f'skipped="{len(findings) - failures}"'


def _case(finding: Finding) -> str:
    place = f"{finding.file}:{finding.line}:{finding.column}"
    head = (
        f"  <testcase classname={_attribute(finding.file)} name={_attribute(f'{finding.rule} at {place}')}>\n"
    )
    message = _attribute(finding.message)
    if finding.level == ERROR:
        told = escape(plain.text([finding]))
        body = f"   <failure type={_attribute(finding.rule)} message={message}>{told}</failure>\n"
    else:
        body = f"   <skipped message={_attribute(f'{finding.level}: {finding.message}')}/>\n"
    return f"{head}{body}  </testcase>\n"


def _attribute(text: str) -> str:
    return quoteattr(visible(text))
