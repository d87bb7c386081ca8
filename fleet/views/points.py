"""What is looked at in a walkaround check, and what the co-op adds to it."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from config.http import read_or_write
from fleet import queries
from fleet.actions import add_check_point, retire_check_point
from fleet.core.points import GROUPS, POINTS
from fleet.forms import CheckPointForm
from fleet.views import MemberRequest


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
def check_point_add(request: MemberRequest) -> HttpResponse:
    """Add a point to the check of every car; coordinators only."""
    if not request.user.is_coordinator:
        raise Http404
    form = CheckPointForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        point = add_check_point(by=request.user, **form.cleaned_data)
        messages.success(request, f"{point.words}: asked for in every check from now on.")
        return redirect("fleet:check-points")
    return render(request, "fleet/check_point_add.html", {"form": form})


@require_POST
def check_point_retire(request: MemberRequest, pk: int) -> HttpResponse:
    """Ask for a point no more; coordinators only. The checks that looked at it keep it."""
    point = retire_check_point(by=request.user, point=queries.check_point_for(request.user, pk))
    messages.success(request, f"{point.words}: no longer asked for.")
    return redirect("fleet:check-points")
