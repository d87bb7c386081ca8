"""Reading a file that somebody named: never a device, never more of it than was to be expected."""

import errno
import os
import stat
from pathlib import Path


class TooLarge(ValueError):
    """The file holds more bytes than may be read; none is kept."""


def read_plain(path: Path, *, most: int, follows_links: bool = True) -> bytes:
    """The bytes of a plain file, ``most`` at the most.

    Raises TooLarge, and OSError for what cannot be read or is no plain file: a folder, a pipe, a device, and a
    link unless ``follows_links``. Looked at once it is open, so that nobody can change it for another meanwhile.
    """
    # Opened without waiting: a pipe that nobody writes to would hold us for ever.
    flags = os.O_RDONLY | os.O_NONBLOCK | (0 if follows_links else os.O_NOFOLLOW)
    with open(os.open(path, flags), "rb") as file:
        mode = os.fstat(file.fileno()).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        if not stat.S_ISREG(mode):
            raise OSError(errno.EINVAL, "it is not a plain file")
        content = file.read(most + 1)
    if len(content) > most:
        raise TooLarge
    return content
