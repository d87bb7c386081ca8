"""The home page: the verdict, the four ways to log, what a lesson hour cost, and what is to come."""

from collections.abc import Iterable

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.core.periods import last_ended_month
from costing.months import MonthsReport, months_report
from costing.planning.report import left_line, pot_line
from costing.queries.dismissals import Kept, kept_by
from costing.statement.report import odd_line
from costing.views.ahead import co_op_ahead, own_ahead
from costing.views.first_steps import first_steps
from costing.views.lines import quiet_line
from costing.views.mirror import mirror_of
from costing.views.verdict import sentences_of, stopped
from costing.wording.lines import Line
from fleet.models import Car
from fleet.own_cars import own_report, visible_report
from fleet.queries import DueReport, cars_visible_to, has_ever_kept, stale_readings_of
from instructors.access import MemberRequest, settings_of
from instructors.models import Cooperative, Member

#: Cars of the co-op off the road that are named; all are one tap away.
_MOST_STOPPED = 12


@require_safe
def home(request: MemberRequest) -> HttpResponse:
    """Show what is recorded against the member's cars, what a lesson hour cost, and what falls due; coordinators see
    which of all cars must not be used."""
    member, today, settings = request.user, timezone.localdate(), settings_of(request)
    month = last_ended_month(today).first
    months = months_report(member, month, today, settings)
    cars = list(cars_visible_to(member)) if member.is_coordinator else _kept_by(member, months.cars)
    kept = [car for car in cars if car.keeper_id == member.pk]
    report = visible_report(request, cars, settings.nation, months.odometers)
    own = own_report(request)
    stale = stale_readings_of([(due, months.odometers[due.car.pk]) for due in own.cars], today)
    own_stopped = [stopped(due) for due in own.cars if due.off_the_road]
    all_stopped = [stopped(due) for due in report.cars if due.off_the_road]
    keeps = kept_by(member)
    odd = odd_line(months.cars, months.books, keeps.dismissed, today)
    context = {
        "kept": kept,
        "has_kept": not kept and has_ever_kept(member),
        "own_cars": [due.car for due in own.cars],
        "own_stopped": own_stopped,
        "co_op_stopped": all_stopped[:_MOST_STOPPED] if len(all_stopped) > len(own_stopped) else [],
        "co_op_stopped_count": len(all_stopped),
        "car_count": len(report.cars),
        "sentences": sentences_of(own, months.last_entry_on, stale, odd),
        "months": months,
        "mirror": mirror_of(months),
        "steps": first_steps(own, months.begun),
        "lines": _lines(member, months, own, report, settings, keeps),
        "own_ahead": own_ahead(own),
        "co_op_ahead": co_op_ahead(report, member) if len(report.cars) > len(own.cars) else None,
    }
    return render(request, "costing/home.html", context)


def _kept_by(member: Member, cars: Iterable[Car]) -> list[Car]:
    """Those of ``cars`` that the member keeps now; whoever is not a coordinator may see no others."""
    kept = [car for car in cars if car.keeper_id == member.pk]
    for car in kept:
        car.keeper = member
    return kept


def _lines(
    member: Member, months: MonthsReport, own: DueReport, report: DueReport, settings: Cooperative, keeps: Kept
) -> list[Line]:
    """What is worth a line, in the order in which it is shown."""
    today, rate = own.on, settings.depreciation_rate
    found = [
        left_line(member, months.books, months.cars, today, rate=rate) if keeps.has_takings else None,
        pot_line(member, today, due=own, odometers=months.odometers) if keeps.has_pot else None,
        quiet_line([due.car for due in report.cars], today, member) if member.is_coordinator else None,
    ]
    return [line for line in found if line]
