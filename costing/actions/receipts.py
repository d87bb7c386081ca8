"""Keeping the receipts of a cost or a fill, and letting them go."""

import hashlib
import logging
import uuid
from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Count, Max, Sum

from config import budgets
from config.history import lock
from config.pictures import Page
from config.showing import whole
from config.whole_files import delete_after_commit, why_not_kept
from costing.models import CostEntry, Fill, Receipt
from instructors.models import Member

logger = logging.getLogger(__name__)

#: Names a page by what is on it and by its entry, so that one sent again finds itself.
_PAGES = uuid.UUID("0e2b0a5c-7f0c-4b0e-9d5f-3c1f6c3f6a58")


@transaction.atomic
def keep_receipts(*, by: Member, entry: CostEntry | Fill, pages: Sequence[Page]) -> int:
    """Keep ``pages`` with one of ``by``'s own entries, after those that it has; return how many are new.

    A page that the entry has already is not kept twice. Raises ValidationError if the entry is voided, or if it or the
    member would have too much, and on ``receipt`` if it cannot be written. A file whose transaction fails is deleted by
    the nightly sweep.
    """
    if entry.member_id != by.pk:
        raise PermissionError("only whoever made a record may add to it")
    if entry.voided_at is not None:
        raise ValidationError("This entry was voided: log it again if it was right after all.", code="voided")
    if not pages:
        return 0
    lock(by, lets_refer=True)  # else two saves at once would each find the last place free
    own = Receipt.objects.filter(**_of(entry))
    had = set(own.values_list("pk", flat=True))
    new = {pk: page for page in pages if (pk := _pk_of(entry, page)) not in had}
    _refuse_too_much(by, len(had), list(new.values()))
    last: int = own.aggregate(last=Max("position"))["last"] or 0
    for position, (pk, page) in enumerate(new.items(), last + 1):
        receipt = Receipt(pk=pk, member=by, position=position, **_of(entry))
        try:
            store(receipt, page)
        except OSError as error:
            logger.error("A receipt could not be written: %s", error.strerror)
            raise ValidationError({"receipt": why_not_kept(error)}, code="not_kept") from error
        receipt.save(force_insert=True)
    return len(new)


def store(receipt: Receipt, page: Page) -> Receipt:
    """Write the files of a receipt that is not saved yet; return it. Raises OSError, and then neither stays."""
    receipt.picture.save("", ContentFile(page.picture), save=False)
    try:
        receipt.thumbnail.save("", ContentFile(page.thumbnail), save=False)
    except OSError:
        receipt.picture.delete(save=False)
        raise
    receipt.size = page.size
    return receipt


@transaction.atomic
def drop_receipt(*, by: Member, receipt: Receipt) -> None:
    """Delete one of ``by``'s own receipts, and its files once that is certain."""
    if receipt.member_id != by.pk:
        raise PermissionError("only whoever made a record may take from it")
    delete_after_commit(receipt.picture, receipt.thumbnail)
    receipt.delete()


def _of(entry: CostEntry | Fill) -> dict[str, CostEntry | Fill]:
    return {"fill": entry} if isinstance(entry, Fill) else {"cost": entry}


def _pk_of(entry: CostEntry | Fill, page: Page) -> uuid.UUID:
    return uuid.uuid5(_PAGES, f"{type(entry).__name__} {entry.pk} {hashlib.sha256(page.picture).hexdigest()}")


def _refuse_too_much(by: Member, had: int, new: Sequence[Page]) -> None:
    if new and had + len(new) > budgets.RECEIPTS_OF_ENTRY:
        words = f"An entry has at most {budgets.RECEIPTS_OF_ENTRY} pages of receipts; this one has {had}."
        raise ValidationError({"receipt": words}, code="many")
    kept = Receipt.objects.filter(member=by).aggregate(count=Count("pk"), size=Sum("size"))
    count, size = kept["count"] + len(new), (kept["size"] or 0) + sum(page.size for page in new)
    if count > budgets.RECEIPTS_OF_MEMBER or size > budgets.RECEIPT_BYTES_OF_MEMBER:
        most = f"{whole(budgets.RECEIPTS_OF_MEMBER)} pages and {budgets.RECEIPT_BYTES_OF_MEMBER // 10**6} MB"
        words = f"You have no room for more receipts: {most} is the most. Remove some of older entries first."
        raise ValidationError({"receipt": words}, code="quota")
