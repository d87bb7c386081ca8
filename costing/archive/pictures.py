"""The pictures of receipts: each comes in as it was kept, or is a fault.

A picture is written among the book's files while its row is still being checked, so that it is read once. If the
archive is refused it is deleted again; if that is prevented, by the nightly sweep.
"""

from collections.abc import Iterable
from uuid import UUID

from config.pictures import NotAPicture, as_kept_page
from config.whole_files import KeptFile, kept_files
from costing.actions.receipts import store
from costing.archive.faults import WHOLE_FILE, ArchiveFault
from costing.archive.reading import FileRow, Sheet
from costing.archive.receipts import RECEIPTS, picture_of
from costing.archive.sources import Pictures, Unreadable
from costing.models import Receipt
from instructors.models import Member


def pictures_in_the_book(owner: Member | None) -> dict[UUID, KeptFile]:
    """Return the file of each receipt, or of those of ``owner``, without any that are no longer there."""
    receipts = Receipt.objects.order_by() if owner is None else Receipt.objects.order_by().filter(member=owner.pk)
    named = dict(receipts.values_list("pk", "picture"))
    there = kept_files(named.values())
    return {pk: there[name] for pk, name in named.items() if name in there}


class Taken:
    """The pictures of new receipts, already among the book's files: receipts that are not saved yet, by their ids."""

    def __init__(self) -> None:
        self.receipts: dict[UUID, Receipt] = {}

    def take(self, pk: UUID, jpeg: bytes) -> None:
        """Check one picture in a process of its own, and write it and its thumbnail. Raises NotAPicture."""
        page = as_kept_page(jpeg)
        self.receipts[pk] = store(Receipt(pk=pk), page)

    def forget(self) -> None:
        """Delete all these files, because nothing is loaded."""
        for receipt in self.receipts.values():
            for file in (receipt.picture, receipt.thumbnail):
                file.storage.delete(str(file.name))


def take_pictures(sheet: Sheet, new: Iterable[FileRow], pictures: Pictures, taken: Taken) -> list[ArchiveFault]:
    """Take the pictures of the ``new`` rows, and add a fault for each that is missing or not as the book keeps them.

    Return the faults of pictures that no row names.
    """
    for row in new:
        if row.unread:
            continue
        pk = row.values["id"]
        if picture_of(pk) not in pictures:
            sheet.add_fault(row.line, "file", f"{picture_of(pk)} is not in the archive")
            continue
        try:
            taken.take(pk, pictures[picture_of(pk)]())
        except Unreadable as fault:
            sheet.add_fault(row.line, "file", f"{picture_of(pk)} {fault}")
        except NotAPicture:
            sheet.add_fault(row.line, "file", f"{picture_of(pk)} is damaged, or is no JPEG that this book has written")
    if not sheet.is_whole:
        return []  # the row that is missing may be in the part that could not be read
    named = {picture_of(row.values["id"]) for row in sheet.rows if "id" not in row.unread}
    words = f"belongs to no row of {RECEIPTS.file}"
    return [ArchiveFault(name, 1, WHOLE_FILE, words) for name in sorted(pictures.keys() - named)]
