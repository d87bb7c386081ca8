"""The home page: what a lesson costs, beside the group, and what needs doing."""

from typing import NamedTuple

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.showing import day
from costing.queries.listing import has_logged
from costing.report import home_report
from costing.views.group import chart_of
from fleet.core.registration import show
from fleet.own_cars import own_report
from fleet.queries import DueLine
from fleet.wording import STATE_WORDS, when
from instructors.access import MemberRequest

_DUE_SHOWN = 5


class DueRow(NamedTuple):
    """One due item as the page lists it; ``registration`` is empty for one of the member's own."""

    title: str
    subject: str
    when: str
    state: str
    state_words: str
    registration: str


@require_safe
def home(request: MemberRequest) -> HttpResponse:
    """Show the member's own figures, the ways to log, and what falls due next, worst first."""
    today = timezone.localdate()
    report, due = home_report(request.user, today), own_report(request)
    spans = [report.so_far, report.month, report.year]
    context = {
        "report": report,
        "cars_in_service": [of_car.car for of_car in due.cars],
        "spans": [(span, chart_of(span)) for span in spans],
        "is_new": not has_logged(request.user),
        "due_next": [_due_row(line) for line in due.lines()[:_DUE_SHOWN]],
    }
    return render(request, "costing/home.html", context)


def _due_row(line: DueLine) -> DueRow:
    car, status = line.subject.car, line.status
    booked = f", booked for {day(status.booked_for)}" if status.booked_for else ""
    return DueRow(
        title=line.title,
        subject=show(car.registration) if car else "Your own",
        when=f"{when(status)}{booked}",
        state=status.state,
        state_words=STATE_WORDS[status.state],
        registration=car.registration if car else "",
    )
