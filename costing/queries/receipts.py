"""Which receipts are a member's own, and where their files lie."""

from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404

from costing.models import CostEntry, Entry, Fill, Receipt
from instructors.models import Member

#: Where their files lie among the book's.
RECEIPTS_FOLDER = "receipts"


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


def files_of_receipts() -> set[str]:
    """Return the names of the files that receipts have."""
    return {name for pair in Receipt.objects.values_list("picture", "thumbnail").iterator() for name in pair}
