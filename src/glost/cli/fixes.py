"""What --fix tells of a page: every fix by its line, before and after."""

from __future__ import annotations

from collections.abc import Iterator

from glost.cli.colours import say_difference
from glost.cli.difference import difference
from glost.cli.streams import note
from glost.linter.fixing import Fix
from glost.linter.reporters.plain import visible
from glost.linter.rescaling import NotRescaled, Rescaled
from glost.workspace.runs.lint_options import Changes


def tell_changes(file: str, changes: Changes, only_show: bool) -> None:
    """Notes every change that was made in a file of that name; where they are only shown, says the difference and notes
    what would be changed."""
    shown = visible(file)
    if only_show and not changes.left:
        say_difference(difference(shown, changes.before, changes.after, "fixed"))
    note("".join(_told(shown, changes, only_show)))


def _told(shown: str, changes: Changes, only_show: bool) -> Iterator[str]:
    if changes.left:
        yield f"{shown}: left as it is: {visible(changes.left)}\n"
        return
    for fix in changes.fixes:
        yield f"{shown}:{fix.line}: {'would be fixed' if only_show else 'fixed'}: {_before_and_after(fix)}\n"
    match changes.rescaled:
        case Rescaled() as rescaled:
            done = "would be rescaled" if only_show else "rescaled"
            yield f"{shown}:{rescaled.head}: {done}: the base, from a total of {rescaled.total:f} to 100\n"
            for line in rescaled.lines:
                yield f"{shown}:{line.number}: {done}: {visible(line.name)}  {line.before} -> {line.after}\n"
        case NotRescaled() as reason:
            yield f"{shown}:{reason.line}: not rescaled: {visible(reason.message)}; {visible(reason.hint)}\n"


def _before_and_after(fix: Fix) -> str:
    more = f", and so on {fix.more} more line{'s' if fix.more > 1 else ''}" if fix.more else ""
    return f"'{visible(fix.before)}' -> '{visible(fix.after)}'{more}"
