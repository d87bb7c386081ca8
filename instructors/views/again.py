"""Signing in again, for somebody without a password or another way to show that it is still them."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_safe

from instructors.access import MemberRequest


@require_safe
def sign_in_again(request: MemberRequest) -> HttpResponse:
    """Say why, and lead by way of a code to the page that was asked for."""
    wanted = request.GET.get("next", "")
    known = url_has_allowed_host_and_scheme(wanted, allowed_hosts={request.get_host()})
    return render(request, "instructors/sign_in_again.html", {"next": wanted if known else ""})
