"""Uploaded pictures, made anew: what a phone sends is read as a picture and written as a plain JPEG.

Nothing of the upload itself is kept: no name, no place or time it was taken, no code hidden in it.
"""

import io
import warnings
from typing import BinaryIO

from PIL import Image, ImageOps

#: Sharp enough to read a certificate by, small enough for a car park's signal.
LONGEST_SIDE = 1600
MOST_PIXELS = 60_000_000
_FORMATS = ("JPEG", "PNG", "WEBP")
_QUALITY = 80


class NotAPicture(ValueError):
    """The upload cannot be read as a picture of a kind that phones make."""


def as_jpeg(upload: BinaryIO) -> bytes:
    """The upload as a JPEG at most LONGEST_SIDE pixels long, upright, without metadata. Raises NotAPicture."""
    try:
        with warnings.catch_warnings():
            # A picture far larger than any camera's is an attack on our memory.
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(upload, formats=_FORMATS) as picture:
                if picture.width * picture.height > MOST_PIXELS:
                    raise NotAPicture("too many pixels")
                upright = ImageOps.exif_transpose(_small(picture)).convert("RGB")
    except Exception as error:
        # A damaged file can make a decoder stumble in any way there is.
        raise NotAPicture(str(error)) from error
    upright.info.clear()  # comments would be written again
    clean = io.BytesIO()
    upright.save(clean, "JPEG", quality=_QUALITY, optimize=True)
    return clean.getvalue()


def _small(picture: Image.Image) -> Image.Image:
    """The picture no larger than it is to be, read with little memory: whole, a phone's would take half a gigabyte."""
    picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # of a JPEG no more is read than need be
    # In few colours a picture cannot be shrunk well.
    in_colours = picture.convert("RGB") if picture.mode in {"1", "P"} else picture
    in_colours.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    return in_colours
