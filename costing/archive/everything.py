"""All that the book holds of one member as one zip: their archive with its receipts, and what lies beside it."""

import tempfile
from typing import IO

from django.conf import settings
from django.core.exceptions import ValidationError

from config import budgets
from costing.actions.papers import Told
from costing.archive.beside import beside
from costing.archive.dumping import dump
from costing.archive.packing import Content, write_zip
from costing.models import Paper
from instructors.models import Member


def everything_of(member: Member) -> dict[str, Content]:
    """Return the files of a member's own download by name. Raises OSError if a store cannot be asked for pictures."""
    return {**dump(member).contents, **beside(member)}


def is_long(files: dict[str, Content]) -> bool:
    """Whether to copy so many pictures takes longer than a page may."""
    return _size_of(files) > budgets.EXPORT_BYTES_AT_ONCE


def packed(files: dict[str, Content]) -> IO[bytes]:
    """Return an open file with the zip of these, which is gone once it is closed. Raises OSError, and then none stays.

    It lies on the disk, because its pictures could fill the memory, and where the book may write.
    """
    settings.MEDIA_ROOT.mkdir(parents=True, exist_ok=True)
    file = tempfile.TemporaryFile(dir=settings.MEDIA_ROOT)  # noqa: SIM115 - whoever asked closes it
    try:
        write_zip(files, file)
        file.seek(0)
    except BaseException:
        file.close()
        raise
    return file


def make_export(paper: Paper, told: Told) -> IO[bytes]:
    """Make the paper of a member's own download. Raises ValidationError if it would be too large, or one is gone."""
    files = everything_of(paper.member)
    if _size_of(files) > budgets.EXPORT_BYTES:
        raise ValidationError("It came to more than one file may hold. Ask whoever runs the book for it.")
    told(1, 1)
    try:
        return packed(files)
    except FileNotFoundError:
        raise ValidationError("A picture was removed meanwhile: ask for it again.") from None


def _size_of(files: dict[str, Content]) -> int:
    return sum(len(content) if isinstance(content, bytes) else content.size for content in files.values())
