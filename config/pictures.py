"""Uploaded pictures and PDFs: each is decoded and written again as plain JPEGs.

Nothing of the upload itself is kept: no file name, no place or time, no code hidden in it.
"""

import json
import re
import struct
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, NamedTuple

from config import budgets
from config.decoding import LOCKED, TOO_MANY_PAGES, TOO_MANY_PIXELS
from config.reader_process import TakesTooLong, TimeLeft, read_by

_SCRIPT = Path(__file__).with_name("decoding.py")
_LIMITS = {
    "memory": budgets.PICTURE_MEMORY,
    "seconds": budgets.PICTURE_SECONDS,
    "pixels": {"JPEG": budgets.JPEG_PIXELS, **budgets.OTHER_PIXELS},
    "side": budgets.PICTURE_SIDE,
    "small_side": budgets.THUMBNAIL_SIDE,
    "pages": budgets.PDF_PAGES,
}
_TURN = threading.BoundedSemaphore(budgets.PICTURES_AT_ONCE)

#: A PDF may have other bytes before its head, but not many.
_PDF, _PDF_WITHIN = b"%PDF-", 1024
_PICTURE = re.compile(rb"\xff\xd8\xff|\x89PNG\r\n\x1a\n|RIFF....WEBP", re.DOTALL)
#: How a file of the format begins in which some phones keep their photos.
_HEIC = re.compile(rb"....ftyp(?:hei[a-z]|hev[a-z]|mif1|msf1|avi[fs])", re.DOTALL)


class NotAPicture(ValueError):
    """The upload is not a picture of a kind and size that phones make."""


class TooManyPixels(NotAPicture):
    """The picture has more pixels than any phone makes."""


class NotReadNow(NotAPicture):
    """Reading it took too long, which may be the server's fault."""


class IsHeic(NotAPicture):
    """The picture is in a format that phones keep for themselves."""


class NotAPdf(NotAPicture):
    """The upload is a PDF that cannot be drawn within the limits."""


class TooManyPages(NotAPdf):
    """The PDF has more pages than a receipt."""


class PdfIsLocked(NotAPdf):
    """The PDF opens only with a password."""


_REFUSALS = {TOO_MANY_PIXELS: TooManyPixels, TOO_MANY_PAGES: TooManyPages, LOCKED: PdfIsLocked}


class Page(NamedTuple):
    """One page of paper: two JPEGs, the picture to read and the one to recognise it by."""

    picture: bytes
    thumbnail: bytes

    @property
    def size(self) -> int:
        """What both take, in bytes."""
        return len(self.picture) + len(self.thumbnail)


def as_jpeg(upload: BinaryIO, left: TimeLeft | None = None) -> bytes:
    """The upload as a JPEG at most PICTURE_SIDE pixels long, upright, without metadata.

    Raises NotAPicture, TooManyPixels, or NotReadNow once no time is ``left``. A damaged or hostile file can make a
    decoder crash, run on or fill the memory, so a process of its own decodes it.
    """
    (jpeg,) = _decoded("photo", _content(upload), left)
    return jpeg


def as_pages(upload: BinaryIO, left: TimeLeft | None = None) -> list[Page]:
    """The pages of a photo or PDF, whichever it is by its content. Raises NotAPicture or what is derived from it."""
    content = _content(upload)
    if _PICTURE.match(content):
        jpegs = _decoded("receipt photo", content, left)
    elif _PDF in content[:_PDF_WITHIN]:
        try:
            jpegs = _decoded("receipt pdf", content, left)
        except (NotAPdf, NotReadNow):
            raise
        except NotAPicture as refusal:
            raise NotAPdf(str(refusal)) from refusal
    elif _HEIC.match(content):
        raise IsHeic
    else:
        raise NotAPicture("neither a picture nor a PDF")
    return [Page(*pair) for pair in zip(jpegs[::2], jpegs[1::2], strict=True)]


def as_kept_page(jpeg: bytes) -> Page:
    """The page of a picture that comes back as it was kept: a JPEG made by ``as_pages``. Raises NotAPicture."""
    (thumbnail,) = _decoded("thumbnail", jpeg)
    return Page(jpeg, thumbnail)


def _content(upload: BinaryIO) -> bytes:
    content = upload.read(budgets.PICTURE_BYTES + 1)
    if len(content) > budgets.PICTURE_BYTES:
        raise NotAPicture("too many bytes")
    return content


def _decoded(task: str, content: bytes, left: TimeLeft | None = None) -> list[bytes]:
    """The JPEGs that the script makes of ``content``."""
    try:
        ran = read_by(_SCRIPT, task, json.dumps(_LIMITS), content=content, turn=_TURN, left=left or TimeLeft())
    except TakesTooLong:
        raise NotReadNow("too long") from None
    if refusal := _REFUSALS.get(ran.returncode):
        raise refusal
    if ran.returncode:
        reason = ran.stderr.decode(errors="replace").strip().splitlines()[-1:] or [f"ended by signal {-ran.returncode}"]
        raise NotAPicture(reason[0])
    return list(_parts(ran.stdout))


def _parts(written: bytes) -> Iterator[bytes]:
    """Each JPEG that the script wrote after its length."""
    at = 0
    while at < len(written):
        (length,) = struct.unpack_from(">I", written, at)
        at += 4
        yield written[at : at + length]
        at += length
