"""Receipts kept with an entry, for tests that do not care what is on them."""

from config.pictures import Page
from costing.actions import keep_receipts
from costing.models import CostEntry, Fill, Receipt
from tests.papers import receipt_pdf
from tests.pictures import picture_bytes

PHOTO, PDF = picture_bytes(size=(60, 90)), receipt_pdf(2)


def page(words: str = "a receipt") -> Page:
    """A page whose files are only words, so that they can be found again."""
    return Page(words.encode(), f"small: {words}".encode())


def kept(entry: CostEntry | Fill, *words: str) -> list[Receipt]:
    """The receipts of an entry, with one more for each of ``words``."""
    keep_receipts(by=entry.member, entry=entry, pages=[page(one) for one in words or ("a receipt",)])
    return list(entry.receipts.all())
