"""A member's own page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.core.kinds import KINDS
from fleet.views.wording import done_rows, words_of
from instructors.access import MemberRequest
from instructors.models import Grade

#: What a member of each grade must hold to teach for money, and to drive.
_HELD = {Grade.ADI: ("adi_registration", "driving_licence"), Grade.PDI: ("pdi_licence", "driving_licence")}


@require_safe
def profile(request: MemberRequest) -> HttpResponse:
    """Who is signed in, their credentials, and the ways to their password and their records."""
    [mine] = queries.due_report(timezone.localdate(), members=[request.user]).members
    recorded = {line.kind.name for line in mine.items}
    context = {
        "items": [words_of(line) for line in mine.items],
        "missing": [KINDS[name] for name in _HELD[Grade(request.user.grade)] if name not in recorded],
        "completions": done_rows(queries.completions_of_member(request.user), request.user),
    }
    return render(request, "fleet/profile.html", context)
