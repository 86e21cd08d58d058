"""Make a PNG small: scaled to a width and, where it is large, with a palette of 256 colours.

Usage: ``shrink_picture.py FROM TO WIDTH``
"""
from __future__ import annotations

import os
import sys

from PIL import Image

MOST_BYTES = 390_000


def shrink(source: str, target: str, width: int) -> None:
    """Scale a picture down to a width [px] and reduce its colours, step by step, until it is small enough."""
    picture = Image.open(source).convert("RGB")
    if picture.width > width:
        picture = picture.resize((width, round(picture.height * width / picture.width)), Image.Resampling.LANCZOS)
    picture.save(target, optimize=True)
    for colours in (256, 192, 128, 96, 64):
        if os.path.getsize(target) <= MOST_BYTES:
            return
        picture.quantize(colours, dither=Image.Dither.NONE).save(target, optimize=True)
    if os.path.getsize(target) > MOST_BYTES:
        raise SystemExit(f"{target} is larger than {MOST_BYTES} bytes even with 64 colours; choose a smaller width.")


if __name__ == "__main__":
    shrink(sys.argv[1], sys.argv[2], int(sys.argv[3]))
