"""Small pictures of photos on the disk, for pages. Pillow makes them (the extra ``photos``); it is imported when the
first one is asked for, and without it there are none.

A photo may be anybody's: it is looked at by its form and its size before any of it is unpacked, and the small one is
drawn anew, upright, so that nothing of the camera's goes along.
"""

from __future__ import annotations

import io
import stat
import warnings
from base64 import b64encode
from pathlib import Path
from typing import Final

from glost.workspace.paths import lies_within

_FORMS: Final = ("JPEG", "PNG", "WEBP")
_MOST_BYTES: Final = 40 * 1024 * 1024
_MOST_DOTS: Final = 60_000_000
MOST: Final = 1000
"""Small pictures on one page; what is more is linked."""
SIDE: Final = 240
"""Dots on the longer side of a small picture."""


class Photos:
    """Makes small pictures, at most so many. ``missing``: Pillow is not there. ``refused``: photos that are no
    pictures, or too large."""

    def __init__(self, most: int = MOST) -> None:
        self._left = most
        self.missing = False
        self.refused: list[Path] = []

    def small(self, photo: Path) -> str:
        """The small picture as the address of an image, "" where there is none."""
        if not self._left:
            return ""
        try:
            from PIL import Image, ImageOps
        except ImportError:
            self.missing = True
            return ""
        try:
            about = photo.stat()
            if not stat.S_ISREG(about.st_mode) or about.st_size > _MOST_BYTES:
                raise ValueError("no plain file of that size is a photo")
            with warnings.catch_warnings(action="ignore"), Image.open(photo, formats=_FORMS) as image:
                if image.width * image.height > _MOST_DOTS:
                    raise ValueError("too many dots")
                image.draft("RGB", (SIDE * 2, SIDE * 2))
                upright = ImageOps.exif_transpose(image)
                upright.thumbnail((SIDE, SIDE))
                plain = Image.new("RGB", upright.size, "white")
                with_alpha = upright.convert("RGBA")
                plain.paste(with_alpha, mask=with_alpha)
            made = io.BytesIO()
            plain.save(made, "JPEG", quality=80)
        except (
            Exception
        ):  # whatever a broken or hostile picture brings a reader to: there is no picture of it
            self.refused.append(photo)
            return ""
        self._left -= 1
        return f"data:image/jpeg;base64,{b64encode(made.getvalue()).decode()}"


def photo_of(page: Path, place: str, root: Path | None) -> Path | None:
    """The photo that a firing's page names; None where there is none within the collection."""
    photo = page.parent / place
    top = root or page.parent
    return photo if lies_within(top.absolute(), str(photo.absolute())) and photo.is_file() else None
