"""The walkaround checks of a car so far, and the points that are looked at."""

from typing import NamedTuple

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import form_page, go_on, posted
from config.http import read_or_write
from fleet import queries
from fleet.actions import add_check_point, retire_check_point
from fleet.core.points import GROUPS, POINTS, Coverage, Point, coverage_of
from fleet.forms import CheckPointForm
from fleet.models import Car, WalkaroundCheck
from fleet.views.check_words import cars_words, last_check_words, took_words
from instructors.access import MemberRequest, coordinators_only
from instructors.models import Member

_PAGE_LENGTH = 25


class CheckRow(NamedTuple):
    """One check on the list: how much was looked at, which groups in full, how long it took.

    ``may_correct`` says whether the viewer may correct or void it.
    """

    check: WalkaroundCheck
    coverage: Coverage
    groups: list[str]
    took: str
    may_correct: bool


class PointLine(NamedTuple):
    """One point of the list, and which cars it is for; empty: any."""

    point: Point
    cars: str


@require_safe
def check_list(request: MemberRequest, mark: str) -> HttpResponse:
    """The checks of a car, newest first, and how long ago the last one was."""
    car = queries.car_for(request.user, mark)
    page = Paginator(queries.checks_of(car), _PAGE_LENGTH).get_page(request.GET.get("page"))
    rows = [_row(car, check, request.user) for check in page]
    context = {
        "car": car,
        "page": page,
        "rows": rows,
        "last": last_check_words(queries.next_check_of(car, timezone.localdate())),
    }
    return render(request, "fleet/check_list.html", context)


def _row(car: Car, check: WalkaroundCheck, viewer: Member) -> CheckRow:
    coverage = coverage_of(check.points, car.build)
    took = took_words(check.seconds) if check.seconds is not None else ""
    may_correct = queries.may_correct(viewer, check.member)
    return CheckRow(check, coverage, [GROUPS[group] for group in coverage.whole_groups], took, may_correct)


@require_safe
def check_points(request: MemberRequest) -> HttpResponse:
    """Every point with its source, and the co-op's own, which coordinators add and retire."""
    groups = [
        (title, [PointLine(point, cars_words(point.fits)) for point in POINTS.values() if point.group == group])
        for group, title in GROUPS.items()
    ]
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
        return go_on(request, f"{point.words}: now part of every check.", "fleet:check-points")

    return form_page(request, "fleet/check_point_add.html", form, save)


@require_POST
def check_point_retire(request: MemberRequest, pk: int) -> HttpResponse:
    """Drop a point; coordinators only. Earlier checks keep it."""
    point = retire_check_point(by=request.user, point=queries.check_point_for(request.user, pk))
    return go_on(request, f"{point.words}: no longer part of the check.", "fleet:check-points")
