"""A member's own costs beside the group's median, over closed months."""

from datetime import date

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.charts import PairOfBars, own_beside_median
from costing.core.periods import last_ended_month
from costing.queries import closed_months
from costing.report import OwnBesideGroup, group_report
from instructors.access import MemberRequest

_MONTHS_OFFERED = 36


@require_safe
def group(request: MemberRequest) -> HttpResponse:
    """Show a closed month and the 12 that end with it: the last one unless another is asked for."""
    closed = closed_months()
    month = _month_asked_for(request.GET.get("month", ""), closed)
    spans = group_report(request.user, month)
    context = {
        "month": month,
        "months": closed[:_MONTHS_OFFERED],
        "spans": [(span, chart_of(span)) for span in spans],
        "group": spans[0].group,
    }
    return render(request, "costing/group.html", context)


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


def chart_of(span: OwnBesideGroup) -> PairOfBars | None:
    """Draw a lesson hour of the member's beside the group's median, if both are there."""
    median = span.group.median_cost_per_lesson_hour if span.group else None
    return own_beside_median(f"A lesson hour, {span.title}", span.own.cost_per_lesson_hour, median)
