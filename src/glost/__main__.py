"""``python -m glost`` is the command ``glost``: this is where both begin."""

import sys


def main() -> None:
    """Runs the command line. Ctrl-C is answered from the first import on."""
    try:
        from glost import cli
    except KeyboardInterrupt:
        import os

        if sys.stderr is not None:
            os.write(2, b"glost: stopped\n")
        os._exit(130)
    cli.main()


if __name__ == "__main__":
    main()
