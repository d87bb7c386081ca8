"""How signing in differs from allauth's own defaults."""

from typing import Any
from urllib.parse import urlsplit

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.authentication import get_authentication_records
from django.http import HttpRequest, HttpResponse

from config.site import site_url
from instructors.actions import record_own
from instructors.clients import client_words
from instructors.models import ActKind, Member

#: How somebody has shown who they are, by allauth's names of method and type.
_WAYS = {
    "password": "a password",
    "code": "an e-mailed code",
    "password_reset": "the link of an e-mail",
    "totp": "an authenticator app",
    "webauthn": "a passkey",
    "recovery_codes": "a recovery code",
}


class ClosedBookAdapter(DefaultAccountAdapter):
    """Members come by invitation or with the archive: nobody signs themselves up.

    Signing in and a new password stand in the member's own record.
    """

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def post_login(self, request: HttpRequest, user: Member, **rest: Any) -> HttpResponse:
        """What is done once somebody is signed in."""
        ways = [_WAYS.get(one.get("type") or one["method"], "") for one in get_authentication_records(request, user)]
        known = " and ".join(dict.fromkeys(filter(None, ways)))
        client = client_words(request.headers.get("User-Agent", ""))
        record_own(user, ActKind.SIGN_IN, "signed_in", f"With {known}, {client}" if known else client.capitalize())
        return super().post_login(request, user, **rest)

    def set_password(self, user: Member, password: str) -> None:
        """What allauth does for every new password, whichever page asked for it."""
        super().set_password(user, password)
        record_own(user, ActKind.SIGN_IN, "password_changed")

    def get_reset_password_from_key_url(self, key: str) -> str:
        """The link of a mail begins with the site's own address, whatever host the request was sent to."""
        return site_url() + urlsplit(super().get_reset_password_from_key_url(key)).path
