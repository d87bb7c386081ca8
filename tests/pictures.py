"""Pictures as phones send them, made on the spot."""

import io
from typing import Any

from PIL import Image


def picture_bytes(kind: str = "JPEG", size: tuple[int, int] = (40, 20), **options: Any) -> bytes:
    """A picture of ``size`` pixels, red on its left half and blue on its right."""
    picture = Image.new("RGB", size, "blue")
    picture.paste("red", (0, 0, size[0] // 2, size[1]))
    written = io.BytesIO()
    picture.save(written, kind, **options)
    return written.getvalue()
