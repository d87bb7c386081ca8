"""More: every other way round the book."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from instructors.access import MemberRequest


@require_safe
def more(request: MemberRequest) -> HttpResponse:
    """Show the ways to what has no place of its own."""
    return render(request, "costing/more.html")
