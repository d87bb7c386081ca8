"""Where the book's files lie: on the disk or in a store. No process starts with a setting that looks elsewhere.

Where they were last found is noted in the database, so that a start asks no store unless the setting has changed.
"""

import logging
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, cast

from django.conf import settings
from django.db import DatabaseError
from django.utils.module_loading import import_string

from config.backup.tables import tables_of_book
from config.environment import ObjectStore
from config.refusal import CannotStart
from config.release import connection_closed_again
from config.whole_files import StoreAway, kept_files

if TYPE_CHECKING:
    from config.object_files import ObjectFiles

logger = logging.getLogger(__name__)


class Notes(Protocol):
    """What ``settings.FILE_NOTES`` keeps in the database."""

    def place(self) -> str | None:
        """Where the files were found last: the name of a store, empty for the disk, None if it was never noted."""
        ...

    def note_place(self, name: str) -> None:
        """Note where they are found now."""
        ...

    def lost(self) -> set[str]:
        """The names of files that are recorded as lost for good."""
        ...


def require_files() -> None:
    """Look whether a process may start. Raises CannotStart if the book's files lie elsewhere than the settings say.

    What else the database may lack is for the pages to say.
    """
    with connection_closed_again(), suppress(DatabaseError):
        noted = _notes().place()
        if noted == _here():
            return
        try:
            words = misplaced()
        except StoreAway as away:
            if noted is None:
                logger.warning("Whether the book's files are in %s is not known: %s", _here(), away.strerror)
                return
            raise CannotStart(
                f"FILES_URL was changed, and {_here()} cannot be looked into ({away.strerror}): are the book's files"
                " there? Set FILES_URL back, or start again once that store answers."
            ) from away
        if words:
            raise CannotStart(words)
        _notes().note_place(_here())


def misplaced() -> str:
    """What is wrong and what to do if the files lie elsewhere than the settings say; else empty.

    A book that has none, or whose files are nowhere to be found, may go on: it could not be brought back by refusing.
    Raises StoreAway, and DatabaseError.
    """
    noted = _notes().place()
    if noted == _here():
        return ""
    named = _named() - _notes().lost()
    if not named or _are_here(named):
        return ""
    if words := stayed_on_disk(named):
        return words
    if noted:
        what = f"leads to {_here()}" if settings.FILES_URL else "is not set"
        return (
            f"FILES_URL {what}, but the files of the book lie in {noted}, and none of them here. Set it as it was; to"
            " move them, back up with it, and restore with the other setting into an empty installation. If they are"
            " gone for good, `manage.py lost_files --record` says so."
        )
    logger.warning("None of the %d files that the book names is in %s", len(named), _here() or settings.MEDIA_ROOT)
    return ""


def stayed_on_disk(named: set[str]) -> str:
    """What to do if a store is set up and any of these files lies in the folder that it replaced; else empty."""
    root = Path(settings.MEDIA_ROOT)
    if not settings.FILES_URL or not any((root / name).is_file() for name in named):
        return ""
    return (
        f"FILES_URL is set, but the files of the book lie in {root} and not in that store. To move"
        " them, take FILES_URL away again, back up, set it, and restore into an empty installation."
    )


def missing_files() -> set[str]:
    """The files that rows name and that are not there, recorded as lost or not. Raises StoreAway."""
    named = _named()
    return named - kept_files(named).keys()


def store_answers() -> bool:
    """Whether the files lie in a store, and it answers as it should, within seconds."""
    try:
        return bool(settings.FILES_URL) and _hurried(settings.FILES_URL).exists("photos") in (True, False)
    except StoreAway:
        return False  # which is logged


def _notes() -> Notes:
    return cast(Notes, import_string(settings.FILE_NOTES))


def _here() -> str:
    return str(settings.FILES_URL or "")


def _named() -> set[str]:
    """The names of all files that rows of the book name."""
    return {name for table in tables_of_book().values() for name in table.named_files()}


def _are_here(named: set[str]) -> bool:
    """Whether any of these is where the settings look for it; of others a backup says that they are missing."""
    if settings.FILES_URL:
        return bool(_hurried(settings.FILES_URL).sizes_of(named))
    return any((Path(settings.MEDIA_ROOT) / name).is_file() for name in named)


@cache
def _hurried(store: ObjectStore) -> "ObjectFiles":
    """A store, asked by somebody who does not wait for long: a process that starts is ended after 30 s."""
    from config.object_files import ObjectFiles

    return ObjectFiles(store, hurries=True)
