"""What is wrong with a car and what became of it, and the photos, each for those who may see it."""

from collections.abc import Sequence
from enum import StrEnum, auto
from itertools import pairwise
from uuid import UUID

from django.core.signing import BadSignature, Signer
from django.db.models import Q
from django.http import Http404
from django.shortcuts import get_object_or_404

from fleet.core.defects import Severity, comes_to_stop, is_relief
from fleet.core.points import POINTS
from fleet.models import Car, CheckPoint, Defect, DefectState, DefectStep, Evidence, FoundBy, Photo
from fleet.queries.access import cars_visible_to
from instructors.models import Member

_ORDER = list(Severity)
#: Makes the secret in the address at which a second member answers for one step: nothing of it is stored.
_SIGNER = Signer(salt="fleet.second-member", sep=".")


class StepKind(StrEnum):
    """What happened in a step."""

    REPORTED = auto()
    RAISED = auto()
    LOWERED = auto()
    IN_HAND = auto()
    WAITS = auto()
    CONFIRMED = auto()
    DENIED = auto()
    CLOSED = auto()
    REOPENED = auto()


def defect_for(member: Member, pk: int) -> Defect:
    """A defect of a car that ``member`` may see, open or closed; Http404 if there is none such."""
    defects = Defect.objects.select_related("car__keeper", "reported_by", "photo")
    return get_object_or_404(defects, pk=pk, car__in=cars_visible_to(member))


def defects_of(car: Car) -> list[Defect]:
    """Every defect of the car: the open ones first, worst and oldest first; then the closed ones, latest first."""
    rows = list(Defect.objects.filter(car=car).order_by("found_on", "pk"))
    closed = [row for row in rows if row.state == DefectState.CLOSED]
    still_open = [row for row in rows if row.state != DefectState.CLOSED]
    still_open.sort(key=lambda row: _ORDER.index(Severity(row.severity)))
    closed.sort(key=lambda row: (row.closed_on, row.pk), reverse=True)
    return still_open + closed


def steps_of(defect: Defect) -> list[DefectStep]:
    """What happened to the defect, oldest first, with who did it."""
    return list(defect.steps.select_related("by"))


def kinds_of(steps: Sequence[DefectStep]) -> list[StepKind]:
    """What happened in each step of one defect, by what changed from the one before."""
    return [kind_of_step(step, before) for before, step in pairwise([None, *steps]) if step]


def kind_of_step(step: DefectStep, before: DefectStep | None) -> StepKind:
    """What happened in a step, by what changed from the one ``before``."""
    if before is None:
        return StepKind.REPORTED
    if step.evidence == Evidence.MEMBER:
        return StepKind.CONFIRMED
    if step.state == DefectState.CLOSED:
        return StepKind.CLOSED
    if step.severity != before.severity:
        is_worse = _ORDER.index(Severity(step.severity)) < _ORDER.index(Severity(before.severity))
        return StepKind.RAISED if is_worse else StepKind.LOWERED
    if step.state == DefectState.OPEN:
        return StepKind.DENIED if before.state == DefectState.WAITING else StepKind.REOPENED
    return StepKind.WAITS if step.state == DefectState.WAITING else StepKind.IN_HAND


def is_grave_news(step: DefectStep, before: DefectStep | None) -> bool:
    """Whether keeper and coordinators are told of a step at once.

    They are when a defect comes to stop its car, when such a one is closed or found less serious, and when it waits for
    a second member or has been answered.
    """
    was, now = _standing(before) if before else None, _standing(step)
    if comes_to_stop(was, now) or (was is not None and is_relief(was, now)):
        return True
    return DefectState.WAITING in (step.state, before and before.state)


def _standing(step: DefectStep) -> Severity | None:
    """How serious the defect is after that step while it is not closed; None once it is."""
    return None if step.state == DefectState.CLOSED else Severity(step.severity)


def secret_of(step: DefectStep) -> str:
    """The secret in the address at which a second member answers for this step."""
    return _SIGNER.sign(str(step.pk))


def step_by(secret: str) -> DefectStep:
    """The step that waits, or waited, for a second member at this secret address; Http404 if there is none."""
    try:
        key = int(_SIGNER.unsign(secret))
    except (BadSignature, ValueError):
        raise Http404 from None
    steps = DefectStep.objects.select_related("by", "defect__car__keeper")
    return get_object_or_404(steps, pk=key, state=DefectState.WAITING)


def answer_to(step: DefectStep) -> DefectStep | None:
    """What was recorded next of the defect of a step, with who did it; None while it still waits."""
    return step.defect.steps.filter(pk__gt=step.pk).select_related("by").order_by("pk").first()


def point_words_of(defect: Defect) -> str:
    """The name of the point of the check at which the defect was found; empty if it was found otherwise."""
    if defect.point in POINTS:
        return POINTS[defect.point].words
    return CheckPoint.objects.filter(name=defect.point).values_list("words", flat=True).first() or ""


def photos_taken_by(member: Member) -> list[Photo]:
    """All photos that a member took, oldest first, each with its car."""
    return list(Photo.objects.filter(taken_by=member).select_related("car"))


def photo_for(member: Member, pk: UUID) -> Photo:
    """A photo that ``member`` took, or one of a defect of a car they may see; Http404 if there is none such."""
    of_visible_defect = Q(is_of_defect=True, car__in=cars_visible_to(member))
    return get_object_or_404(Photo.objects.filter(Q(taken_by=member) | of_visible_defect), pk=pk)


def mot_findings_of(car: Car) -> list[Defect]:
    """What MOT tests found wrong with the car and is still open, worst first."""
    found = Defect.objects.filter(car=car, found_by=FoundBy.MOT).exclude(state=DefectState.CLOSED)
    return sorted(found.order_by("found_on", "pk"), key=lambda defect: list(Severity).index(Severity(defect.severity)))
