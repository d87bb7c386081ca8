"""The walkaround check of a car: each page is one group, which is in the book before the next opens."""

from typing import Any, NamedTuple
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_safe

from config.form_page import SeeOther, form_page, posted, posted_files
from config.http import read_or_write
from config.showing import day
from fleet import queries
from fleet.actions import record_group
from fleet.core.defects import Severity
from fleet.core.points import Point, Step, next_step, steps_of_walk
from fleet.core.registration import show
from fleet.forms import CheckGroupForm, PointFields
from fleet.models import Car, Defect, WalkaroundCheck
from fleet.views.check_words import (
    KnownDefect,
    drawing_words,
    drawn_steps,
    key_words,
    known_defect,
    last_check_words,
    points_words,
    took_words,
)
from instructors.access import MemberRequest
from instructors.queries import coordinators

#: Named above a group; the car's page has them all.
_OPEN_NAMED = 3


class PointRow(NamedTuple):
    """One point on the page: its fields, and what is open about it already."""

    fields: PointFields
    known: list[KnownDefect]

    @property
    def is_aside(self) -> bool:
        """Whether it cannot be called fine: something is open, or ticked as a fault."""
        return bool(self.known or self.fields.fault.value())


class Walk(NamedTuple):
    """Where one is on the way round a car; ``check`` is None until its first group is in the book."""

    car: Car
    check: WalkaroundCheck | None
    points: list[Point]
    steps: list[Step]
    here: Step


@require_safe
def check_record(request: MemberRequest, mark: str) -> HttpResponse:
    """Begin the check of a car, or go on with the one broken off today: leads to its next group."""
    car, today = queries.car_for(request.user, mark), timezone.localdate()
    points = queries.points_in_use(car, today)
    if check := queries.check_to_go_on(request.user, car, today):
        step = next_step(steps_of_walk(points, check.points))
        if step and _is_made_here(check.ref):
            began = timezone.localtime(check.created_at)
            messages.info(request, f"You began this check at {began:%H:%M}: go on here, or begin anew below.")
            return redirect("fleet:check-group", car.registration, check.ref, step.group)
    return redirect("fleet:check-group", car.registration, uuid4(), steps_of_walk(points, ())[0].group)


def _is_made_here(ref: str) -> bool:
    """Whether a reference can stand in the address of a check: one from an archive may be any text."""
    try:
        return str(UUID(ref)) == ref
    except ValueError:
        return False


@read_or_write
def check_group(request: MemberRequest, mark: str, ref: UUID, group: str) -> HttpResponse:
    """Record one group of a check: what is wrong with which of its points; all else there is fine."""
    walk = _walk(request, mark, ref, group)
    form = CheckGroupForm(
        posted(request),
        posted_files(request),
        points=walk.here.points,
        today=timezone.localdate(),
        begun_on=walk.check.checked_on if walk.check else None,
        note=walk.check.note if walk.check else "",
    )

    def save() -> HttpResponse:
        check, found = record_group(by=request.user, car=walk.car, ref=str(ref), group=group, **form.cleaned_data)
        step = next_step(steps_of_walk(walk.points, check.points))
        for words, level in _told(check, found, is_over=step is None):
            messages.add_message(request, level, words)
        if step is None:
            return SeeOther("fleet:car", check.car.registration)
        return SeeOther("fleet:check-group", walk.car.registration, ref, step.group)

    return form_page(request, "fleet/check_group.html", form, save, lambda: _context(request, walk, form))


def _walk(request: MemberRequest, mark: str, ref: UUID, group: str) -> Walk:
    """The check at this address and the group that is meant; Http404 if the car has no such group or check."""
    car = queries.car_for(request.user, mark)
    check = queries.check_sent(request.user, str(ref))
    if check is not None and check.car_id != car.pk:
        raise Http404
    points = queries.points_in_use(car, check.checked_on if check else timezone.localdate())
    steps = steps_of_walk(points, check.points if check else ())
    here = next((step for step in steps if step.group == group), None)
    if here is None:
        raise Http404
    return Walk(car, check, points, steps, here)


def _context(request: MemberRequest, walk: Walk, form: CheckGroupForm) -> dict[str, Any]:
    today, here = timezone.localdate(), walk.here
    still_open = [defect for defect in queries.defects_of(walk.car) if defect.closed_on is None]
    found = [defect for defect in still_open if walk.check and defect.walkaround_id == walk.check.pk]
    known = [defect for defect in still_open if defect not in found]
    rows = [
        PointRow(fields, [known_defect(defect, today) for defect in still_open if defect.point == fields.point.name])
        for fields in form.rows
    ]
    return {
        "car": walk.car,
        "check": walk.check,
        "here": here,
        "steps": drawn_steps(walk.steps, here),
        "number": walk.steps.index(here) + 1,
        "points_words": points_words(len(rows)),
        "drawing": drawing_words(walk.steps, here),
        "known": [known_defect(defect, today) for defect in known[:_OPEN_NAMED]],
        "more_known": len(known) - _OPEN_NAMED,
        "rows": rows,
        "stay_open": [known.words for row in rows for known in row.known],
        "keys": key_words(len(rows)),
        "aside": sum(row.is_aside for row in rows),
        "stops_car": any(Severity(defect.severity).stops_car for defect in found),
        "last": last_check_words(queries.next_check_of(walk.car, today)),
        "anew": uuid4(),
        "photos_are_lost": bool(request.FILES),
    }


def _told(check: WalkaroundCheck, found: list[Defect], *, is_over: bool) -> list[tuple[str, int]]:
    """What is said once a group is in the book, each with its level: what was found, and, at the end, how it went."""
    told = []
    mark = show(check.car.registration)
    if found:
        words = f"Recorded: {'; '.join(defect.description for defect in found)}."
        level = messages.SUCCESS
        if any(Severity(defect.severity).stops_car for defect in found):
            level = messages.WARNING
            words += f" No lesson may be given in {mark} until that is put right and recorded.{_mailed(check)}"
        told.append((words, level))
    if is_over:
        told.append((_how_it_went(check, mark), messages.SUCCESS))
    return told


def _mailed(check: WalkaroundCheck) -> str:
    """Who else gets a mail about a grave fault, as a sentence; empty if nobody does."""
    finder, keeper = check.member, check.car.keeper
    others = [member for member in coordinators(timezone.localdate()) if member not in (finder, keeper)]
    told = ["its keeper"] if keeper != finder else []
    told += ["the coordinators" if len(others) > 1 else others[0].name] if others else []
    if not told:
        return ""
    words, gets = " and ".join(told), "get" if len(told) > 1 or len(others) > 1 else "gets"
    return f" {words[:1].upper()}{words[1:]} {gets} a mail about it now."


def _how_it_went(check: WalkaroundCheck, mark: str) -> str:
    """The check as a whole: "QA51 ABC checked on 16 March 2026: 26 points in 4 minutes. ..."."""
    count = len(check.points)
    took = f" in {took_words(check.seconds)}" if check.seconds is not None else ""
    looked = f"{mark} checked on {day(check.checked_on)}: {count} point{'s' if count > 1 else ''} looked at{took}."
    found = queries.defects_found_by(check)
    if not found:
        return f"{looked} No defect was recorded by this check."
    return f"{looked} {len(found)} defect{'s' if len(found) > 1 else ''} recorded by this check."
