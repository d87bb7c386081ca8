"""What somebody is told who has tried too often, and what the member whose sign-in was tried finds of it."""

from collections.abc import Sequence
from datetime import datetime

from allauth.core.exceptions import ImmediateHttpResponse
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from config import limits
from config.limits import Allowance
from instructors.actions import record_act
from instructors.models import ActKind
from instructors.queries import member_with

_RECORDED_EVERY = 3600  # seconds


def spend(request: HttpRequest, allowances: Sequence[Allowance], *, email: str = "", whose: str = "") -> list[str]:
    """Count one against each, or answer the request with the page that says when to come back.

    The page offers a code to the address ``email``; whose sign-in was tried, by address, finds it in their record.
    """
    try:
        return limits.spend(allowances)
    except limits.UsedUp as used_up:
        _record(whose)
        # From wherever in allauth's views and forms this is raised, its middleware answers with it.
        raise ImmediateHttpResponse(_too_often(request, used_up.until, email)) from used_up


def _record(whose: str) -> None:
    """Write it down for the member with this address, once an hour: whoever keeps trying must not fill their record."""
    member = member_with(whose.strip()) if whose else None
    if member and cache.add(f"refused:{member.pk}", True, _RECORDED_EVERY):
        # By nobody: who it was is not known.
        record_act(by=None, kind=ActKind.SIGN_IN, concerns=member, field="sign_in_refused", is_mailed=False)


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
