"""From a figure of the true cost to the entries behind it, each with the part of it that falls into the period."""

from typing import NamedTuple
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.showing import pence_as_pounds, whole
from costing.behind import behind
from costing.core.parts import Part
from costing.core.periods import ONE_DAY, days_in, overlap
from costing.core.records import Cost, Period
from costing.core.shares import ByDays
from costing.forms.periods import BehindForm
from costing.models import CostEntry, Entry, Fill
from costing.queries import cars_with_money_of
from costing.queries.listing import PAGE_LENGTH, entries_with
from costing.views.rows import EntryRow, row_of, spread_of, title_of
from instructors.access import MemberRequest


class PartRow(NamedTuple):
    """One entry behind a figure: itself, how its sum is spread, and its part of the figure in pence."""

    shown: EntryRow
    spread: str
    pence: int


@require_safe
def behind_figure(request: MemberRequest) -> HttpResponse:
    """List the entries that the address' figure of the true cost rests on; what they add up to is the figure."""
    cars = cars_with_money_of(request.user)
    form = BehindForm(request.GET, today=timezone.localdate(), cars=cars)
    context = {"form": form, "has_several": len(cars) > 1, "page_query": ""}
    if not form.is_valid():
        return render(request, "costing/behind_figure.html", context)
    period, car, category = form.cleaned_data["period"], form.chosen_car, form.cleaned_data["category"]
    found = behind(request.user, period, car=car, category=category)
    asked = {name: request.GET[name] for name in form.fields if request.GET.get(name)}
    page = Paginator(found.parts if found else [], PAGE_LENGTH).get_page(request.GET.get("page"))
    context |= {
        "found": found,
        "title": title_of(period),
        "label": form.label,
        "car": car,
        "category": category,
        "page": page,
        "rows": _rows(request, list(page.object_list), period),
        "query": urlencode(asked),
        "page_query": f"{urlencode(asked)}&",
    }
    return render(request, "costing/behind_figure.html", context)


def _rows(request: MemberRequest, parts: list[Part], period: Period) -> list[PartRow]:
    keys: dict[type[Entry], list[int]] = {Fill: [], CostEntry: []}
    for part in parts:
        keys[_model(part)].append(part.record.key or 0)
    entries = entries_with(request.user, keys[Fill], keys[CostEntry])
    found = [(part, entries.get((_model(part), part.record.key or 0))) for part in parts]
    return [PartRow(row_of(entry), _spread(entry, part, period), part.pence) for part, entry in found if entry]


def _model(part: Part) -> type[Entry]:
    return CostEntry if isinstance(part.record, Cost) else Fill


def _spread(entry: Entry, part: Part, period: Period) -> str:
    """Say how a sum is spread and how much of that is here: "£911.37 over 365 days, 28 of them here"."""
    record = part.record
    if part.pence == record.pence:
        return ""
    paid = pence_as_pounds(record.pence)
    if not isinstance(entry, CostEntry) or not isinstance(record, Cost):
        return f"{paid} for the days since the fill before"
    spread = f"{paid} {spread_of(entry)}"
    if record.covers_from is None or record.covers_to is None:
        return f"{spread}, as far as it was driven then"
    here = overlap(Period(record.covers_from, record.covers_to), period)
    by_days = ByDays(record.covers_from, record.covers_to, record.pence)
    if here and by_days.by(here.last) - by_days.by(here.first - ONE_DAY) == part.pence:
        return f"{spread}, {whole(days_in(here))} of them here"
    return f"{spread}, and what was left of it when it ended"
