"""Photos, served only to those who may see them; none has a public address."""

from uuid import UUID

from django.http import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from config.kept_picture import kept_picture
from fleet import queries
from instructors.access import MemberRequest


@require_safe
def photo(request: MemberRequest, pk: UUID) -> HttpResponseBase:
    """One photo of a paper or of a defect."""
    kept = queries.photo_for(request.user, pk)
    try:
        return kept_picture(request, kept.image, str(pk))
    except FileNotFoundError:
        return render(request, "fleet/photo_lost.html", {"car": kept.car}, status=404)
