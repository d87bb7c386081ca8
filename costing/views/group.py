"""Own costs against the group's median, over closed months."""

from datetime import date

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.charts import own_beside_median
from costing.core.periods import last_closed_month
from costing.queries import closed_months
from costing.report import Comparison, group_report
from costing.views import MemberRequest

_MONTHS_OFFERED = 36


@require_safe
def group(request: MemberRequest) -> HttpResponse:
    """A closed month and the 12 that end with it; the last one unless another is asked for."""
    last = last_closed_month(timezone.localdate()).first
    month = _month_asked_for(request.GET.get("month", ""), last)
    spans = group_report(request.user, month)
    context = {
        "month": month,
        "months": sorted({last, *closed_months()}, reverse=True)[:_MONTHS_OFFERED],
        "spans": [(span, _picture(span)) for span in spans],
        "minimum": spans[0].group.minimum if spans[0].group else None,
    }
    return render(request, "costing/group.html", context)


def _month_asked_for(text: str, last: date) -> date:
    """A closed month from the address, as 2026-02. Raises Http404 for one never closed."""
    if not text:
        return last
    try:
        month = date.fromisoformat(f"{text}-01")
    except ValueError as error:
        raise Http404 from error
    # Only months already closed: nobody makes the book close the past by asking for it.
    if month != last and month not in closed_months():
        raise Http404
    return month


def _picture(span: Comparison) -> object:
    median = span.group.median_cost_per_lesson_hour if span.group else None
    return own_beside_median(f"A lesson hour, {span.title}", span.own.cost_per_lesson_hour, median)
