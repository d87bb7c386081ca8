"""How signing in differs from allauth's own defaults."""

import time
from typing import Any
from urllib.parse import urlencode, urlsplit

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.authentication import get_authentication_records
from allauth.core.exceptions import ImmediateHttpResponse
from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse

from config import limits
from config.mail import send_soon
from config.proxies import client_address
from config.site import page, site_url
from instructors.actions import record_own
from instructors.clients import client_words
from instructors.models import ActKind, Member
from instructors.signing_in import devices, refusals
from instructors.signing_in.limits import tries_at
from instructors.signing_in.watch import note_wrong_try

#: How somebody has shown who they are, by allauth's names of method and type.
_SHOWN_BY = {
    "password": "a password",
    "code": "an e-mailed code",
    "password_reset": "the link of an e-mail",
    "totp": "an authenticator app",
    "webauthn": "a passkey",
    "recovery_codes": "a recovery code",
}
#: The steps of allauth of which the book has one of its own, that traps nobody.
_OWN_STAGES = {
    "allauth.account.stages.LoginByCodeStage": "instructors.signing_in.stages.CodeStage",
    "allauth.mfa.stages.AuthenticateStage": "instructors.signing_in.stages.FactorStage",
}
#: How somebody who is signed in may show that it is still them.
_WAYS = {
    "reauthenticate": "Use the password",
    "mfa_reauthenticate": "Use a code from the authenticator app, or a recovery code",
    "mfa_reauthenticate:webauthn": "Use a passkey",
}
#: What stands in the member's own record, by the mail that tells of it.
_RECORDED = {
    "mfa/email/totp_activated": "app_set_up",
    "mfa/email/totp_deactivated": "app_taken_off",
    "mfa/email/webauthn_added": "passkey_added",
    "mfa/email/webauthn_removed": "passkey_removed",
    "mfa/email/recovery_codes_generated": "recovery_codes_made",
    "mfa/email/recovery_code_used": "recovery_code_used",
}
#: Mails of allauth's to an address that is no member's. The book writes to nobody whom it does not know.
_TO_NOBODY = {"account/email/unknown_account"}


class ClosedBookAdapter(DefaultAccountAdapter):
    """Members come by invitation or with the archive: nobody signs themselves up.

    Signing in and a new password stand in the member's own record.
    """

    error_messages = DefaultAccountAdapter.error_messages | {
        "email_password_mismatch": "That e-mail address and password do not match.",
        "incorrect_code": "This is not the code.",
        "incorrect_password": "This is not your password.",
        "enter_current_password": "That is not your current password.",
        "too_many_login_attempts": "That was wrong too often. Ask for a new code.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def get_login_stages(self) -> list[str]:
        return [_OWN_STAGES.get(stage, stage) for stage in super().get_login_stages()]

    def get_client_ip(self, request: HttpRequest) -> str:
        return client_address(request)

    def get_reauthentication_methods(self, user: Any) -> list[dict[str, Any]]:
        ways: list[dict[str, Any]] = super().get_reauthentication_methods(user)
        return [way | {"description": _WAYS.get(way["id"], way["description"])} for way in ways]

    def is_reauthentication_required(self, *, app: str, **details: Any) -> bool:
        """Whether the member must show again that it is them: not within minutes of having signed in.

        allauth asks nothing of a member without a password and without a second factor; here they sign in anew.
        """
        request = self.request
        if _signed_in_lately(request):
            return False
        if not self.get_reauthentication_methods(request.user):
            again = f"{reverse('instructors:sign-in-again')}?{urlencode({'next': _page_of(request)})}"
            raise ImmediateHttpResponse(HttpResponseRedirect(again))
        return True

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Member | None:
        """The member, if the password is theirs; a wrong one is counted, one too many answered with a refusal."""
        email = credentials.get("email", "")
        counted = refusals.spend(request, tries_at(request, email), email=email, whose=email)
        member: Member | None = super().authenticate(request, **credentials)
        if member:
            limits.give_back(counted)
        else:
            note_wrong_try(request, what="password", email=email)
        return member

    def post_login(self, request: HttpRequest, user: Member, **details: Any) -> HttpResponse:
        """Go on where the member wanted to go; it stands in their record, and this device is known from now on."""
        ways = [_SHOWN_BY.get(one.get("type") or one["method"]) for one in get_authentication_records(request, user)]
        known = " and ".join(dict.fromkeys(way for way in ways if way))
        client = client_words(request.headers.get("User-Agent", ""))
        record_own(user, ActKind.SIGN_IN, "signed_in", f"With {known}, {client}" if known else client.capitalize())
        response = super().post_login(request, user, **details)
        devices.remember(request, response, user)
        return response

    def set_password(self, user: Member, password: str) -> None:
        """What allauth does for every new password, whichever page asked for it."""
        super().set_password(user, password)
        record_own(user, ActKind.SIGN_IN, "password_changed")

    def get_reset_password_from_key_url(self, key: str) -> str:
        """The link of a mail begins with the site's own address, whatever host the request was sent to."""
        return site_url() + urlsplit(super().get_reset_password_from_key_url(key)).path

    def send_notification_mail(
        self, template_prefix: str, user: Member, context: dict[str, Any] | None = None, email: str | None = None
    ) -> None:
        """Tell a member by mail what was changed about their signing in, when, and on what device; it is recorded.

        ``context`` may hold ``detail``, which the mail and the record say beside.
        """
        device, detail = client_words(self.get_http_user_agent(self.request)), (context or {}).get("detail")
        if event := _RECORDED.get(template_prefix):
            record_own(user, ActKind.SIGN_IN, event, f"{detail}, {device}" if detail else device.capitalize())
        super().send_notification_mail(template_prefix, user, {"device": device} | (context or {}), email)

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Send a mail after the answer; a mail to nobody is made in the same time, and dropped.

        Otherwise how long the answer takes would tell whether an address is a member's.
        """
        message = self.render_mail(template_prefix, email, {"email": email, "site_url": site_url()} | context)
        if template_prefix not in _TO_NOBODY:
            send_soon(message)


def _signed_in_lately(request: HttpRequest) -> bool:
    records = get_authentication_records(request, request.user)
    return bool(records) and time.time() - records[-1]["at"] < settings.ACCOUNT_REAUTHENTICATION_TIMEOUT


def _page_of(request: HttpRequest) -> str:
    """Where to go on afterwards: the page itself, or that on which the button was."""
    return request.get_full_path() if request.method == "GET" else page("about-me")
