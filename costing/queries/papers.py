"""Which papers are a member's own, and which are to be made."""

from datetime import date
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone

from costing.models import Paper
from costing.models.papers import UNMADE
from fleet.models import Car
from instructors.models import Member

#: Where their files lie among the book's.
PAPERS_FOLDER = "papers"


def paper_for(member: Member, pk: UUID) -> Paper:
    """Return one of the member's own papers. Raises Http404 for anybody else's, as for one that does not exist."""
    return get_object_or_404(Paper.objects.select_related("car"), member=member, pk=pk)


def papers_of(member: Member) -> QuerySet[Paper]:
    """Return the member's papers, the last one asked for first."""
    return Paper.objects.filter(member=member).select_related("car")


def waiting_paper(member: Member, kind: str, days: tuple[date, date], car: Car | None) -> Paper | None:
    """Return the member's paper of this kind, these days and this car that is still to be made, if there is one."""
    first, last = days
    return Paper.objects.filter(member=member, kind=kind, first=first, last=last, car=car, state__in=UNMADE).first()


def papers_to_make() -> list[UUID]:
    """Return the papers that nobody is making, the one that waits longest first."""
    now = timezone.now()
    return [paper.pk for paper in Paper.objects.filter(state__in=UNMADE).order_by("asked_at") if paper.is_free(now)]


def files_of_papers() -> set[str]:
    """Return the names of the files that papers have."""
    return set(Paper.objects.exclude(file="").values_list("file", flat=True))
