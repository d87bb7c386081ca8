"""The member's own entries: listed, corrected, voided."""

from collections.abc import Callable
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.changes import VoidForm, changes_of
from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import hours_taught, pounds
from costing.actions import correct_entry, void_entry
from costing.forms import CostForm, EntryForm, FillForm, TeachingForm
from costing.models import CostEntry, Entry, Fill, TeachingRecord
from costing.queries import ENTRY_MODELS, entry_for
from costing.queries.listing import entries_of
from costing.views.rows import row_of
from fleet.core.registration import show
from fleet.queries import cars_of
from instructors.access import MemberRequest

#: How the history of an entry writes what its type does not say.
_SHOWN: dict[str, Callable[[Any], str]] = {"amount": pounds, "minutes": hours_taught}
#: What a history does not tell of an entry: how it hangs together with others.
_UNTOLD = ("found_right", "batch", "replaced_by", "repeat")
_KIND_WORDS = {"fill": "Fills", "cost": "Costs", "lessons": "Lessons"}


@require_safe
def entries(request: MemberRequest) -> HttpResponse:
    """List what the member logged, newest first."""
    kind = request.GET.get("kind", "")
    if kind and kind not in ENTRY_MODELS:
        raise Http404
    voided_too = request.GET.get("voided") == "1"
    page = entries_of(request.user, kind=kind, voided_too=voided_too, page=request.GET.get("page", "1"))
    rows = [row_of(entry) for entry in page.object_list]
    kept = {show(car.registration) for car in cars_of(request.user)}
    context = {
        "rows": rows,
        "has_car": bool(kept),
        "has_several": len(kept | {row.mark for row in rows}) > 1,
        "page": page,
        "kind": kind,
        "kinds": [("", "All"), *_KIND_WORDS.items()],
        "voided_too": voided_too,
    }
    return render(request, "costing/entries.html", context)


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
    }
    return form_page(request, "costing/entry_correct.html", form, save, context)


@read_or_write
def entry_void(request: MemberRequest, kind: str, pk: int) -> HttpResponse:
    """Void one entry, once the member has confirmed it."""
    entry = entry_for(request.user, kind, pk)
    row, form = row_of(entry), VoidForm(posted(request))

    def save() -> HttpResponse:
        void_entry(by=request.user, entry=entry, **form.cleaned_data)
        return go_on(request, f"Voided: {row.title}, {row.detail}. It no longer counts.", "costing:entries")

    return form_page(request, "costing/entry_void.html", form, save, {"row": row})


def _form_for(entry: Entry, data: Any) -> EntryForm:
    today = timezone.localdate()
    if isinstance(entry, Fill):
        return FillForm(data, by=entry.member, cars=[], today=today, entry=entry)
    if isinstance(entry, CostEntry):
        return CostForm(data, by=entry.member, cars=[], today=today, entry=entry)
    return TeachingForm(data, by=entry.member, cars=[], today=today, entry=entry)
