"""What is looked at in a walkaround check, and what the co-op adds to it."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST, require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from fleet import queries
from fleet.actions import add_check_point, retire_check_point
from fleet.core.points import GROUPS, POINTS
from fleet.forms import CheckPointForm
from instructors.access import MemberRequest, coordinators_only


@require_safe
def check_points(request: MemberRequest) -> HttpResponse:
    """Every point with its source, and the co-op's own, which coordinators may add to and retire."""
    groups = [(title, [p for p in POINTS.values() if p.group == group]) for group, title in GROUPS.items()]
    own = queries.own_points()
    context = {
        "groups": groups,
        "own": [point for point in own if point.retired_on is None],
        "retired": [point for point in own if point.retired_on is not None],
    }
    return render(request, "fleet/check_points.html", context)


@read_or_write
@coordinators_only
def check_point_add(request: MemberRequest) -> HttpResponse:
    """Add a point to the check of every car; coordinators only."""
    form = CheckPointForm(posted(request))

    def save() -> HttpResponse:
        point = add_check_point(by=request.user, **form.cleaned_data)
        return go_on(request, f"{point.words}: asked for in every check from now on.", "fleet:check-points")

    return form_page(request, "fleet/check_point_add.html", form, save)


@require_POST
def check_point_retire(request: MemberRequest, pk: int) -> HttpResponse:
    """Ask for a point no more; coordinators only. The checks that looked at it keep it."""
    point = retire_check_point(by=request.user, point=queries.check_point_for(request.user, pk))
    return go_on(request, f"{point.words}: no longer asked for.", "fleet:check-points")
