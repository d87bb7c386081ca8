"""A script that decodes one upload from outside; ``config.pictures`` runs it in a process of its own.

It reads the upload from standard input and writes JPEGs to standard output, each after its length. Memory and time are
limited, so a file made to crash a decoder ends this process and nothing else.
"""

import io
import json
import re
import resource
import signal
import struct
import sys
import warnings
from collections.abc import Callable, Iterator, Mapping
from typing import Any, BinaryIO

from PIL import Image, ImageOps

_FORMATS = ("JPEG", "PNG", "WEBP")
_QUALITY, _SMALL_QUALITY = 80, 70
#: The exit statuses for what can be said of an upload more exactly than that it cannot be read.
TOO_MANY_PIXELS, TOO_MANY_PAGES, LOCKED = 3, 4, 5
#: A PDF counts in points, 72 to an inch; 200 dots to an inch are enough to read small print.
_SHARPEST = 200 / 72
#: What precedes the data of a JPEG that this script wrote: its frame, tables and sizes, and no comment or metadata.
_PLAIN_SEGMENTS = frozenset(b"\xdb\xc0\xc4\xda")
_JFIF, _START_OF_SCAN = 0xE0, 0xDA
_JFIF_START = b"JFIF\0"
_JFIF_LENGTH = 16
#: Inside the scan 0xFF is followed by 0 or by a restart; anything else ends it.
_END_OF_SCAN = re.compile(rb"\xff[^\x00\xd0-\xd7]")


class OverPixelLimit(ValueError):
    """The picture has more pixels than its format may have."""


class TooManyPages(ValueError):
    """The PDF has more pages than may be drawn."""


class Locked(ValueError):
    """The PDF opens only with a password."""


class NotPlain(ValueError):
    """The JPEG is not one that this script wrote: it holds more than a picture."""


def decode(upload: BinaryIO, *, most_pixels: Mapping[str, int], side: int) -> bytes:
    """The upload as a JPEG at most ``side`` pixels long, upright, without metadata.

    ``most_pixels`` is by format. Raises OverPixelLimit, and whatever the decoder raises.
    """
    return _encoded(_upright(upload, most_pixels, side), _QUALITY)


def _upright(upload: BinaryIO, most_pixels: Mapping[str, int], side: int) -> Image.Image:
    # Opening a picture tells its size without decoding it.
    with Image.open(upload, formats=_FORMATS) as picture:
        kind = "JPEG" if picture.format in ("JPEG", "MPO") else picture.format or ""
        if picture.width * picture.height > most_pixels[kind]:
            raise OverPixelLimit
        return ImageOps.exif_transpose(_small(picture, side)).convert("RGB")


def _encoded(picture: Image.Image, quality: int) -> bytes:
    picture.info.clear()  # else comments would be written again
    clean = io.BytesIO()
    picture.save(clean, "JPEG", quality=quality, optimize=True)
    return clean.getvalue()


