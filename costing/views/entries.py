"""The member's own entries: listed, corrected, voided."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from config.showing import day, hours_taught, pounds
from costing.actions import correct_entry, void_entry
from costing.forms import CostForm, EntryForm, FillForm, TeachingForm, VoidForm
from costing.models import CostEntry, Entry, Fill, TeachingRecord
from costing.queries import ENTRY_MODELS, entry_for
from costing.queries.listing import entries_of
from costing.views.rows import row_of
from fleet.core.registration import show
from fleet.queries import cars_of
from instructors.access import MemberRequest

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
        row = row_of(correct_entry(by=request.user, entry=entry, changes=form.cleaned_data))
        return go_on(request, f"Corrected: {row.title}, {row.figure}, {row.detail}.", "costing:entries")

    context = {"entry": entry, "row": row_of(entry), "history": _history(entry)}
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
        return FillForm(data, cars=[], today=today, entry=entry)
    if isinstance(entry, CostEntry):
        return CostForm(data, cars=[], today=today, entry=entry)
    return TeachingForm(data, cars=[], today=today, entry=entry)


class FieldChange(NamedTuple):
    """One field before and after a change."""

    name: str
    was: str
    became: str


class EntryChange(NamedTuple):
    """One change of an entry: who made it, when, what they did, and the fields it changed."""

    who: str
    at: datetime
    what: str
    fields: list[FieldChange]


def _history(entry: Entry) -> list[EntryChange]:
    """Return the changes of an entry, newest first."""
    history = entry.history  # type: ignore[attr-defined]  # every kind of entry has one of its own
    records = list(history.select_related("history_user").order_by("-history_date", "-history_id"))
    changes = []
    for record, earlier in zip(records, [*records[1:], None], strict=True):
        who = record.history_user.name if record.history_user else "Loaded from an archive"
        fields = _changed_fields(entry, record, earlier) if earlier else []
        changes.append(EntryChange(who, record.history_date, record.history_change_reason or "Saved", fields))
    return changes


def _changed_fields(entry: Entry, record: Any, earlier: Any) -> list[FieldChange]:
    fields = entry._meta.concrete_fields
    told = [field for field in fields if field.name not in {"id", "ref", "created_at", "voided_at"}]
    return [
        FieldChange(
            field.verbose_name.capitalize(),
            _shown(field, getattr(earlier, field.attname)),
            _shown(field, getattr(record, field.attname)),
        )
        for field in told
        if getattr(record, field.attname) != getattr(earlier, field.attname)
    ]


def _shown(field: Any, value: Any) -> str:
    """Return a field's value as the pages show it."""
    if value is None and field.model is TeachingRecord:
        return "not known"
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.choices:
        return dict(field.choices).get(value, value)
    if field.name == "amount":
        return pounds(value)
    if field.name == "minutes":
        return hours_taught(value)
    if isinstance(value, date):
        return day(value)
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return f"{value:,}" if isinstance(value, int) else str(value)
