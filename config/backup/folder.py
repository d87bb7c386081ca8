"""The folder of the book's files while a backup or a restore is at work in it.

What these two keep there for a while lies in ``arriving``, which belongs to no row and is in no backup.
"""

import fcntl
import os
import shutil
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from django.conf import settings

from config.backup.faults import Busy
from config.files import make_private

_KEPT, _STAGED, _SENDING, _DRILL = "backup", "restore", "sending", "drill"


def root() -> Path:
    return Path(settings.MEDIA_ROOT)


def arriving() -> Path:
    return root() / Path(settings.FILE_UPLOAD_TEMP_DIR).name


@contextmanager
def alone() -> Iterator[None]:
    """One backup or restore at a time; Busy if there is another. A killed one holds nothing up."""
    with _alone_in(arriving(), "Another backup or restore of this book runs just now: wait until it has ended."):
        yield


@contextmanager
def _alone_in(folder: Path, words: str) -> Iterator[None]:
    make_private(folder)
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise Busy(words) from None
        yield
    finally:
        os.close(descriptor)


def names_in(folder: Path) -> Iterator[str]:
    """The names of all plain files in the folder, as rows name them, without what is arriving."""
    for place, folders, files in os.walk(folder):
        if Path(place) == folder:
            folders[:] = [name for name in folders if name != arriving().name]
        for name in files:
            path = Path(place, name)
            with suppress(FileNotFoundError):
                if stat.S_ISREG(path.lstat().st_mode):
                    yield path.relative_to(folder).as_posix()


# --- A backup ---------------------------------------------------------------------------------------------


@contextmanager
def kept_folder() -> Iterator[Path]:
    """A folder for files that must not vanish while they are backed up; gone afterwards, a killed one's too."""
    folder = arriving() / _KEPT
    _remove(folder)
    folder.mkdir(parents=True)
    try:
        yield folder
    finally:
        _remove(folder)


def keep_all(kept: Path) -> set[str]:
    """Have all files in ``kept`` too, whatever becomes of them; return their names."""
    names = set(names_in(root()))
    for name in list(names):
        try:
            _keep(root() / name, kept / name)
        except FileNotFoundError:
            names.discard(name)
    return names


def _keep(path: Path, kept: Path) -> None:
    if kept.exists():
        if kept.samefile(path):
            return
        kept.unlink()
    kept.parent.mkdir(parents=True, exist_ok=True)
    try:
        # Not a byte is copied, and the content stays for as long as one of the names does.
        os.link(path, kept)
    except FileNotFoundError:
        raise
    except OSError:
        shutil.copyfile(path, kept)


# --- A restore --------------------------------------------------------------------------------------------


def has_files() -> bool:
    """Whether the folder holds files of a book, other than what a killed restore has left."""
    return not (arriving() / _STAGED).exists() and any(True for _ in names_in(root()))


@contextmanager
def staged_folder() -> Iterator[Path]:
    """A folder for the files to come, beside where they belong.

    While it is there, all files are those of a restore that has not ended: the next one clears them away.
    """
    staged = arriving() / _STAGED
    if staged.exists():
        _clear_but_arriving()
        _remove(staged)
    staged.mkdir(parents=True)
    try:
        yield staged
    except BaseException:
        _clear_but_arriving()
        raise
    finally:
        _remove(staged)


def place(staged: Path) -> None:
    """Move all files from ``staged`` to where they belong, and have them and their names on the disk."""
    _clear_but_arriving()
    for entry in staged.iterdir():
        entry.rename(root() / entry.name)
    os.sync()


@contextmanager
def sending_folder() -> Iterator[Path]:
    """A folder for a backup on its way to a store, one at a time, gone afterwards, a killed one's too. Raises Busy."""
    with _own_folder(_SENDING, "Another backup is being sent just now: wait until it is.") as folder:
        yield folder


# --- A drill ----------------------------------------------------------------------------------------------


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """A folder for one drill at a time, gone afterwards, a killed one's too. Raises Busy if there is another."""
    with _own_folder(_DRILL, "Another drill runs just now: wait until it has ended.") as scratch:
        yield scratch


@contextmanager
def _own_folder(name: str, words: str) -> Iterator[Path]:
    outside = arriving() / name
    with _alone_in(outside, words):
        inside = outside / "scratch"
        _remove(inside)
        make_private(inside)
        try:
            yield inside
        finally:
            _remove(inside)


def _clear_but_arriving() -> None:
    for entry in root().iterdir():
        if entry != arriving():
            _remove(entry)


def _remove(entry: Path) -> None:
    if entry.is_dir() and not entry.is_symlink():
        shutil.rmtree(entry)
    else:
        entry.unlink(missing_ok=True)
