"""Uploaded pictures: each is decoded and written again as a plain JPEG.

Nothing of the upload itself is kept: no file name, no place or time, no code hidden in it.
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
    """The upload is not a picture of a kind and size that phones make."""


class TooManyPixels(NotAPicture):
    """The picture has more pixels than any phone makes."""


def as_jpeg(upload: BinaryIO) -> bytes:
    """The upload as a JPEG at most PICTURE_SIDE pixels long, upright, without metadata.

    Raises NotAPicture, or TooManyPixels. A damaged or hostile file can make a decoder crash, run on or fill the memory,
    so a process of its own decodes it.
    """
    content = upload.read(budgets.PICTURE_BYTES + 1)
    if len(content) > budgets.PICTURE_BYTES:
        raise NotAPicture("too many bytes")
    # Isolated, so that it sees neither our folder, whose http.py would hide the library's, nor the secret settings.
    command = [sys.executable, "-I", str(_SCRIPT), json.dumps(_LIMITS)]
    with _TURN:
        ran = subprocess.run(command, input=content, capture_output=True, check=False, env={})  # noqa: S603 - ours
    if ran.returncode == TOO_MANY_PIXELS:
        raise TooManyPixels
    if ran.returncode:
        reason = ran.stderr.decode(errors="replace").strip().splitlines()[-1:] or [f"ended by signal {-ran.returncode}"]
        raise NotAPicture(reason[0])
    return ran.stdout
