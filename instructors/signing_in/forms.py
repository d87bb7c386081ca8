"""allauth's forms with the book's own labels, hints and limits."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, ClassVar

from allauth.account.adapter import get_adapter
from allauth.account.forms import ChangePasswordForm as AllauthChangePasswordForm
from allauth.account.forms import ConfirmLoginCodeForm as AllauthConfirmLoginCodeForm
from allauth.account.forms import LoginForm as AllauthLoginForm
from allauth.account.forms import ReauthenticateForm as AllauthPasswordAgainForm
from allauth.account.forms import RequestLoginCodeForm as AllauthRequestLoginCodeForm
from allauth.account.forms import ResetPasswordForm as AllauthResetPasswordForm
from allauth.account.forms import ResetPasswordKeyForm as AllauthResetPasswordKeyForm
from allauth.account.forms import SetPasswordForm as AllauthSetPasswordForm
from allauth.core import context
from allauth.mfa.base.forms import AuthenticateForm as AllauthAuthenticateForm
from allauth.mfa.base.forms import ReauthenticateForm as AllauthReauthenticateForm
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.forms import ActivateTOTPForm as AllauthActivateTOTPForm
from django import forms
from django.core.exceptions import ValidationError

from config import limits
from config.fields import EmailField
from instructors.actions import record_own
from instructors.models import ActKind, Member
from instructors.signing_in.limits import TRIES_AT_CODE, mails_to, tries_at
from instructors.signing_in.passwords import RULES
from instructors.signing_in.tries import count_try, log_wrong_try

_OWN_ERRORS = {
    "required": "This cannot be left empty.",
    "invalid": "This is not an e-mail address such as ann@example.org.",
}


class _OwnWords(forms.Form):
    """A form with the book's own labels and hints in place of allauth's, and with the keyboard that fits a field."""

    labels: ClassVar[dict[str, str]] = {}
    hints: ClassVar[dict[str, str]] = {}
    keys: ClassVar[dict[str, dict[str, str]]] = {}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in self.labels.items():
            self.fields[name].label = label
        for name, field in self.fields.items():
            field.help_text = self.hints.get(name, "")
            field.error_messages |= _OWN_ERRORS
            # allauth repeats the label there.
            field.widget.attrs.pop("placeholder", None)
            field.widget.attrs |= self.keys.get(name, {})


_EMAIL = "E-mail address"
_NEW_PASSWORD = {"password1": "New password", "password2": "New password again"}
_RULES = {"password1": RULES}
_ADDRESS_KEYS = {"autocapitalize": "none", "spellcheck": "false"}
#: An e-mailed code is letters and dashes; what an app shows and the recovery codes are digits alone.
_LETTER_KEYS = {"autocapitalize": "characters", "spellcheck": "false"}
_DIGIT_KEYS = {"code": {"inputmode": "numeric"}}
_SECOND_STEP = {"code": "Type in the six digits that your authenticator app shows now, or one of your recovery codes."}


class LoginForm(_OwnWords, AllauthLoginForm):
    """Signing in with a password."""

    labels: ClassVar[dict[str, str]] = {"login": _EMAIL}
    keys: ClassVar[dict[str, dict[str, str]]] = {"login": _ADDRESS_KEYS | {"autocomplete": "username"}}


class PasswordAgainForm(_OwnWords, AllauthPasswordAgainForm):
    """The password again, from somebody who is signed in."""


class SetPasswordForm(_OwnWords, AllauthSetPasswordForm):
    """A first password."""

    labels: ClassVar[dict[str, str]] = _NEW_PASSWORD
    hints: ClassVar[dict[str, str]] = _RULES


class ResetPasswordKeyForm(_OwnWords, AllauthResetPasswordKeyForm):
    """A new password, by the link in an e-mail."""

    labels: ClassVar[dict[str, str]] = _NEW_PASSWORD
    hints: ClassVar[dict[str, str]] = _RULES


class ActivateTOTPForm(_OwnWords, AllauthActivateTOTPForm):
    """Setting up an authenticator app."""

    labels: ClassVar[dict[str, str]] = {"code": "Code from the app"}
    keys: ClassVar[dict[str, dict[str, str]]] = _DIGIT_KEYS


class _ForAMail(_OwnWords):
    """A form that asks for a mail to an address."""

    labels: ClassVar[dict[str, str]] = {"email": _EMAIL}
    keys: ClassVar[dict[str, dict[str, str]]] = {"email": _ADDRESS_KEYS}

    def clean_email(self) -> str:
        _count_mail(self.cleaned_data["email"])
        # Whoever's address it is: one to which no mail can go is told from others by its letters alone.
        EmailField().clean(self.cleaned_data["email"])
        email: str = super().clean_email()  # type: ignore[misc]  # allauth's, of the form that this one is put before
        return email


class RequestLoginCodeForm(_ForAMail, AllauthRequestLoginCodeForm):
    """Asking for an e-mailed code."""


class ResetPasswordForm(_ForAMail, AllauthResetPasswordForm):
    """Asking for a link that lets one choose a new password."""


class ConfirmLoginCodeForm(_OwnWords, AllauthConfirmLoginCodeForm):
    """Typing in the e-mailed code.

    allauth counts wrong codes in the session, where a hundred requests at once would all read the count before any
    of them writes it. So the book counts them itself.
    """

    keys: ClassVar[dict[str, dict[str, str]]] = {"code": _LETTER_KEYS}

    def clean_code(self) -> str:
        stage = context.request._login_stage
        try:
            limits.spend([TRIES_AT_CODE.of(str(context.request.session.session_key), str(stage.state["at"]))])
        except limits.UsedUp:
            raise get_adapter().validation_error("incorrect_code") from None
        with _log_if_wrong("e-mailed code"):
            code: str = super().clean_code()
        return code


class ChangePasswordForm(_OwnWords, AllauthChangePasswordForm):
    """Choosing another password; wrong tries at the old one count as wrong tries to sign in do."""

    labels: ClassVar[dict[str, str]] = {"oldpassword": "Current password", **_NEW_PASSWORD}
    hints: ClassVar[dict[str, str]] = _RULES

    def clean_oldpassword(self) -> str:
        password: str = self.cleaned_data["oldpassword"]
        if not get_adapter().reauthenticate(self.user, password):
            raise get_adapter().validation_error("enter_current_password")
        return password


class AuthenticateForm(_OwnWords, AllauthAuthenticateForm):
    """A code of the second factor at sign-in; wrong tries count as they do for a password."""

    hints: ClassVar[dict[str, str]] = _SECOND_STEP
    keys: ClassVar[dict[str, dict[str, str]]] = _DIGIT_KEYS

    def clean_code(self) -> str:
        counted = count_try(context.request, tries_at(context.request, self.user.email), whose=self.user.email)
        try:
            with _log_if_wrong("second-step code", self.user.email):
                code: str = super().clean_code()
        except ValidationError:
            # Whoever gets this far knows the member's password or reads their mail.
            record_own(self.user, ActKind.SIGN_IN, "second_step_failed")
            raise
        limits.give_back(counted)
        _tell_of_recovery_code(self.user, self.authenticator)
        return code


class ReauthenticateForm(_OwnWords, AllauthReauthenticateForm):
    """A code of the second factor again, from somebody who is signed in."""

    hints: ClassVar[dict[str, str]] = _SECOND_STEP
    keys: ClassVar[dict[str, dict[str, str]]] = _DIGIT_KEYS

    def clean_code(self) -> str:
        counted = count_try(context.request, tries_at(context.request, self.user.email), whose=self.user.email)
        with _log_if_wrong("second-step code", self.user.email):
            code: str = super().clean_code()
        limits.give_back(counted)
        _tell_of_recovery_code(self.user, self.authenticator)
        return code


def _tell_of_recovery_code(member: Member, used: Authenticator) -> None:
    """If the code was a recovery code, mail the member that it was used, and how many are left."""
    if used.type != Authenticator.Type.RECOVERY_CODES:
        return
    used.refresh_from_db()  # allauth has marked the code as used on another copy of the row
    count = len(used.wrap().get_unused_codes())
    left = "1 is left" if count == 1 else f"{count or 'none'} are left"
    get_adapter().send_notification_mail("mfa/email/recovery_code_used", member, {"detail": left})


@contextmanager
def _log_if_wrong(what: str, email: str = "") -> Iterator[None]:
    """Log a wrong try if the block raises ValidationError."""
    try:
        yield
    except ValidationError:
        log_wrong_try(context.request, what=what, email=email)
        raise


def _count_mail(email: str) -> None:
    count_try(context.request, mails_to(context.request, email))
