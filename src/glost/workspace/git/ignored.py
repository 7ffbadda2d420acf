"""What git is told to pass over below a folder: .gitignore at any depth, .git/info/exclude, core.excludesFile."""

from __future__ import annotations

import os
from pathlib import Path

from glost.workspace.git.folders import top_of
from glost.workspace.git.run import GitError, asked


def ignored_below(folder: Path) -> frozenset[str]:
    """The files and folders below a folder that git passes over and does not hold all the same, by their path as a walk
    from ``folder`` has it; the folder itself where all of it is passed over. A folder stands for all that lies in it.
    Nothing where no repository holds the folder, or git does not answer."""
    top = top_of(folder)
    if top is None:
        return frozenset()
    way = os.path.relpath(os.path.realpath(folder), os.path.realpath(top)).replace(os.sep, "/")
    try:
        listed = asked(
            top,
            *(
                "--literal-pathspecs",
                "ls-files",
                "--others",
                "--ignored",
                "--exclude-standard",
                "--directory",
            ),
            *("-z", "--", way),
        )
    except GitError:
        return frozenset()
    below = [Path(os.path.relpath(os.fsdecode(name), way)) for name in listed.split(b"\0")[:-1]]
    # A folder that lies in one that is passed over is named by that one.
    return frozenset(str(folder if name.parts[:1] in ((), ("..",)) else folder / name) for name in below)
