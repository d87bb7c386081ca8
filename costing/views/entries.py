"""The member's own entries: listed, corrected, voided."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, NamedTuple
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.changes import VoidForm, changes_of
from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import hours_taught, pounds
from costing.actions import correct_entry, void_entry
from costing.forms import CostForm, EntryForm, FillForm, ReceiptForm, TeachingForm
from costing.forms.search import KINDS, SearchForm
from costing.models import CostEntry, Entry, Fill, TeachingRecord
from costing.queries import batch_for, cars_with_money_of, entry_for
from costing.queries.listing import entries_of
from costing.queries.repeats import falls_due_again, settled_by
from costing.views.listed import batch_in_words, listed_row, months_of, total_in_words
from costing.views.receipts import shown_receipts
from costing.views.rows import row_of
from instructors.access import MemberRequest

#: How the history of an entry writes what its type does not say.
_SHOWN: dict[str, Callable[[Any], str]] = {"amount": pounds, "minutes": hours_taught}
#: What a history does not tell of an entry: how it hangs together with others.
_UNTOLD = ("found_right", "batch", "replaced_by", "repeat")


@require_safe
def entries(request: MemberRequest) -> HttpResponse:
    """List what the member logged and the address asks for, newest first, with what each month of it comes to."""
    form = SearchForm(request.GET, cars=cars_with_money_of(request.user))
    context: dict[str, Any] = {
        "form": form,
        "has_several": len(form.cars) > 1,
        "kinds": _chips(form.asked, "kind", [("", "All"), *KINDS]),
    }
    context["voided_chip"] = _chips(
        form.asked, "voided", [("" if "voided" in form.asked else "1", "Including voided")]
    )[0]
    if form.is_valid():
        search = form.search
        batch = batch_for(request.user, search.batch) if search.batch else None
        listing = entries_of(request.user, search, request.GET.get("page", "1"))
        rows = [listed_row(row) for row in listing.rows]
        context |= {
            "months": months_of(rows, listing.by_month),
            "total": total_in_words(listing.total, together=True) if form.narrows else "",
            "page": listing.page,
            "together": batch and batch_in_words(batch),
        }
    context["page_query"] = f"{urlencode(form.asked)}&" if form.asked else ""
    return render(request, "costing/entries.html", context)


class Chip(NamedTuple):
    """A filter that one tap sets: its words, its address, and whether it is set."""

    words: str
    address: str
    is_chosen: bool


def _chips(asked: Mapping[str, str], name: str, choices: Iterable[tuple[str, str]]) -> list[Chip]:
    """Return the choices of one filter, all else staying as it is asked for."""
    others = {other: value for other, value in asked.items() if other != name}
    return [
        Chip(words, f"?{urlencode(others | ({name: value} if value else {}))}", asked.get(name, "") == value)
        for value, words in choices
    ]


@read_or_write
def entry_correct(request: MemberRequest, kind: str, pk: int) -> HttpResponse:
    """Correct one entry; its history stands below the form."""
    entry = entry_for(request.user, kind, pk)
    form = _form_for(entry, posted(request))

    def save() -> HttpResponse:
        if form.is_left_out:
            return go_on(request, "Left as it was.", "costing:entries")
        changes = form.cleaned_data | {"found_right": " ".join(form.found_right)}
        row = row_of(correct_entry(by=request.user, entry=entry, changes=changes))
        return go_on(request, f"Corrected: {row.title}, {row.figure}, {row.detail}.", "costing:entries")

    # Lessons that were not told are not known; of a cost, an empty field says that there is none.
    nothing = "not known" if isinstance(entry, TeachingRecord) else "nothing"
    context = {
        "entry": entry,
        "row": row_of(entry),
        "history": changes_of(entry, _SHOWN, untold=_UNTOLD, nothing=nothing),
        "repeat": entry.repeat if isinstance(entry, CostEntry) else None,
        "has_receipts": not isinstance(entry, TeachingRecord),
        "receipts": shown_receipts(entry),
        "receipt_form": ReceiptForm() if entry.voided_at is None else None,
    }

    def shown() -> dict[str, Any]:
        if isinstance(form, CostForm):
            form.put_hints()
        return context

    return form_page(request, "costing/entry_correct.html", form, save, shown)


@read_or_write
def entry_void(request: MemberRequest, kind: str, pk: int) -> HttpResponse:
    """Void one entry, once the member has confirmed it."""
    entry = entry_for(request.user, kind, pk)
    row, form = row_of(entry), VoidForm(posted(request))

    def save() -> HttpResponse:
        void_entry(by=request.user, entry=entry, **form.cleaned_data)
        return go_on(request, f"Voided: {row.title}, {row.detail}. It no longer counts.", "costing:entries")

    is_of_repeat = isinstance(entry, CostEntry) and entry.repeat is not None
    settles = settled_by(entry) if isinstance(entry, CostEntry) else None
    context = {
        "row": row,
        "is_of_repeat": is_of_repeat,
        "due_again": settles if settles and falls_due_again(settles) else None,
    }
    return form_page(request, "costing/entry_void.html", form, save, context)


def _form_for(entry: Entry, data: Any) -> EntryForm:
    today = timezone.localdate()
    if isinstance(entry, Fill):
        return FillForm(data, by=entry.member, cars=[], today=today, entry=entry)
    if isinstance(entry, CostEntry):
        return CostForm(data, by=entry.member, cars=[], today=today, entry=entry)
    return TeachingForm(data, by=entry.member, cars=[], today=today, entry=entry)
