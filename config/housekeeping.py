"""What the book keeps, for how long and why: one table as data, for the page that shows it and the task that cleans.

Each app adds its rows by the slot ``RETENTION``; those of this module are about the machine alone.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from config.files import sweep_older

#: Rows deleted in one transaction: nobody who writes meanwhile waits longer than a moment.
_BATCH = 500
#: Rows of one sort that one night deletes; an old book is clean after a few nights.
MOST_IN_A_NIGHT = 20_000
#: A year and a month: whoever asks what was said about something that comes once a year finds the last time too.
A_YEAR_AND_MORE = timedelta(days=400)
#: Nothing that is sent takes as long.
_ARRIVING = timedelta(days=1)
_MAIL_FILES = timedelta(days=30)

#: The law that asks for a limit, no longer than needed, and leaves it to the book to choose and to say one.
STORAGE_LIMITATION = "UK GDPR, article 5(1)(e)"

#: Deletes what is too old at a moment, and returns how much. It may run twice, also at once.
Clean = Callable[[datetime], int]


@dataclass(frozen=True)
class Kept:
    """One sort of thing that the book keeps: what it is, how long and why, in words for its members.

    ``source`` is what asks for it, if that is anybody but the book. What has no ``clean`` is never deleted by itself.
    """

    name: str
    what: str
    how_long: str
    why: str
    source: str = ""
    clean: Clean | None = None


def retention() -> Iterator[Kept]:
    """The whole table, in the order of ``settings.RETENTION``."""
    for rows in settings.RETENTION:
        yield from import_string(rows)


def delete_some(rows: QuerySet[Any]) -> int:
    """Delete the rows, oldest first and few at a time, up to ``MOST_IN_A_NIGHT``; return how many.

    Rows that another process has locked, perhaps to delete them too, are passed over. Never call it in a transaction
    that others could wait for.
    """
    count = 0
    while count < MOST_IN_A_NIGHT:
        with transaction.atomic():
            free = rows.order_by("pk").select_for_update(skip_locked=True, of=("self",)).only("pk")
            ids = [row.pk for row in free[:_BATCH]]
            rows.model._default_manager.filter(pk__in=ids).delete()
        count += len(ids)
        if len(ids) < _BATCH:
            break
    return count


def _clean_mail_files(now: datetime) -> int:
    return sweep_older(Path(settings.EMAIL_FILE_PATH), (now - _MAIL_FILES).timestamp())


def _clean_arriving(now: datetime) -> int:
    return sweep_older(Path(settings.FILE_UPLOAD_TEMP_DIR), (now - _ARRIVING).timestamp())


#: Of the machine that keeps the book, whatever is in the book.
OF_THE_MACHINE = (
    Kept(
        "mail_files",
        "E-mails written as files",
        f"{_MAIL_FILES.days} days",
        "Only where no mail server is set does the book write its e-mails as files, for whoever runs it to pass on. "
        "They hold names and what falls due.",
        STORAGE_LIMITATION,
        _clean_mail_files,
    ),
    Kept(
        "arriving",
        "What is left of an upload that broke off",
        "1 day",
        "Nobody can use it, and a photo can tell where it was taken.",
        STORAGE_LIMITATION,
        _clean_arriving,
    ),
    Kept(
        "backups",
        "Daily backups, where they are set up",
        "The newest of each of the last 7 days, 4 weeks and 12 months that have one",
        "A mistake is sometimes noticed late. They are sealed, and hold the book as it was: what is deleted here stays "
        "in them until they go. Backups made by hand are looked after by whoever made them.",
    ),
    Kept(
        "log",
        "Lines of the server's log",
        "As long as whoever runs the server keeps them",
        "The book itself keeps none. A line says which kind of page was asked for and how long it took. Of a sign-in "
        "that failed it also says which member's it was, by number, and from which address on the internet; of a page "
        "that was refused or is not there, the whole address, in which a car's registration can stand. It holds no sum "
        "that was typed.",
        STORAGE_LIMITATION,
    ),
)
