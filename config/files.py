"""The book's files: kept for its own account alone, and read only when they are plain and not too large."""

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryFile

from config.refusal import CannotStart

FILE_MODE, FOLDER_MODE = 0o600, 0o700
_OWNER_ONLY = 0o700
#: The mark of a folder that all accounts share, such as /tmp: the book must not close that one.
_SHARED = stat.S_ISVTX


class TooLarge(ValueError):
    """The file holds more bytes than may be read; none is kept."""


def keep_private(folder: Path) -> None:
    """Close ``folder`` and all in it to other accounts, and have this process write for its own account alone.

    No right is ever added, links are not followed, and files of other accounts are left as they are.
    """
    os.umask(0o777 & ~_OWNER_ONLY)
    for path in _all_in(folder):
        # The file may be gone, another account's, or on a read-only disk: the book cannot close that one.
        with suppress(OSError):
            _narrow(path)


def require_folder(setting: str, folder: Path) -> None:
    """Make ``folder``, which the variable ``setting`` names, unless it is there. Raises CannotStart if it cannot be."""
    try:
        folder.mkdir(FOLDER_MODE, parents=True, exist_ok=True)
    except OSError as error:
        raise CannotStart(f"{setting}: the folder {folder} cannot be made ({error.strerror}).") from None


def require_writable(setting: str, folder: Path) -> None:
    """Try to write into ``folder``, which the variable ``setting`` names. Raises CannotStart if it cannot be done."""
    try:
        TemporaryFile(dir=folder).close()
    except OSError as error:
        raise CannotStart(
            f"{setting}: the book's account cannot write into {folder} ({error.strerror}). Give it a folder of its own."
        ) from None


def overlap(one: Path, other: Path) -> bool:
    """Whether one of two folders is the other or lies in it, by their names alone: neither disk is asked."""
    first, second = (Path(os.path.abspath(folder)) for folder in (one, other))
    return first.is_relative_to(second) or second.is_relative_to(first)


def make_private(folder: Path) -> None:
    """Make ``folder``, unless it is there, for this account alone."""
    # On a disk that this process may not write to, Django's own check says that the folder is missing.
    with suppress(OSError):
        folder.mkdir(FOLDER_MODE, parents=True, exist_ok=True)


def sweep_older(folder: Path, before: float) -> int:
    """Delete the files in ``folder`` last written before then, in seconds since 1970. Return how many."""
    return sum(_removed(path) for path in folder.glob("*") if _is_older(path, before))


def _is_older(path: Path, before: float) -> bool:
    # Another process may be sweeping too.
    with suppress(FileNotFoundError):
        found = path.lstat()
        return stat.S_ISREG(found.st_mode) and found.st_mtime < before
    return False


def _removed(path: Path) -> bool:
    with suppress(FileNotFoundError):
        path.unlink()
        return True
    return False


def _all_in(folder: Path) -> Iterator[Path]:
    yield folder
    for place, folders, files in os.walk(folder):
        yield from (Path(place, name) for name in (*folders, *files))


def _narrow(path: Path) -> None:
    mode = path.lstat().st_mode
    if not stat.S_ISLNK(mode) and not mode & _SHARED and mode & 0o777 & ~_OWNER_ONLY:
        path.chmod(stat.S_IMODE(mode) & _OWNER_ONLY)


def read_plain(path: Path, *, most: int, follows_links: bool = True) -> bytes:
    """The bytes of a plain file, ``most`` at the most.

    Raises TooLarge, and OSError for anything that cannot be read or is not a plain file: a folder, a pipe, a device,
    and a link unless ``follows_links``. It checks the open file, so nobody can swap it in between.
    """
    # Opened without waiting, because a pipe that nobody writes to would block for ever.
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
