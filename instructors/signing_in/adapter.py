"""How signing in differs from allauth's own defaults."""

import time
from typing import Any
from urllib.parse import urlencode, urlsplit

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.authentication import get_authentication_records
from allauth.account.stages import LoginByCodeStage
from allauth.core.exceptions import ImmediateHttpResponse
from allauth.mfa.stages import AuthenticateStage
from django.conf import settings
from django.core.mail import EmailMessage
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse

from config import limits
from config.mail import send_soon, wrapped
from config.proxies import client_address
from config.site import page, site_url
from instructors.actions import record_own
from instructors.models import ActKind, Member
from instructors.signing_in import devices
from instructors.signing_in.devices import device_words
from instructors.signing_in.limits import tries_at
from instructors.signing_in.tries import count_try, log_wrong_try

#: How a member proved who they are, by allauth's name of the method or type.
_PROOFS = {
    "password": "a password",
    "code": "an e-mailed code",
    "password_reset": "the link in an e-mail",
    "totp": "an authenticator app",
    "webauthn": "a passkey",
    "recovery_codes": "a recovery code",
}
#: The book's own steps in place of allauth's: see ``CodeStage``.
_OWN_STAGES = {
    "allauth.account.stages.LoginByCodeStage": f"{__name__}.CodeStage",
    "allauth.mfa.stages.AuthenticateStage": f"{__name__}.FactorStage",
}
#: The ways in which a signed-in member may prove that it is still them.
_WAYS = {
    "reauthenticate": "Use your password",
    "mfa_reauthenticate": "Use a code from your authenticator app, or a recovery code",
    "mfa_reauthenticate:webauthn": "Use a passkey",
}
#: The event that goes into the member's record, by the mail that tells them of it.
_EVENTS = {
    "mfa/email/totp_activated": "app_set_up",
    "mfa/email/totp_deactivated": "app_taken_off",
    "mfa/email/webauthn_added": "passkey_added",
    "mfa/email/webauthn_removed": "passkey_removed",
    "mfa/email/recovery_codes_generated": "recovery_codes_made",
    "mfa/email/recovery_code_used": "recovery_code_used",
}
#: allauth's mails to an address that is no member's. The book writes to nobody it does not know.
_NEVER_SENT = {"account/email/unknown_account"}


class CodeStage(LoginByCodeStage):
    """The step that waits for an e-mailed code.

    allauth would send every other page back here while the step waits. In the book other pages stay open meanwhile.
    """

    def is_resumable(self, request: HttpRequest) -> bool:
        return False


class FactorStage(AuthenticateStage):
    """The step that waits for the second factor; other pages stay open meanwhile, as with ``CodeStage``."""

    def is_resumable(self, request: HttpRequest) -> bool:
        return False


class ClosedBookAdapter(DefaultAccountAdapter):
    """Let nobody sign themselves up: members come by invitation or with the archive.

    Every sign-in and every new password goes into the member's own record.
    """

    error_messages = DefaultAccountAdapter.error_messages | {
        "email_password_mismatch": "That e-mail address and password do not match.",
        "incorrect_code": "That is not the code.",
        "incorrect_password": "That is not your password.",
        "enter_current_password": "That is not your current password.",
        "too_many_login_attempts": "Too many wrong codes. Ask for a new one.",
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
        """Whether the member must prove again that it is them; never within minutes of signing in.

        allauth lets a member through who has neither a password nor a second factor. Here they sign in again.
        """
        request = self.request
        if _signed_in_lately(request):
            return False
        if not self.get_reauthentication_methods(request.user):
            again = f"{reverse('instructors:sign-in-again')}?{urlencode({'next': _page_of(request)})}"
            raise ImmediateHttpResponse(HttpResponseRedirect(again))
        return True

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Member | None:
        """The member whose password this is, else None. Wrong tries are counted, and too many are refused."""
        email = credentials.get("email", "")
        counted = count_try(request, tries_at(request, email), email=email, whose=email)
        member: Member | None = super().authenticate(request, **credentials)
        if member:
            limits.give_back(counted)
        else:
            log_wrong_try(request, what="password", email=email)
        return member

    def post_login(self, request: HttpRequest, user: Member, **details: Any) -> HttpResponse:
        """Go on to the page the member asked for, record the sign-in, and remember the device."""
        ways = [_PROOFS.get(one.get("type") or one["method"]) for one in get_authentication_records(request, user)]
        proofs = " and ".join(dict.fromkeys(way for way in ways if way))
        device = device_words(request.headers.get("User-Agent", ""))
        record_own(user, ActKind.SIGN_IN, "signed_in", f"With {proofs}, {device}" if proofs else device.capitalize())
        response = super().post_login(request, user, **details)
        devices.remember(request, response, user)
        return response

    def set_password(self, user: Member, password: str) -> None:
        """Set the password and record it; allauth calls this for every new password."""
        super().set_password(user, password)
        record_own(user, ActKind.SIGN_IN, "password_changed")

    def get_reset_password_from_key_url(self, key: str) -> str:
        """The link for a new password. It begins with the site's own address, whatever host the request named."""
        return site_url() + urlsplit(super().get_reset_password_from_key_url(key)).path

    def send_notification_mail(
        self, template_prefix: str, user: Member, context: dict[str, Any] | None = None, email: str | None = None
    ) -> None:
        """Tell a member by mail what has changed about their sign-in, when and on what device, and record it.

        A ``detail`` in ``context`` goes into the mail and the record.
        """
        device, detail = device_words(self.get_http_user_agent(self.request)), (context or {}).get("detail")
        if event := _EVENTS.get(template_prefix):
            record_own(user, ActKind.SIGN_IN, event, f"{detail}, {device}" if detail else device.capitalize())
        super().send_notification_mail(template_prefix, user, {"device": device} | (context or {}), email)

    def render_mail(self, *arguments: Any, **named: Any) -> EmailMessage:
        """As allauth renders it, with lines that every mail program can show."""
        message: EmailMessage = super().render_mail(*arguments, **named)
        message.body = wrapped(str(message.body))
        return message

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Send a mail after the answer. A mail that must not go is rendered all the same, and dropped.

        Otherwise the time the answer takes would show whether an address is a member's.
        """
        message = self.render_mail(template_prefix, email, {"email": email, "site_url": site_url()} | context)
        if template_prefix not in _NEVER_SENT:
            send_soon(message)


def _signed_in_lately(request: HttpRequest) -> bool:
    records = get_authentication_records(request, request.user)
    return bool(records) and time.time() - records[-1]["at"] < settings.ACCOUNT_REAUTHENTICATION_TIMEOUT


def _page_of(request: HttpRequest) -> str:
    """The page to go on to afterwards: this one, or for a button the member's own page."""
    return request.get_full_path() if request.method == "GET" else page("about-me")
