"""Receipts: each shown to its owner alone, added to an entry, removed."""

from typing import NamedTuple
from uuid import UUID

from django.db.models.fields.files import FieldFile
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted, posted_files
from config.http import read_or_write
from config.kept_picture import kept_picture
from config.whole_files import may_be_there
from costing.actions import drop_receipt, keep_receipts
from costing.forms import ReceiptForm
from costing.models import Entry, Receipt
from costing.queries import entry_for, entry_with_receipts_for, receipt_for, receipts_of
from costing.views.rows import row_of
from instructors.access import MemberRequest, few_at_once


class ReceiptShown(NamedTuple):
    """A receipt as pages show it; its files may be gone from a book that was restored without them."""

    pk: UUID
    is_there: bool


def shown_receipts(entry: Entry) -> list[ReceiptShown]:
    """Return the receipts of an entry in their order."""
    return [_as_shown(receipt) for receipt in receipts_of(entry)]


def _as_shown(receipt: Receipt) -> ReceiptShown:
    return ReceiptShown(receipt.pk, may_be_there(receipt.thumbnail))


@require_safe
def receipt(request: MemberRequest, pk: UUID) -> HttpResponseBase:
    """One receipt, to be read."""
    return _shown(request, receipt_for(request.user, pk).picture, str(pk))


@require_safe
def receipt_small(request: MemberRequest, pk: UUID) -> HttpResponseBase:
    """The same small, to tell it from others."""
    return _shown(request, receipt_for(request.user, pk).thumbnail, f"{pk}-small")


def _shown(request: MemberRequest, picture: FieldFile, name: str) -> HttpResponseBase:
    try:
        return kept_picture(request, picture, name)
    except FileNotFoundError:
        return render(request, "costing/receipt_lost.html", status=404)


@read_or_write
@few_at_once
def receipt_add(request: MemberRequest, kind: str, pk: int) -> HttpResponse:
    """Add receipts to an entry that is in the book already."""
    entry = entry_with_receipts_for(entry_for(request.user, kind, pk))
    form = ReceiptForm(posted(request), posted_files(request))

    def save() -> HttpResponse:
        count = keep_receipts(by=request.user, entry=entry, pages=form.cleaned_data["receipt"])
        pages = f"{count} page{'' if count == 1 else 's'}" if count else "it was there already"
        return go_on(request, f"Receipt kept: {pages}.", "costing:entry-correct", kind, pk)

    return form_page(request, "costing/receipt_add.html", form, save, {"row": row_of(entry)})


@read_or_write
def receipt_remove(request: MemberRequest, pk: UUID) -> HttpResponse:
    """Remove one receipt, once the member has seen which."""
    kept = receipt_for(request.user, pk)
    row = row_of(kept.entry)
    if request.method == "POST":
        drop_receipt(by=request.user, receipt=kept)
        return go_on(request, "The receipt was removed.", "costing:entry-correct", row.kind, row.pk)
    return render(request, "costing/receipt_remove.html", {"row": row, "receipt": _as_shown(kept)})
