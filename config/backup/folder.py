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
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.files.base import ContentFile, File

from config.backup.faults import Busy
from config.files import make_private

if TYPE_CHECKING:
    from config.object_files import ObjectFiles

_KEPT, _STAGED, _SENDING, _DRILL = "backup", "restore", "sending", "drill"
#: In the folder of those who are alone there.
_INSIDE = "scratch"
#: In a store, what says that all in it is of a restore that has not ended.
_MARK = f"{Path(settings.FILE_UPLOAD_TEMP_DIR).name}/{_STAGED}.txt"


def root() -> Path:
    return Path(settings.MEDIA_ROOT)


def arriving() -> Path:
    return root() / Path(settings.FILE_UPLOAD_TEMP_DIR).name


def store() -> "ObjectFiles | None":
    """The store that the book's files lie in, where they do not lie in the folder."""
    if not settings.FILES_URL:
        return None
    from config.object_files import ObjectFiles

    return ObjectFiles(settings.FILES_URL)


def names_in_store(in_store: "ObjectFiles") -> Iterator[str]:
    """The names of all files in the store, as rows name them, without what is arriving."""
    return (name for name in in_store.names() if not name.startswith(f"{arriving().name}/"))


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


# --- A restore --------------------------------------------------------------------------------------------


def has_files() -> bool:
    """Whether there are files of a book, other than what a killed restore has left."""
    if in_store := store():
        return not in_store.exists(_MARK) and any(True for _ in names_in_store(in_store))
    return not (arriving() / _STAGED).exists() and any(True for _ in names_in(root()))


@contextmanager
def staged_folder() -> Iterator[Path]:
    """A folder for the files to come, on this machine.

    While it is there, or its mark in the store, all files are those of a restore that has not ended: the next one
    clears them away.
    """
    staged, in_store = arriving() / _STAGED, store()
    if staged.exists() or (in_store and in_store.exists(_MARK)):
        _clear_but_arriving()
        _remove(staged)
    staged.mkdir(parents=True)
    if in_store and not in_store.exists(_MARK):
        in_store.save(_MARK, ContentFile(b"A restore that has not ended.\n"))
    try:
        yield staged
    except BaseException:
        _clear_but_arriving()
        raise
    finally:
        _remove(staged)
        if in_store:
            in_store.delete(_MARK)


def place(staged: Path) -> None:
    """Move all files from ``staged`` to where they belong, and have them and their names on the disk."""
    _clear_but_arriving()
    if in_store := store():
        for name in names_in(staged):
            with (staged / name).open("rb") as file:
                in_store.save(name, File(file))
        return
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


def clear_killed_drill() -> bool:
    """Clear what a drill that was killed has left: the book, in clear. One at work keeps its own.

    The next drill would do so too, but may be a month away. Returns whether there was any.
    """
    if not (arriving() / _DRILL / _INSIDE).exists():
        return False
    with suppress(Busy), scratch_folder():
        return True
    return False


@contextmanager
def _own_folder(name: str, words: str) -> Iterator[Path]:
    outside = arriving() / name
    with _alone_in(outside, words):
        inside = outside / _INSIDE
        _remove(inside)
        make_private(inside)
        try:
            yield inside
        finally:
            _remove(inside)


def _clear_but_arriving() -> None:
    if in_store := store():
        for name in list(names_in_store(in_store)):
            in_store.delete(name)
        return
    for entry in root().iterdir():
        if entry != arriving():
            _remove(entry)


def _remove(entry: Path) -> None:
    if entry.is_dir() and not entry.is_symlink():
        shutil.rmtree(entry)
    else:
        entry.unlink(missing_ok=True)
