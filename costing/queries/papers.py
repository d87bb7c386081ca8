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
    """Return one of the member's own papers. Raises Http404 for one that is not, as for one that does not exist."""
    return get_object_or_404(papers_of(member), pk=pk)


def papers_of(member: Member) -> QuerySet[Paper]:
    """Return the member's papers, the last one asked for first; those of a coordinator only to one who still is."""
    own = Paper.objects.filter(member=member).select_related("car")
    return own if member.is_coordinator else own.exclude(of_coordinator=True)


def waiting_paper(member: Member, kind: str, days: tuple[date, date], car: Car | None, asked: str) -> Paper | None:
    """Return the member's paper that is asked for in just this way and still to be made, if there is one."""
    first, last = days
    same = papers_of(member).filter(kind=kind, first=first, last=last, car=car, asked=asked)
    return same.filter(state__in=UNMADE).first()


def papers_to_make() -> list[UUID]:
    """Return the papers that nobody is making, the one that waits longest first."""
    now = timezone.now()
    return [paper.pk for paper in Paper.objects.filter(state__in=UNMADE).order_by("asked_at") if paper.is_free(now)]


def files_of_papers() -> set[str]:
    """Return the names of the files that papers have."""
    return set(Paper.objects.exclude(file="").values_list("file", flat=True))
