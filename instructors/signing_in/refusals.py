"""What somebody is told who has tried too often."""

from collections.abc import Sequence
from datetime import datetime

from allauth.core.exceptions import ImmediateHttpResponse
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from config import limits
from config.limits import Allowance


def spend(request: HttpRequest, allowances: Sequence[Allowance], *, email: str = "") -> list[str]:
    """Count one against each, or answer the request with the page that says when to come back."""
    try:
        return limits.spend(allowances)
    except limits.UsedUp as used_up:
        # From wherever in allauth's views and forms this is raised, its middleware answers with it.
        raise ImmediateHttpResponse(_too_often(request, used_up.until, email)) from used_up


def _too_often(request: HttpRequest, until: datetime, email: str) -> HttpResponse:
    """The page, with the address that was typed, so that another way in needs no typing."""
    seconds = max(1, round((until - timezone.now()).total_seconds()))
    context = {"again": _when(until, seconds), "email": email}
    response = render(request, "429.html", context, status=429)
    response["Retry-After"] = str(seconds)
    return response


def _when(until: datetime, seconds: int) -> str:
    """When there is room again: in about 12 minutes, at 14:35."""
    local = timezone.localtime(until)
    clock = f"{local:%H:%M}"
    if local.date() != timezone.localdate():
        return f"tomorrow at {clock}"
    if seconds > 3600:
        return f"at {clock}"
    minutes = -(-seconds // 60)
    return f"in {minutes} minute{'s' if minutes > 1 else ''}, at {clock}"
