"""The walkaround check of a car, the checks so far, and the points that are looked at."""

from typing import Any, NamedTuple

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from config.form_page import form_page, go_on, posted, posted_files
from config.http import read_or_write
from config.showing import day
from fleet import queries
from fleet.actions import PointFault, add_check_point, record_check, retire_check_point
from fleet.core.defects import Severity
from fleet.core.points import GROUPS, POINTS, Coverage, coverage_of
from fleet.core.registration import show
from fleet.forms import CheckForm, CheckPointForm
from fleet.models import WalkaroundCheck
from fleet.wording import last_check_words
from instructors.access import MemberRequest, coordinators_only
from instructors.models import Member

_PAGE_LENGTH = 25


class CheckRow(NamedTuple):
    """One check on the list: how much was looked at, which groups in full, and whether the viewer may correct it."""

    check: WalkaroundCheck
    coverage: Coverage
    groups: list[str]
    may_correct: bool


@read_or_write
def check_record(request: MemberRequest, mark: str) -> HttpResponse:
    """Record a walkaround check: what was looked at, and what is wrong with which point."""
    car = queries.car_for(request.user, mark)
    today = timezone.localdate()
    form = CheckForm(posted(request), posted_files(request), points=queries.points_in_use(today), today=today)

    def save() -> HttpResponse:
        check, is_new = record_check(by=request.user, car=car, **form.cleaned_data)
        if is_new:
            words, level = _told(check, form.cleaned_data["faults"])
        else:
            words = f"The check of {day(check.checked_on)} is already in the book: nothing was added."
            level = messages.SUCCESS
        return go_on(request, words, "fleet:car", check.car.registration, level=level)

    def context() -> dict[str, Any]:
        return {
            "car": car,
            "last": last_check_words(queries.next_check_of(car, today)),
            "open_defects": [defect for defect in queries.defects_of(car) if defect.closed_on is None],
            "photos_are_lost": bool(request.FILES),
        }

    return form_page(request, "fleet/check_record.html", form, save, context)


def _told(check: WalkaroundCheck, faults: list[PointFault]) -> tuple[str, int]:
    """The message about a new check, and its level."""
    count, mark = len(check.points), show(check.car.registration)
    looked = f"{mark} checked on {day(check.checked_on)}: {count} point{'s' if count > 1 else ''} looked at"
    if not faults:
        return f"{looked}. No defect was recorded by this check.", messages.SUCCESS
    words = f"{looked}, something wrong with {len(faults)} of them."
    if any(Severity(fault.severity).stops_car for fault in faults):
        words += f" No lesson may be given in {mark} until that is put right and recorded."
        return words, messages.WARNING
    return words, messages.SUCCESS


@require_safe
def check_list(request: MemberRequest, mark: str) -> HttpResponse:
    """The checks of a car, newest first, and how long ago the last one was."""
    car = queries.car_for(request.user, mark)
    page = Paginator(queries.checks_of(car), _PAGE_LENGTH).get_page(request.GET.get("page"))
    rows = [_row(check, request.user) for check in page]
    context = {
        "car": car,
        "page": page,
        "rows": rows,
        "last": last_check_words(queries.next_check_of(car, timezone.localdate())),
    }
    return render(request, "fleet/check_list.html", context)


def _row(check: WalkaroundCheck, viewer: Member) -> CheckRow:
    coverage = coverage_of(check.points)
    may_correct = queries.may_correct(viewer, check.member)
    return CheckRow(check, coverage, [GROUPS[group] for group in coverage.whole_groups], may_correct)


@require_safe
def check_points(request: MemberRequest) -> HttpResponse:
    """Every point with its source, and the co-op's own, which coordinators add and retire."""
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
        return go_on(request, f"{point.words}: now part of every check.", "fleet:check-points")

    return form_page(request, "fleet/check_point_add.html", form, save)


@require_POST
def check_point_retire(request: MemberRequest, pk: int) -> HttpResponse:
    """Drop a point; coordinators only. Earlier checks keep it."""
    point = retire_check_point(by=request.user, point=queries.check_point_for(request.user, pk))
    return go_on(request, f"{point.words}: no longer part of the check.", "fleet:check-points")
