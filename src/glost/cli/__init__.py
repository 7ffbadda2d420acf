"""The command line: it prints and exits; it decides nothing.

``glost lint`` over paths alone, which is what a person types and what a commit hook runs, and ``glost textconv``, which
git starts for each page that it shows, need no command-line library and do not wait for one; everything else is told by
app.py.
"""

from __future__ import annotations

import os
import sys

# What is imported above main() cannot be stopped with a word of ours, so next to nothing is.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from types import FrameType
    from typing import NoReturn

CLEAN, FINDINGS, UNUSABLE, INTERRUPTED = 0, 1, 2, 130
"""Exit status: nothing found; something found; wrong usage or unreadable input; stopped with Ctrl-C."""


def main(arguments: Sequence[str] | None = None) -> None:
    """Runs the command line and exits. No exception reaches the user as a traceback."""
    try:
        _listen()
        from glost.cli import streams
    except KeyboardInterrupt:
        _leave_at_once()
    streams.settle()
    try:
        status = _run(sys.argv[1:] if arguments is None else arguments)
        streams.finish()
    except streams.StreamError as error:
        streams.note(f"glost: standard output cannot be written: {error}\n")
        status = UNUSABLE
    except KeyboardInterrupt:
        streams.take_back()
        _leave_at_once()
    except _Ended as ended:
        _leave_at_once(ended.number)
    except OSError as error:
        streams.give_up()
        streams.note(f"glost: {error.strerror or error}\n")
        status = UNUSABLE
    except RecursionError:
        streams.note("glost: the input is nested too deeply\n")
        status = UNUSABLE
    except Exception as error:
        if os.environ.get("GLOST_DEBUG"):
            raise
        streams.note(
            f"glost: a mistake in glost itself ({type(error).__name__}: {error}). "
            "Please report it; GLOST_DEBUG=1 shows where it happened.\n"
        )
        status = UNUSABLE
    _listen_no_more()
    sys.exit(status)


def _run(arguments: Sequence[str]) -> int:
    if arguments[:1] == ["lint"] and not any(word.startswith("-") for word in arguments):
        status = _lint(arguments[1:])
        if status is not None:
            return status
    if arguments[:1] == ["textconv"]:
        named = arguments[2:] if arguments[1:2] == ["--"] else arguments[1:]
        if len(named) == 1 and (len(arguments) == 3 or not named[0].startswith("-")) and _textconv(named[0]):
            return CLEAN
    from glost.cli.app import run

    return run(arguments)


def _textconv(path: str) -> bool:
    """Prints a page as git's diff should see it; whether that was done, else the command says why not."""
    from glost.cli.shown_to_git import show_file

    try:
        return show_file(path)
    except OSError:
        return False


def _lint(paths: Sequence[str]) -> int | None:
    """Checks files and folders as ``glost lint`` does where it has no options; None where that has more to say of
    the paths: one is not there, nor perhaps the folder that this runs in, or the system leaves it to the command to
    find what a pattern means."""
    from glost.cli.common import show_left_out, show_none_found
    from glost.cli.errors import show_error
    from glost.cli.linting import lint
    from glost.language.yaml_tree import ConfigError
    from glost.workspace.collection import Collections, PathNotFoundError, find
    from glost.workspace.paths import PAGES
    from glost.workspace.runs.lint_options import LintOptions

    if sys.platform == "win32":
        return None
    collections = Collections()
    try:
        os.getcwd()  # noqa: PTH109 (a string will do)
        chosen = find(paths or ["."], collections, PAGES)
        show_left_out(paths, collections)
        if not chosen:
            show_none_found(paths)
    except (PathNotFoundError, FileNotFoundError):
        return None
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    return lint(chosen, collections, LintOptions())


class _Ended(SystemExit):
    """The system, or whoever may, has asked this process to end; ``number`` is that of the signal."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.number = number


def _listen() -> None:
    """Hears Ctrl-C and requests to end, unless whoever started this run has them ignored."""
    import signal

    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _stop)
    if sys.platform != "win32":
        for number in (signal.SIGTERM, signal.SIGHUP):
            if signal.getsignal(number) is signal.SIG_DFL:
                signal.signal(number, _stop)
        sys.unraisablehook = _stop_later


def _listen_no_more() -> None:
    """The answer is given; while Python ends, Ctrl-C changes nothing of it."""
    import signal

    if signal.getsignal(signal.SIGINT) is _stop:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform != "win32":
        signal.setitimer(signal.ITIMER_REAL, 0)


def _stop(number: int, frame: FrameType | None) -> None:
    """Stops the run, so that what is half done is taken away. While a module is imported nothing is half done, and
    an exception might be swallowed there or come out as a traceback: then it ends at once."""
    import signal

    number = 0 if number == signal.SIGINT else number
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            _leave_at_once(number)
        frame = frame.f_back
    if number:
        raise _Ended(number)
    raise KeyboardInterrupt


def _stop_later(passed_over: sys.UnraisableHookArgs) -> None:
    """What is raised while Python takes an object away (a weak reference tells so, ``__del__`` runs) is passed over by
    it; a request to stop that came just then is made once more, when that is done."""
    error = passed_over.exc_value
    if sys.platform == "win32" or not isinstance(error, KeyboardInterrupt | _Ended):
        sys.__unraisablehook__(passed_over)
        return
    import signal

    number = error.number if isinstance(error, _Ended) else signal.SIGINT
    signal.signal(signal.SIGALRM, lambda _, frame: _stop(number, frame))
    signal.setitimer(signal.ITIMER_REAL, _SOON_S)


_SOON_S = 0.01


def _leave_at_once(number: int = 0) -> NoReturn:
    """Ends this process and those that work for it, without the orderly end of a pool, which can wait for ever on a
    lock that one of them held: by the signal of that number, else with a word, as after Ctrl-C."""
    children = getattr(
        sys.modules.get("multiprocessing"), "active_children", tuple
    )  # it may be half imported
    for process in children():
        process.kill()
    if number:
        import signal

        signal.signal(number, signal.SIG_DFL)
        os.kill(os.getpid(), number)
    if sys.stderr is not None:  # else another file may have its number
        try:  # noqa: SIM105 (what would need an import may be what is stopped)
            os.write(sys.stderr.fileno(), b"glost: stopped\n")
        except OSError:  # nobody can be told
            pass
    os._exit(INTERRUPTED)
