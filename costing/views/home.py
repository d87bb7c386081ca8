"""The first page: what a lesson costs, beside the group, and what needs doing."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.charts import own_beside_median
from costing.queries.listing import has_logged
from costing.report import Comparison, home_report
from costing.views.standing import due_next
from fleet.own_cars import own_report
from instructors.access import MemberRequest

_DUE_SHOWN = 5


@require_safe
def home(request: MemberRequest) -> HttpResponse:
    """The member's own figures, the ways to log, and what falls due next."""
    today = timezone.localdate()
    report = home_report(request.user, today)
    spans, standing = [report.so_far, report.month, report.year], own_report(request)
    context = {
        "report": report,
        "cars_in_service": [due.car for due in standing.cars],
        "spans": [(span, _picture(span)) for span in spans],
        "is_new": not has_logged(request.user),
        "due_next": due_next(standing)[:_DUE_SHOWN],
    }
    return render(request, "costing/home.html", context)


def _picture(span: Comparison) -> object:
    if span.group is None:
        return None
    return own_beside_median(
        f"A lesson hour, {span.title}", span.own.cost_per_lesson_hour, span.group.median_cost_per_lesson_hour
    )
