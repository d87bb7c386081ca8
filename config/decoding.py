"""The one place where a picture from outside is decoded: a script of its own, run by ``config.pictures``.

It takes the picture on standard input and writes the JPEG to standard output. Its process may use so much memory
and time and no more, so that a picture made to burst a decoder ends this process and nothing else.
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
#: The exit status that says so.
TOO_MANY_PIXELS = 3


class TooManyPixels(ValueError):
    """The picture is larger than one of its format may be."""


def as_jpeg(upload: BinaryIO, *, most_pixels: dict[str, int], side: int) -> bytes:
    """The upload as a JPEG at most ``side`` pixels long, upright, without metadata.

    ``most_pixels`` by format. Raises TooManyPixels, and whatever a decoder stumbles over.
    """
    # Opening a picture decodes nothing yet, and tells its size.
    with Image.open(upload, formats=_FORMATS) as picture:
        kind = "JPEG" if picture.format in ("JPEG", "MPO") else picture.format or ""
        if picture.width * picture.height > most_pixels[kind]:
            raise TooManyPixels
        upright = ImageOps.exif_transpose(_small(picture, side)).convert("RGB")
    upright.info.clear()  # comments would be written again
    clean = io.BytesIO()
    upright.save(clean, "JPEG", quality=_QUALITY, optimize=True)
    return clean.getvalue()


def _small(picture: Image.Image, side: int) -> Image.Image:
    """The picture no larger than it is to be; of a JPEG no more is decoded than need be."""
    wanted = (max(1, length * side // max(picture.size)) for length in picture.size)
    picture.draft("RGB", tuple(wanted))  # type: ignore[arg-type]
    # In few colours a picture cannot be shrunk well.
    in_colours = picture.convert("RGB") if picture.mode in {"1", "P"} else picture
    in_colours.thumbnail((side, side))
    return in_colours


def main() -> None:
    """Decode standard input within the limits that the one argument states, as JSON."""
    limits = json.loads(sys.argv[1])
    resource.setrlimit(resource.RLIMIT_AS, (limits["memory"], limits["memory"]))
    signal.setitimer(signal.ITIMER_PROF, limits["seconds"])  # of work, not of waiting; then the process is ended
    # The library's own bound lies above ours, and below it only warns.
    warnings.simplefilter("ignore", Image.DecompressionBombWarning)
    upload = io.BytesIO(sys.stdin.buffer.read())
    try:
        sys.stdout.buffer.write(as_jpeg(upload, most_pixels=limits["pixels"], side=limits["side"]))
    except (TooManyPixels, Image.DecompressionBombError):
        sys.exit(TOO_MANY_PIXELS)


if __name__ == "__main__":
    main()
