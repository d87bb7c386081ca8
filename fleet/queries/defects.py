"""What is wrong with a car and what became of it, and the photos, each for those who may see it."""

from uuid import UUID

from django.db.models import Q
from django.shortcuts import get_object_or_404

from fleet.core.defects import Severity
from fleet.core.points import POINTS
from fleet.models import Car, CheckPoint, Defect, DefectState, DefectStep, FoundBy, Photo
from fleet.queries.access import cars_visible_to
from instructors.models import Member

_ORDER = list(Severity)


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
    """What happened to the defect, first to last, with who did it."""
    return list(defect.steps.select_related("by"))


def point_words_of(defect: Defect) -> str:
    """What the point of the check is called at which the defect was found; empty if at none."""
    if defect.point in POINTS:
        return POINTS[defect.point].words
    return CheckPoint.objects.filter(name=defect.point).values_list("words", flat=True).first() or ""


def photo_for(member: Member, pk: UUID) -> Photo:
    """A photo that ``member`` took, or one of a defect of a car they may see; Http404 if there is none such."""
    of_visible_defect = Q(is_of_defect=True, car__in=cars_visible_to(member))
    return get_object_or_404(Photo.objects.filter(Q(taken_by=member) | of_visible_defect), pk=pk)


def mot_findings_of(car: Car) -> list[Defect]:
    """What MOT tests found wrong with the car and nobody has closed yet, the gravest first."""
    found = Defect.objects.filter(car=car, found_by=FoundBy.MOT).exclude(state=DefectState.CLOSED)
    return sorted(found.order_by("found_on", "pk"), key=lambda defect: list(Severity).index(Severity(defect.severity)))
