"""What the book keeps in files is for the account that runs it, and for no other of the machine."""

import os
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

FILE_MODE, FOLDER_MODE = 0o600, 0o700
_OWNER_ONLY = 0o700
#: A folder that all accounts share, such as /tmp, is nobody's to close.
_SHARED = stat.S_ISVTX


def keep_private(folder: Path) -> None:
    """Have this process and all it starts write for its own account alone; close what in ``folder`` is open wider.

    No right is ever added, links are not followed, and what belongs to another account is left as it is.
    """
    os.umask(0o777 & ~_OWNER_ONLY)
    for path in _all_in(folder):
        # Gone meanwhile, another account's, or on a disk that cannot be written to: nothing that we could close.
        with suppress(OSError):
            _narrow(path)


def _all_in(folder: Path) -> Iterator[Path]:
    yield folder
    for place, folders, files in os.walk(folder):
        yield from (Path(place, name) for name in (*folders, *files))


def _narrow(path: Path) -> None:
    mode = path.lstat().st_mode
    if not stat.S_ISLNK(mode) and not mode & _SHARED and mode & 0o777 & ~_OWNER_ONLY:
        path.chmod(stat.S_IMODE(mode) & _OWNER_ONLY)
