"""Failed tries to sign in: the log of them, the page that refuses more, and the note in the member's own record."""

import logging
from collections.abc import Sequence

from allauth.core.exceptions import ImmediateHttpResponse
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from config import limits
from config.limits import Allowance
from config.proxies import client_address
from instructors.actions import record_act
from instructors.models import ActKind
from instructors.queries import member_with

logger = logging.getLogger(__name__)

_RECORDED_EVERY = 3600  # seconds


def log_wrong_try(request: HttpRequest, *, what: str, email: str = "") -> None:
    """Log that ``what``, such as a password, was wrong.

    The log names a member by number alone, because whoever looks after the server reads it.
    """
    member = member_with(email.strip()) if email else None
    whose = f"member {member.pk}" if member else "nobody who is known"
    logger.warning("Not let in: wrong %s for %s, from %s", what, whose, client_address(request))


def count_try(request: HttpRequest, allowances: Sequence[Allowance], *, email: str = "", whose: str = "") -> list[str]:
    """Count one try against each allowance, or answer the request with the page that says when to come back.

    That page offers to send a code to ``email``. ``whose`` is the address of the member whose sign-in was tried: the
    refusal goes into their record. Returns the counts for ``limits.give_back``.
    """
    try:
        return limits.spend(allowances)
    except limits.UsedUp as used_up:
        _record_refusal(whose)
        # allauth's middleware turns this into the answer, whichever view or form raised it.
        raise ImmediateHttpResponse(_try_later_page(request, used_up, email)) from used_up


def _record_refusal(email: str) -> None:
    """Put the refusal into the member's record, at most once an hour so that nobody can fill the record up."""
    member = member_with(email.strip()) if email else None
    if member and cache.add(f"refused:{member.pk}", True, _RECORDED_EVERY):
        # Nobody knows who tried.
        record_act(by=None, kind=ActKind.SIGN_IN, concerns=member, field="sign_in_refused", is_mailed=False)


def _try_later_page(request: HttpRequest, used_up: limits.UsedUp, email: str) -> HttpResponse:
    # With the address already typed, another way in needs no typing.
    context = {"again": used_up.again, "email": email}
    response = render(request, "429.html", context, status=429)
    response["Retry-After"] = str(used_up.seconds)
    return response
