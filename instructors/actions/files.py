"""What is noted of the place of the book's files, and of files that are lost for good."""

from collections.abc import Collection

from django.db import transaction
from django.utils import timezone

from config.files_place import store_answers
from instructors import queries
from instructors.models import FilesPlace, LostFile


class FileNotes:
    """What ``config.files_place`` keeps in the database: see ``settings.FILE_NOTES``."""

    def place(self) -> str | None:
        """The name of the place in which the files were found last."""
        kept = queries.files_place()
        return kept.name if kept else None

    def note_place(self, name: str) -> None:
        """Note that they lie there from now on."""
        kept = {"name": name, "noted_at": timezone.now(), "answered_at": None}
        FilesPlace.objects.update_or_create(pk=1, defaults=kept)

    def lost(self) -> set[str]:
        """The names of those that are recorded as lost for good."""
        return queries.lost_files()


FILE_NOTES = FileNotes()


def note_whether_store_answers() -> None:
    """Note that the store of the files answers, if it does. Nothing is asked where the files lie on the disk."""
    if store_answers():
        FilesPlace.objects.update(answered_at=timezone.now())


@transaction.atomic
def record_lost_files(names: Collection[str]) -> None:
    """Record that these files are lost for good, and no others: what has come back is not lost."""
    now = timezone.now()
    LostFile.objects.exclude(name__in=names).delete()
    LostFile.objects.bulk_create([LostFile(name=name, noted_at=now) for name in sorted(names)], ignore_conflicts=True)
