"""``python -m glost`` is the command ``glost``."""

from glost.cli import main

if __name__ == "__main__":
    main()
