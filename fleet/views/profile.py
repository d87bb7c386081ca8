"""A member's own page."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import queries
from fleet.core.due_kinds import DUE_KINDS
from fleet.views.wording import done_rows, words_of
from instructors.access import MemberRequest


@require_safe
def profile(request: MemberRequest) -> HttpResponse:
    """Who is signed in, their credentials, and the ways to their password and their records."""
    [mine] = queries.due_report(timezone.localdate(), members=[request.user]).members
    recorded = {line.kind.name for line in mine.items}
    context = {
        "items": [words_of(line) for line in mine.items],
        "missing": [
            kind for name, kind in DUE_KINDS.items() if request.user.grade in kind.held_by and name not in recorded
        ],
        "completions": done_rows(queries.completions_of_member(request.user), request.user),
    }
    return render(request, "fleet/profile.html", context)
