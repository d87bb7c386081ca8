"""Switching off the word about logging, from the mail itself."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.csrf import csrf_exempt

from config.compression import holds_a_secret
from config.http import address_is_secret, read_or_write
from fleet.reminders.nudges import member_of
from instructors.actions import stop_log_mail


@login_not_required
@csrf_exempt
@address_is_secret
@holds_a_secret
@read_or_write
def log_mail_off(request: HttpRequest, token: str) -> HttpResponse:
    """Show one key that switches the word about logging off, and answer it; the signed address is all it takes.

    A mail program sends the POST by itself, without this page and without a cookie (RFC 8058), so it asks for no token.
    """
    member = member_of(token)
    if member is None:
        # Answered here, so that not even this page is compressed at such an address.
        return render(request, "404.html", status=404)
    if request.method == "POST":
        stop_log_mail(member)
    return render(request, "fleet/log_mail_off.html", {"is_off": not member.wants_log_mail})
