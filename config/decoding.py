"""A script that decodes one picture from outside; ``config.pictures`` runs it in a process of its own.

It reads the picture from standard input and writes the JPEG to standard output. Memory and time are limited, so a
picture made to crash a decoder ends this process and nothing else.
"""

import io
import json
import resource
import signal
import sys
import warnings
from typing import BinaryIO

from PIL import Image, ImageOps

_FORMATS = ("JPEG", "PNG", "WEBP")
_QUALITY = 80
#: The exit status for a picture with too many pixels.
TOO_MANY_PIXELS = 3


class OverPixelLimit(ValueError):
    """The picture has more pixels than its format may have."""


def decode(upload: BinaryIO, *, most_pixels: dict[str, int], side: int) -> bytes:
    """The upload as a JPEG at most ``side`` pixels long, upright, without metadata.

    ``most_pixels`` is by format. Raises OverPixelLimit, and whatever the decoder raises.
    """
    # Opening a picture tells its size without decoding it.
    with Image.open(upload, formats=_FORMATS) as picture:
        kind = "JPEG" if picture.format in ("JPEG", "MPO") else picture.format or ""
        if picture.width * picture.height > most_pixels[kind]:
            raise OverPixelLimit
        upright = ImageOps.exif_transpose(_small(picture, side)).convert("RGB")
    upright.info.clear()  # else comments would be written again
    clean = io.BytesIO()
    upright.save(clean, "JPEG", quality=_QUALITY, optimize=True)
    return clean.getvalue()


def _small(picture: Image.Image, side: int) -> Image.Image:
    """The picture scaled down to ``side``; a JPEG is decoded no larger than needed."""
    wanted = (max(1, length * side // max(picture.size)) for length in picture.size)
    picture.draft("RGB", tuple(wanted))  # type: ignore[arg-type]
    # A picture of few colours does not scale well.
    in_colours = picture.convert("RGB") if picture.mode in {"1", "P"} else picture
    in_colours.thumbnail((side, side))
    return in_colours


def main() -> None:
    """Decode standard input within the limits that the one argument gives as JSON."""
    limits = json.loads(sys.argv[1])
    resource.setrlimit(resource.RLIMIT_AS, (limits["memory"], limits["memory"]))
    signal.setitimer(signal.ITIMER_PROF, limits["seconds"])  # of CPU time; then the signal ends the process
    # Pillow only warns below its own bound, which is above ours.
    warnings.simplefilter("ignore", Image.DecompressionBombWarning)
    upload = io.BytesIO(sys.stdin.buffer.read())
    try:
        sys.stdout.buffer.write(decode(upload, most_pixels=limits["pixels"], side=limits["side"]))
    except (OverPixelLimit, Image.DecompressionBombError):
        sys.exit(TOO_MANY_PIXELS)


if __name__ == "__main__":
    main()
