"""Where the book's files lie, and which of them are lost for good."""

from collections.abc import Iterable
from datetime import datetime

from instructors.models import FilesPlace, LostFile


def files_place() -> FilesPlace | None:
    """Where this installation's files were found when a process last started; None if none has looked yet."""
    return FilesPlace.objects.order_by("pk").first()


def lost_files() -> set[str]:
    """The names of the files that are recorded as lost for good."""
    return set(LostFile.objects.values_list("name", flat=True))


def count_of_unforeseen(missing: Iterable[str]) -> int:
    """How many of the files that a backup lacks are not recorded as lost for good."""
    return len(set(missing) - lost_files())


def count_recorded_as_lost_since(moment: datetime) -> int:
    """How many files were recorded as lost for good after then."""
    return LostFile.objects.filter(noted_at__gt=moment).count()
