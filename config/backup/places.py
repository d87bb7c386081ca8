"""Where the backups of the days lie: a folder that is mounted from another machine, or an S3-compatible store."""

import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Protocol, cast

from django.conf import settings
from django.core.files.base import File

from config.backup.folder import sending_folder
from config.backup.making import Made, back_up_to
from config.environment import ObjectStore

if TYPE_CHECKING:
    from config.object_files import ObjectFiles

_NAME = re.compile(r"book-(\d{4}-\d{2}-\d{2})\.backup")


class Place(Protocol):
    """A place with one backup a day at the most. All of it raises OSError while the place cannot be reached."""

    def name_of(self, day: date) -> str:
        """Where the backup of a day lies, for people; no secret is in it."""

    def has(self, day: date) -> bool:
        """Whether it is there, which it is only once it is whole."""

    def days(self) -> set[date]:
        """The days whose backups are there."""

    def make(self, name: str, recipient: str) -> Made:
        """Make a backup of this name, in place of one that is there. Raises Refused too."""

    def delete(self, day: date) -> None:
        """Delete the backup of a day, if it is there."""

    def open(self, day: date) -> BinaryIO:
        """A stream of the backup of a day. Raises FileNotFoundError if it is not there."""


def place_of_backups() -> Place | None:
    """Where this book's are to lie; None if none are made each day."""
    if settings.BACKUP_URL:
        return Bucket(settings.BACKUP_URL)
    return Folder(settings.BACKUP_FOLDER) if settings.BACKUP_FOLDER else None


def named(day: date) -> str:
    """The name of the backup of a day."""
    return f"book-{day}.backup"


def days_among(names: Iterator[str]) -> set[date]:
    """The days whose backups these are; other names are nobody's business."""
    found = set()
    for name in names:
        if of_day := _NAME.fullmatch(name):
            # What is no day is none of ours.
            with suppress(ValueError):
                found.add(date.fromisoformat(of_day[1]))
    return found


@dataclass(frozen=True)
class Folder:
    """A folder that another machine keeps."""

    path: Path

    def __str__(self) -> str:
        return str(self.path)

    def name_of(self, day: date) -> str:
        return str(self.path / named(day))

    def has(self, day: date) -> bool:
        return (self.path / named(day)).exists()

    def days(self) -> set[date]:
        return days_among(path.name for path in self.path.iterdir() if path.is_file())

    def make(self, name: str, recipient: str) -> Made:
        made = back_up_to(self.path / name, recipient)
        for left in self.path.glob(".book-*.part"):
            # Of another day's, which was killed.
            left.unlink(missing_ok=True)
        return made

    def delete(self, day: date) -> None:
        (self.path / named(day)).unlink(missing_ok=True)

    def open(self, day: date) -> BinaryIO:
        return (self.path / named(day)).open("rb")


@dataclass(frozen=True)
class Bucket:
    """A bucket of an S3-compatible store, or a folder in one. A backup is made on this machine first, then sent."""

    store: ObjectStore

    def __str__(self) -> str:
        return str(self.store)

    def name_of(self, day: date) -> str:
        return f"{self.store}/{named(day)}"

    def has(self, day: date) -> bool:
        return self._files.exists(named(day))

    def days(self) -> set[date]:
        return days_among(iter(self._files.listdir("")[1]))

    def make(self, name: str, recipient: str) -> Made:
        with sending_folder() as folder:
            made = back_up_to(folder / name, recipient)
            with (folder / name).open("rb") as file:
                self._files.save(name, File(file))
        return made

    def delete(self, day: date) -> None:
        self._files.delete(named(day))

    def open(self, day: date) -> BinaryIO:
        return cast(BinaryIO, self._files.open(named(day)))

    @cached_property
    def _files(self) -> "ObjectFiles":
        from config.object_files import ObjectFiles

        return ObjectFiles(self.store, overwrites=True)
