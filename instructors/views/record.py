"""A member's own record: what was done that concerns them, and by whom."""

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from instructors import queries
from instructors.access import MemberRequest
from instructors.actions import KEPT_FOR
from instructors.models import ActKind
from instructors.wording import acts_in_words

_PAGE_LENGTH = 25


@require_safe
def record(request: MemberRequest) -> HttpResponse:
    """Show the member's own record, newest first: all of it, or the acts of one kind."""
    kind = request.GET.get("kind", "")
    if kind and kind not in ActKind.values:
        raise Http404
    acts = queries.record_of(request.user, ActKind(kind) if kind else None)
    page = Paginator(acts, _PAGE_LENGTH).get_page(request.GET.get("page"))
    context = {
        "rows": acts_in_words(page.object_list, request.user.pk),
        "page": page,
        "kind": kind,
        "kinds": [("", "All"), *ActKind.choices],
        "days": KEPT_FOR.days,
    }
    return render(request, "instructors/record.html", context)
