"""The statement of a period: its page, and the same figures as a CSV file."""

from datetime import date
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import SeeOther
from config.showing import month
from costing.core.periods import last_ended_month, month_of
from costing.core.records import Period
from costing.forms.periods import StatementForm, ThanForm
from costing.queries import cars_with_money_of, first_entry_on
from costing.queries.charging import lesson_hour_price
from costing.statement.pictures import page
from costing.statement.pictures.economy import shown as economies_shown
from costing.statement.pictures.elsewhere import elsewhere_of
from costing.statement.pictures.ends import ends_of
from costing.statement.pictures.file import as_csv
from costing.statement.pictures.lacks import key_of, known_but_for_days, lines_of_lacks, waits_for_days
from costing.statement.pictures.moved import shown as moved_shown
from costing.statement.pictures.periods import address_of, asked_for, beside, chips_of, thans_of
from costing.statement.report import Statement
from costing.statement.report import statement as statement_of
from costing.statement.services.economy import days_of_economy, economy_of
from costing.statement.services.moved import days_compared, moved_of
from costing.statement.services.own import own_books
from fleet.models import Car
from instructors.access import MemberRequest, few_papers, settings_of
from instructors.models import Member


@require_safe
def statement(request: MemberRequest) -> HttpResponse:
    """Show what the member's cars, or the one asked for, cost in the period asked for, or else in the last month."""
    form, today = _asked(request), timezone.localdate()
    cars = list(form.cars.values())
    if not cars:
        return render(request, "costing/statement.html", {"form": form, "has_no_car": True})
    if not form.is_valid():
        return render(request, "costing/statement.html", {"form": form})
    period, car = form.cleaned_data["period"], form.chosen_car
    than = _asked_than(request)
    reaching = [days_compared(period, _than(than)), days_of_economy(period)]
    found = statement_of(request.user, period, car=car, reaching=reaching)
    first_entry = first_entry_on(request.user, car)
    context = {
        "form": form,
        "today": today,
        "statement": found,
        "chips": chips_of(today, period, car, found.own.known_part, first_entry) if found else [],
        "beside": beside(today, period, car),
        "cars": page.car_chips(cars, period, car),
        "query": asked_for(period, car),
        "year_to_then": f"12 months to {month(period.last)}",
        **(_shown(request, found, than, first_entry) if found else {"is_empty": True}),
    }
    return render(request, "costing/statement.html", context)


@require_safe
@few_papers
def statement_csv(request: MemberRequest) -> HttpResponse:
    """Give the statement of the period asked for as a file; what is asked amiss leads to the page that says why."""
    form = _asked(request)
    if not form.is_valid():
        return SeeOther(f"{reverse('costing:statement')}?{request.GET.urlencode()}")
    first, last = period = form.cleaned_data["period"]
    found = statement_of(request.user, period, car=form.chosen_car)
    named = f'attachment; filename="statement-{first}-to-{last}.csv"'
    headers = {"Content-Disposition": named, "Cache-Control": "private, no-store"}
    return HttpResponse(as_csv(period, found), content_type="text/csv; charset=utf-8", headers=headers)


def _asked(request: MemberRequest) -> StatementForm:
    """What the address asks for; without days, what is told of the latest ones."""
    member, today = request.user, timezone.localdate()
    form = StatementForm(request.GET, today=today, cars=cars_with_money_of(member))
    if {"first", "last"} & set(request.GET):
        return form
    data = request.GET.copy()
    car = form.cars.get(data.get("car", ""))
    first, last = _latest(member, car, today)
    data.update({"first": first.isoformat(), "last": last.isoformat()})
    return StatementForm(data, today=today, cars=list(form.cars.values()))


def _latest(member: Member, car: Car | None, today: date) -> Period:
    """The last month that has ended; while there is nothing earlier, the month so far, as far as it is known."""
    ended, first_entry = last_ended_month(today), first_entry_on(member, car)
    if first_entry and first_entry <= ended.last:
        return ended
    so_far = Period(month_of(today).first, today)
    own = own_books(member, so_far, car)
    return (own and own.known_part(so_far)) or so_far


def _shown(request: MemberRequest, found: Statement, than: ThanForm, first_entry: date | None) -> dict[str, Any]:
    """What the page shows of a statement."""
    first_day = None if found.groups else first_entry
    return {
        "groups": page.groups_of(found),
        "pound": page.pound_of(found),
        "total": [page.figure_of(pence) for pence in (found.cost.true_cost, found.cost.money_out)],
        "sentence": page.sentence_of(found),
        "economies": economies_shown(economy_of(found.own, found.period)),
        "dial": page.dial_of(found, lesson_hour_price(request.user)),
        **_why_moved(found, than),
        "ends": [*ends_of(found), *elsewhere_of(found)],
        "use": page.use_of(found),
        "why_no_use": page.why_no_use(found),
        "estimates": page.estimates_of(found),
        "beside_group": page.beside_group(found, settings_of(request)),
        "out_of_service": page.out_of_service(found) if found.is_out_of_service else "",
        **_lacks(found),
        "first_day": first_day,
        "to_first": address_of(month_of(first_day), found.car) if first_day else "",
    }


def _asked_than(request: MemberRequest) -> ThanForm:
    """The days that the address names to compare with, if it does."""
    asked = bool({"than_first", "than_last"} & set(request.GET))
    return ThanForm(request.GET if asked else None, today=timezone.localdate())


def _than(form: ThanForm) -> Period | None:
    return form.cleaned_data["period"] if form.is_valid() else None


def _why_moved(found: Statement, form: ThanForm) -> dict[str, Any]:
    """Why the lesson hour moved, once there is one: since the days that are asked for, else the nearest before."""
    if found.cost.cost_per_lesson_hour is None:
        return {}
    why = moved_of(found.own, found.period, _than(form))
    return {"why": moved_shown(why), "than_form": form, "thans": thans_of(found.period, why.than, found.car)}


def _lacks(found: Statement) -> dict[str, Any]:
    """What it lacks, with what mends it, and whether fewer days are known."""
    key = key_of(found)
    return {
        "lacks": lines_of_lacks(found, found.lacks, key),
        "missing": lines_of_lacks(found, found.missing),
        "besides": lines_of_lacks(found, found.lacks_besides),
        "is_to_come": known_but_for_days(found),
        "to_known": _to_known(found) if waits_for_days(found) else "",
    }


def _to_known(found: Statement) -> str:
    """The address of the part of a statement for which all is known; empty if that is all of it, or nothing."""
    (first, last), until = found.period, found.cost.known_until
    is_part = found.cost.cost_per_lesson_hour is None and until is not None and first <= until < last
    return address_of(Period(first, until), found.car) if is_part and until else ""
