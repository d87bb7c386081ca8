"""The files that a backup takes: held so that none vanishes from a disk meanwhile, or read from a store as they are."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Protocol, cast

from config.backup import folder

if TYPE_CHECKING:
    from config.object_files import ObjectFiles


class Kept(Protocol):
    """The files of the book while it is backed up."""

    def keep_all(self) -> set[str]:
        """Have all files that are there now too; return their names."""

    def names(self) -> set[str]:
        """The names of all that are had."""

    def forget(self, name: str) -> None:
        """Do without this one."""

    def open(self, name: str) -> BinaryIO:
        """A stream of one. Raises FileNotFoundError if it could not be had any longer."""


@contextmanager
def kept_files() -> Iterator[Kept]:
    """Those of this book, wherever they lie."""
    if store := folder.store():
        yield _InStore(store)
    else:
        with folder.kept_folder() as kept:
            yield _OnDisk(kept)


class _OnDisk:
    """Linked under a second name, so that whatever becomes of the first, they stay."""

    def __init__(self, kept: Path) -> None:
        self._kept = kept

    def keep_all(self) -> set[str]:
        names = set(folder.names_in(folder.root()))
        for name in list(names):
            try:
                _keep(folder.root() / name, self._kept / name)
            except FileNotFoundError:
                names.discard(name)
        return names

    def names(self) -> set[str]:
        return set(folder.names_in(self._kept))

    def forget(self, name: str) -> None:
        (self._kept / name).unlink()

    def open(self, name: str) -> BinaryIO:
        return (self._kept / name).open("rb")


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


class _InStore:
    """A store has no second names: one that is deleted before it was read is missing, as the manifest then says."""

    def __init__(self, store: "ObjectFiles") -> None:
        self._store = store
        self._names: set[str] = set()

    def keep_all(self) -> set[str]:
        there = set(folder.names_in_store(self._store))
        self._names |= there
        return there

    def names(self) -> set[str]:
        return set(self._names)

    def forget(self, name: str) -> None:
        self._names.discard(name)

    def open(self, name: str) -> BinaryIO:
        return cast(BinaryIO, self._store.open(name))
