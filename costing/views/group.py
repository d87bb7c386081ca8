"""A member's own costs beside the group's median, over closed months."""

from datetime import date

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.core.group import LOWEST_MINIMUM, QUARTILE_MINIMUM, Shown
from costing.core.periods import last_ended_month
from costing.months import months_report
from costing.queries import closed_months, running_figures
from costing.queries.as_notified import closes_on
from costing.report import OwnBesideGroup
from costing.views.mirror import finding, mirror_of
from costing.views.running import running_rows
from instructors.access import MemberRequest, settings_of

_MONTHS_OFFERED = 36


@require_safe
def group(request: MemberRequest) -> HttpResponse:
    """Show a closed month and the 12 that end with it: the last one unless another is asked for."""
    member, today, settings, closed = request.user, timezone.localdate(), settings_of(request), closed_months()
    month = _month_asked_for(request.GET.get("month", ""), closed)
    report = months_report(member, month, today, settings)
    of_month = report.months[-1]
    spans = [of_month, report.year]
    closed_once = running_figures(settings.minimum_contributors, month)
    medians = closed_once.medians if closed_once else {}
    # They are closed once a year, and belong beside one's own of that very year.
    elsewhere = closed_once.year if closed_once and medians and closed_once.year != report.year.period else None
    context = {
        "month": month,
        "months": closed[:_MONTHS_OFFERED],
        "spans": [(of_month, of_month.own.reasons), (report.year, _reasons_of_year(report.year, of_month))],
        "finding": finding(of_month),
        "mirror": mirror_of(report),
        "least": of_month.group.minimum if of_month.group else LOWEST_MINIMUM,
        "least_for_quartiles": QUARTILE_MINIMUM,
        "same_of_group": _said_of(of_month.group) == _said_of(report.year.group),
        "year": report.year,
        "medians": medians,
        "running": [] if elsewhere else running_rows(report.running, medians, {car.fuel for car in report.cars}),
        "running_elsewhere": elsewhere,
        "closes_on": None if all(span.group for span in spans) else _closing_ahead(month, today),
    }
    return render(request, "costing/group.html", context)


def _reasons_of_year(year: OwnBesideGroup, month: OwnBesideGroup) -> list[str]:
    """What is missing from the own figures of a year; what was said of its last month above is not said again."""
    before, reasons = month.own.reasons, year.own.reasons
    if not before or not set(before) <= set(reasons):
        return list(reasons)
    return [f"the same as in {month.title}", *(reason for reason in reasons if reason not in before)]


def _said_of(group: Shown | None) -> tuple[int, ...] | None:
    """What the words below a span say of the group."""
    return group and (group.contributors, group.out, group.minimum, group.rounded_to, group.suppressed)


def _closing_ahead(month: date, today: date) -> date | None:
    """The day on which the month is still to be closed; None if it has passed, as for months before the co-op began."""
    closing = closes_on(month)
    return closing if closing >= today else None


def _month_asked_for(text: str, closed: list[date]) -> date:
    """Return the closed month that the address names, as 2026-02.

    Without one, return the last closed month, or the last calendar month if none is closed yet. Raises Http404 for a
    month that is not closed.
    """
    if not text:
        return closed[0] if closed else last_ended_month(timezone.localdate()).first
    try:
        month = date.fromisoformat(f"{text}-01")
    except ValueError as error:
        raise Http404 from error
    if month not in closed:
        raise Http404
    return month
