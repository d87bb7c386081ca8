"""Files that are there whole or not at all: written under a name of their own, then given theirs."""

import os
from collections.abc import Callable, Collection, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import NamedTemporaryFile

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import FileSystemStorage, default_storage
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.db import transaction
from django.db.models.fields.files import FieldFile

#: A file is written before its row is certain; nothing that saves takes as long as this.
_LONGEST_SAVE = timedelta(days=1)
#: What is said beside the field of a photo or a receipt.
CANNOT_BE_KEPT = (
    "This cannot be kept: the server has no room for files, or cannot write them. Nothing is saved yet. Save again "
    "without it, tell whoever looks after the server, and add it later."
)
#: The same while it is the store that does not answer, or refuses.
STORE_IS_AWAY = (
    "This cannot be kept: the store of the pictures does not answer as it should. Nothing is saved yet. Try again in a "
    "moment, or save without it and add it later."
)


class StoreAway(OSError):
    """A store cannot be reached, or refuses: ``strerror`` says what it answered, and ``filename`` which one it is."""


def why_not_kept(error: OSError) -> str:
    """What is said beside the field of a photo or a receipt that could not be written."""
    return STORE_IS_AWAY if isinstance(error, StoreAway) else CANNOT_BE_KEPT


def may_be_there(file: FieldFile) -> bool:
    """Whether a page may lead to this file: False only if it is known to be gone, not while a store is away."""
    try:
        return file.storage.exists(str(file.name))
    except OSError:
        return True


class _Written(File):
    """A file that Django may move to where it belongs."""

    temporary_file_path = TemporaryUploadedFile.temporary_file_path


class WholeFiles(FileSystemStorage):
    """Django's own, except that a disk that is full leaves no piece of a file. Raises OSError as that does."""

    def sizes_of(self, names: Iterable[str]) -> dict[str, int]:
        """The bytes of those of these files that are there, by name."""
        sizes = {}
        for name in names:
            with suppress(FileNotFoundError):
                sizes[name] = self.size(name)
        return sizes

    def _save(self, name: str, content: File) -> str:
        # Where the sweep finds what a killed process leaves. It is on the same disk, so that a name is given at once.
        with NamedTemporaryFile(dir=settings.FILE_UPLOAD_TEMP_DIR, prefix="keeping-", delete=False) as whole:
            try:
                for chunk in content.chunks():
                    whole.write(chunk)
                whole.flush()
                os.fsync(whole.fileno())
                written = _Written(whole, whole.name)
                return super()._save(name, written)  # type: ignore[misc]  # Django has it, its stubs do not
            except BaseException:
                Path(whole.name).unlink(missing_ok=True)
                raise


def delete_after_commit(*files: FieldFile) -> None:
    """Delete these files once that their rows go is certain; what cannot be deleted then is left to the sweep."""
    there = [(file.storage, str(file.name)) for file in files if file]

    def delete() -> None:
        for storage, name in there:
            storage.delete(name)

    transaction.on_commit(delete, robust=True)


def sweep_files_of_none(folder: str, kept: Callable[[], Collection[str]], now: datetime) -> int:
    """Delete the files of ``folder`` that have belonged to no row for a day: whoever wrote one was killed, perhaps.

    ``kept`` names those that rows have. Return how many were deleted.
    """
    _, names = default_storage.listdir(folder) if default_storage.exists(folder) else ([], [])
    # Asked after the files were listed: a row that came meanwhile keeps its own.
    kept_names = kept()
    strays = [path for path in (f"{folder}/{name}" for name in sorted(names)) if path not in kept_names]
    old = [path for path in strays if _is_older(path, now - _LONGEST_SAVE)]
    for path in old:
        default_storage.delete(path)
    return len(old)


def _is_older(path: str, before: datetime) -> bool:
    try:
        return default_storage.get_modified_time(path) < before
    except FileNotFoundError:
        # Another process is sweeping too.
        return False


@dataclass(frozen=True)
class KeptFile:
    """One of the book's files, on the disk or in a store, to be read when its turn comes; ``size`` is in bytes."""

    name: str
    size: int

    def open(self) -> File:
        """A stream of it. Raises FileNotFoundError if it is gone, and OSError."""
        return default_storage.open(self.name)


def kept_files(names: Collection[str]) -> dict[str, KeptFile]:
    """Those of these files that are there, by name. Raises OSError if a store cannot be asked."""
    sizes: Mapping[str, int] = default_storage.sizes_of(names)  # type: ignore[attr-defined]  # either of ours has it
    return {name: KeptFile(name, size) for name, size in sizes.items()}
