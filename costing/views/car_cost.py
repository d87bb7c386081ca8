"""The true cost of one car over a period, and what it is made of."""

from datetime import date
from typing import NamedTuple
from urllib.parse import urlencode
from uuid import uuid4

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.showing import month
from costing.charts import each_pound
from costing.core.catalogue.costs import DEPRECIATION, INTEREST, RENTAL
from costing.core.money import to_places
from costing.core.periods import last_ended_month, month_of, months_ending
from costing.core.records import Period
from costing.forms import PeriodForm
from costing.queries import cars_with_money_of
from costing.queries.cover import covers_of
from costing.queries.listing import agreements_of, valuations_of
from costing.report import car_reports
from costing.views.instalments import repeat_offer
from costing.views.rows import spread_of, title_of
from fleet.core.registration import normalise
from fleet.models import Car
from instructors.access import MemberRequest
from instructors.models import Member


class PeriodTab(NamedTuple):
    """A period that one tap shows."""

    words: str
    period: Period
    address: str
    is_shown: bool


@require_safe
def car_cost(request: MemberRequest, mark: str) -> HttpResponse:
    """Show the member's own records of a car over the period asked for, or else over last month.

    Of a car that came into service since then, show the month so far.
    """
    today = timezone.localdate()
    car = own_car_or_404(request.user, mark)
    form = PeriodForm(request.GET, today=today) if {"first", "last"} & set(request.GET) else None
    period = last_ended_month(today)
    if period.last < car.in_service_from <= today:
        period = Period(month_of(today).first, today)
    if form and form.is_valid():
        period = form.cleaned_data["period"]
    [[report]] = car_reports([period], cars=[car], member=request.user)
    share = report.business_share
    agreements = agreements_of(request.user, car)
    context = {
        "car": car,
        "today": today,
        "report": report,
        "lines": [(line, _behind(line.category, period, car)) for line in report.lines],
        "covers": [(cost, spread_of(cost)) for cost in covers_of(request.user, car, period)],
        "chart": each_pound((line.group, line.pence) for line in report.lines),
        "tabs": _tabs(car, today, period),
        "form": form or PeriodForm(today=today, initial={"first": period.first, "last": period.last}),
        "agreements": agreements,
        "offer": repeat_offer(agreements[0], today) if agreements and car.keeper_id == request.user.pk else None,
        "ref": uuid4(),
        "valuations": valuations_of(request.user, car),
        "is_keeper": car.keeper_id == request.user.pk,
        "title": title_of(period),
        "business_percent": None if share is None else to_places(share * 100, 1),
    }
    return render(request, "costing/car_cost.html", context)


#: Where on this page stands what a category rests on that is not made of entries.
_HELD = {INTEREST.name: "#held", RENTAL.name: "#held", DEPRECIATION.name: "#worth"}


def _behind(category: str, period: Period, car: Car) -> str:
    """The address of what a category's figure rests on."""
    asked = {"first": period.first, "last": period.last, "category": category, "car": car.registration}
    return _HELD.get(category) or f"{reverse('costing:behind-figure')}?{urlencode(asked)}"


def own_car_or_404(member: Member, mark: str) -> Car:
    """Return a car that the member keeps or has logged on. Raises Http404 for any other, whatever their role."""
    wanted = normalise(mark)
    for car in cars_with_money_of(member):
        if car.registration == wanted:
            return car
    raise Http404


def kept_car_or_404(member: Member, mark: str) -> Car:
    """Return a car that the member keeps. Raises Http404 for any other, whatever their role."""
    car = own_car_or_404(member, mark)
    if car.keeper_id != member.pk:
        raise Http404
    return car


def _tabs(car: Car, today: date, shown: Period) -> list[PeriodTab]:
    closed = last_ended_month(today)
    tax_year = tax_year_of(today)
    spans = [
        (f"{month(today)} so far", Period(month_of(today).first, today)),
        (month(closed.first), closed),
        (f"12 months to {month(closed.first)}", months_ending(closed.first, 12)),
        ("This tax year so far", Period(tax_year.first, today)),
        ("Last tax year", tax_year_of(tax_year.first.replace(day=5))),
    ]
    page = reverse("costing:car-cost", args=[car.registration])
    return [
        PeriodTab(words, span, f"{page}?first={span.first}&last={span.last}", span == shown) for words, span in spans
    ]


def tax_year_of(day_in_it: date) -> Period:
    """Return the tax year that a day lies in, 6 April to 5 April."""
    begins = date(day_in_it.year, 4, 6)
    year = day_in_it.year if day_in_it >= begins else day_in_it.year - 1
    return Period(date(year, 4, 6), date(year + 1, 4, 5))
