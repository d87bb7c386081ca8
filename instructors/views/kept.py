"""What the book keeps, and for how long."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from config.housekeeping import STORAGE_LIMITATION, retention
from instructors import queries
from instructors.access import MemberRequest


@require_safe
def kept(request: MemberRequest) -> HttpResponse:
    """The table by which the book is cleaned each night, as every member may read it, and when that last happened."""
    cleaned, rows = queries.cleanings(), list(retention())
    context = {
        "going": [(row, cleaned.get(row.name)) for row in rows if row.clean],
        "staying": [row for row in rows if not row.clean],
        "limitation": STORAGE_LIMITATION,
        "last": max((cleaning.at for cleaning in cleaned.values()), default=None),
    }
    return render(request, "instructors/kept.html", context)
