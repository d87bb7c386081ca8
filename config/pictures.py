"""Uploaded pictures, made anew: what a phone sends is read as a picture and written as a plain JPEG.

Nothing of the upload itself is kept: no name, no place or time it was taken, no code hidden in it.
"""

import json
import subprocess
import sys
import threading
from pathlib import Path
from typing import BinaryIO

from config import budgets
from config.decoding import TOO_MANY_PIXELS

_SCRIPT = Path(__file__).with_name("decoding.py")
_LIMITS = {
    "memory": budgets.PICTURE_MEMORY,
    "seconds": budgets.PICTURE_SECONDS,
    "pixels": {"JPEG": budgets.JPEG_PIXELS, **budgets.OTHER_PIXELS},
    "side": budgets.PICTURE_SIDE,
}
_TURN = threading.BoundedSemaphore(budgets.PICTURES_AT_ONCE)


class NotAPicture(ValueError):
    """The upload cannot be read as a picture of a kind and size that phones make."""


class TooManyPixels(NotAPicture):
    """It may be a picture, but none that a phone makes."""


def as_jpeg(upload: BinaryIO) -> bytes:
    """The upload as a JPEG at most PICTURE_SIDE pixels long, upright, without metadata.

    Raises NotAPicture, or TooManyPixels. It is decoded in a process of its own: a damaged file, or one made for it,
    can make a decoder stumble, grow or run on in any way there is.
    """
    content = upload.read(budgets.PICTURE_BYTES + 1)
    if len(content) > budgets.PICTURE_BYTES:
        raise NotAPicture("too many bytes")
    # Isolated: it sees neither our folder, whose http.py is not the library's, nor what the environment keeps secret.
    command = [sys.executable, "-I", str(_SCRIPT), json.dumps(_LIMITS)]
    with _TURN:
        ran = subprocess.run(command, input=content, capture_output=True, check=False, env={})  # noqa: S603 - ours
    if ran.returncode == TOO_MANY_PIXELS:
        raise TooManyPixels
    if ran.returncode:
        reason = ran.stderr.decode(errors="replace").strip().splitlines()[-1:] or [f"ended by signal {-ran.returncode}"]
        raise NotAPicture(reason[0])
    return ran.stdout
