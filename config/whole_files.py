"""Files that are there whole or not at all: written under a name of their own, then given theirs."""

import os
from dataclasses import dataclass
from pathlib import Path
from tempfile import NamedTemporaryFile

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import FileSystemStorage, default_storage
from django.core.files.uploadedfile import TemporaryUploadedFile

#: What is said beside the field of a photo or a receipt.
CANNOT_BE_KEPT = (
    "This cannot be kept: the server has no room for files, or cannot write them. Nothing is saved yet. Save again "
    "without it, tell whoever looks after the server, and add it later."
)


class _Written(File):
    """A file that Django may move to where it belongs."""

    temporary_file_path = TemporaryUploadedFile.temporary_file_path


class WholeFiles(FileSystemStorage):
    """Django's own, except that a disk that is full leaves no piece of a file. Raises OSError as that does."""

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


@dataclass(frozen=True)
class KeptFile:
    """One of the book's files by its name, on the disk or in a store, to be read when its turn comes."""

    name: str

    @property
    def is_there(self) -> bool:
        return default_storage.exists(self.name)

    def open(self) -> File:
        """A stream of it. Raises FileNotFoundError if it is gone, and OSError."""
        return default_storage.open(self.name)
