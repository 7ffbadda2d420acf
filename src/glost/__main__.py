"""``python -m glost`` is the command ``glost``: this is where both begin."""

import sys

_MANY_OBJECTS = 50_000
"""So many new ones, and Python looks for cycles among them. A start makes next to nothing but what stays, and with
Python's own 700 it would be looked through again and again: 5 of the 130 ms of a new page."""


def main() -> None:
    """Runs the command line. Ctrl-C is answered from the first import on."""
    try:
        import gc

        gc.set_threshold(_MANY_OBJECTS)
        from glost import cli
    except KeyboardInterrupt:
        import os

        if sys.stderr is not None:
            os.write(2, b"glost: stopped\n")
        os._exit(130)
    try:
        cli.main()
    finally:
        gc.freeze()  # else they are looked for once more at the end: 10 of the 60 ms of a known page


if __name__ == "__main__":
    main()