def _small(picture: Image.Image, side: int) -> Image.Image:
    """The picture scaled down to ``side``; a JPEG is decoded no larger than needed."""
    wanted = (max(1, length * side // max(picture.size)) for length in picture.size)
    picture.draft("RGB", tuple(wanted))  # type: ignore[arg-type]
    # A picture of few colours does not scale well.
    in_colours = picture.convert("RGB") if picture.mode in {"1", "P"} else picture
    in_colours.thumbnail((side, side))
    return in_colours


def drawn(pdf: bytes, *, most_pages: int, side: int) -> Iterator[Image.Image]:
    """Each page of a PDF, at most ``side`` pixels long. Raises TooManyPages, Locked, and whatever the reader raises."""
    import pypdfium2  # only here, because a photo need not wait for it

    try:
        document = pypdfium2.PdfDocument(pdf)
    except pypdfium2.PdfiumError as error:
        is_locked = error.err_code == pypdfium2.raw.FPDF_ERR_PASSWORD
        raise (Locked if is_locked else ValueError)("cannot be opened") from error
    if len(document) > most_pages:
        raise TooManyPages
    if not len(document):
        raise ValueError("has no page")
    for number in range(len(document)):
        page = document[number]
        longest = max(page.get_size())
        if not 0 < longest < float("inf"):
            raise ValueError("has a page without a size")
        yield page.render(scale=min(side / longest, _SHARPEST), may_draw_forms=False).to_pil().convert("RGB")
        page.close()


def check_plain(jpeg: bytes, side: int) -> Image.Image:
    """Return the picture of a JPEG as this script writes them. Raises NotPlain, and whatever the decoder raises.

    It has one frame, the tables that it needs, one scan and nothing after it: no room for metadata or another file.
    """
    at, marker = 2, 0
    while marker != _START_OF_SCAN:
        (start, marker, length) = struct.unpack_from(">BBH", jpeg, at)
        is_jfif = marker == _JFIF and length == _JFIF_LENGTH and jpeg[at + 4 : at + 9] == _JFIF_START
        if start != 0xFF or length < 2 or not (is_jfif or marker in _PLAIN_SEGMENTS):
            raise NotPlain
        at += 2 + length
    # What ends the scan must be the file's end.
    end = _END_OF_SCAN.search(jpeg, at)
    if jpeg[:2] != b"\xff\xd8" or end is None or end.start() != len(jpeg) - 2 or jpeg[-1] != 0xD9:
        raise NotPlain
    picture = Image.open(io.BytesIO(jpeg), formats=["JPEG"])
    if max(picture.size) > side or picture.mode != "RGB":
        raise NotPlain
    picture.load()
    return picture


def _with_thumbnail(picture: Image.Image, side: int) -> Iterator[bytes]:
    yield _encoded(picture, _QUALITY)
    yield from _thumbnail(picture, side)


def _thumbnail(picture: Image.Image, side: int) -> Iterator[bytes]:
    picture.thumbnail((side, side))
    yield _encoded(picture, _SMALL_QUALITY)


def _photo(upload: bytes, limits: Mapping[str, Any]) -> Iterator[bytes]:
    yield decode(io.BytesIO(upload), most_pixels=limits["pixels"], side=limits["side"])


def _photo_and_small(upload: bytes, limits: Mapping[str, Any]) -> Iterator[bytes]:
    picture = _upright(io.BytesIO(upload), limits["pixels"], limits["side"])
    yield from _with_thumbnail(picture, limits["small_side"])


def _pages_and_small(upload: bytes, limits: Mapping[str, Any]) -> Iterator[bytes]:
    for page in drawn(upload, most_pages=limits["pages"], side=limits["side"]):
        yield from _with_thumbnail(page, limits["small_side"])


def _small_of_plain(upload: bytes, limits: Mapping[str, Any]) -> Iterator[bytes]:
    yield from _thumbnail(check_plain(upload, limits["side"]), limits["small_side"])


#: What may be asked for, by name.
TASKS: dict[str, Callable[[bytes, Mapping[str, Any]], Iterator[bytes]]] = {
    "photo": _photo,
    "receipt photo": _photo_and_small,
    "receipt pdf": _pages_and_small,
    "thumbnail": _small_of_plain,
}


def main() -> None:
    """Do the task that the first argument names with standard input; the second one gives the limits as JSON."""
    task, limits = TASKS[sys.argv[1]], json.loads(sys.argv[2])
    resource.setrlimit(resource.RLIMIT_AS, (limits["memory"], limits["memory"]))
    signal.setitimer(signal.ITIMER_PROF, limits["seconds"])  # of CPU time; then the signal ends the process
    # Pillow only warns below its own bound, which is above ours.
    warnings.simplefilter("ignore", Image.DecompressionBombWarning)
    try:
        for jpeg in list(task(sys.stdin.buffer.read(), limits)):
            sys.stdout.buffer.write(struct.pack(">I", len(jpeg)) + jpeg)
    except (OverPixelLimit, Image.DecompressionBombError):
        sys.exit(TOO_MANY_PIXELS)
    except TooManyPages:
        sys.exit(TOO_MANY_PAGES)
    except Locked:
        sys.exit(LOCKED)


if __name__ == "__main__":
    main()
