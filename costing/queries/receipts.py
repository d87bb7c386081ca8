"""Which receipts are a member's own, and which files nobody's."""

from collections.abc import Iterator
from datetime import datetime
from pathlib import PurePosixPath
from uuid import UUID

from django.core.files.storage import default_storage
from django.http import Http404
from django.shortcuts import get_object_or_404

from costing.models import CostEntry, Entry, Fill, Receipt
from instructors.models import Member

#: Where their files lie among the book's.
RECEIPTS_FOLDER = PurePosixPath("receipts")


def receipt_for(member: Member, pk: UUID) -> Receipt:
    """Return one of the member's own receipts. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(Receipt.objects.select_related("cost__car", "fill__car"), member=member, pk=pk)


def entry_with_receipts_for(entry: Entry) -> CostEntry | Fill:
    """Return an entry of a kind that has receipts. Raises Http404 for lessons."""
    if not isinstance(entry, CostEntry | Fill):
        raise Http404
    return entry


def receipts_of(entry: Entry) -> list[Receipt]:
    """Return the receipts of an entry in their order; lessons have none."""
    return list(entry.receipts.all()) if isinstance(entry, CostEntry | Fill) else []


def files_of_no_receipt(before: datetime) -> Iterator[str]:
    """Yield the names of files written before then that belong to no receipt: of a save that failed, for example."""
    folder = str(RECEIPTS_FOLDER)
    _, names = default_storage.listdir(folder) if default_storage.exists(folder) else ([], [])
    kept = {name for pair in Receipt.objects.values_list("picture", "thumbnail").iterator() for name in pair}
    for name in sorted(names):
        path = f"{folder}/{name}"
        if path not in kept and default_storage.get_modified_time(path) < before:
            yield path
