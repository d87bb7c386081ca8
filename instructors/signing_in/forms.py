"""allauth's forms with this book's limits."""

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
from instructors.actions import record_own
from instructors.models import ActKind, Member
from instructors.signing_in import refusals
from instructors.signing_in.limits import TRIES_AT_CODE, mails_to, tries_at
from instructors.signing_in.watch import note_wrong_try


class _OwnLabels(forms.Form):
    """The book's names of allauth's fields, which stand beside the field and in the summary of errors."""

    labels: ClassVar[dict[str, str]] = {}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in self.labels.items():
            self.fields[name].label = label
        for field in self.fields.values():
            field.error_messages["required"] = "This cannot be left empty."


_EMAIL = "E-mail address"
_NEW_PASSWORD = {"password1": "New password", "password2": "New password once more"}


class LoginForm(_OwnLabels, AllauthLoginForm):
    """Signing in by password."""

    labels: ClassVar[dict[str, str]] = {"login": _EMAIL}


class PasswordAgainForm(_OwnLabels, AllauthPasswordAgainForm):
    """The password of somebody who is signed in."""


class SetPasswordForm(_OwnLabels, AllauthSetPasswordForm):
    """A first password."""

    labels: ClassVar[dict[str, str]] = _NEW_PASSWORD


class ResetPasswordKeyForm(_OwnLabels, AllauthResetPasswordKeyForm):
    """A new password by the link of an e-mail."""

    labels: ClassVar[dict[str, str]] = _NEW_PASSWORD


class ActivateTOTPForm(_OwnLabels, AllauthActivateTOTPForm):
    """Setting up an authenticator app."""

    labels: ClassVar[dict[str, str]] = {"code": "Code from the app"}


class RequestLoginCodeForm(_OwnLabels, AllauthRequestLoginCodeForm):
    """Asking for a code by e-mail."""

    labels: ClassVar[dict[str, str]] = {"email": _EMAIL}

    def clean_email(self) -> str:
        _count_mail(self.cleaned_data["email"])
        email: str = super().clean_email()
        return email


class ResetPasswordForm(_OwnLabels, AllauthResetPasswordForm):
    """Asking for a link to choose a new password."""

    labels: ClassVar[dict[str, str]] = {"email": _EMAIL}

    def clean_email(self) -> str:
        _count_mail(self.cleaned_data["email"])
        email: str = super().clean_email()
        return email


class ConfirmLoginCodeForm(_OwnLabels, AllauthConfirmLoginCodeForm):
    """Typing in the code.

    allauth counts wrong ones in the session, which a hundred requests at once all read before one of them writes.
    """

    def clean_code(self) -> str:
        stage = context.request._login_stage
        try:
            limits.spend([TRIES_AT_CODE.of(str(context.request.session.session_key), str(stage.state["at"]))])
        except limits.UsedUp:
            raise get_adapter().validation_error("incorrect_code") from None
        with _noted("code of an e-mail"):
            code: str = super().clean_code()
        return code


class ChangePasswordForm(_OwnLabels, AllauthChangePasswordForm):
    """Choosing another password: the old one is tried under the same limits as at the door."""

    labels: ClassVar[dict[str, str]] = {"oldpassword": "Current password", **_NEW_PASSWORD}

    def clean_oldpassword(self) -> str:
        password: str = self.cleaned_data["oldpassword"]
        if not get_adapter().reauthenticate(self.user, password):
            raise get_adapter().validation_error("enter_current_password")
        return password


class AuthenticateForm(_OwnLabels, AllauthAuthenticateForm):
    """A code of the second factor, at the door: the same limits as for a password."""

    def clean_code(self) -> str:
        counted = refusals.spend(context.request, tries_at(context.request, self.user.email), whose=self.user.email)
        try:
            with _noted("code of the second step", self.user.email):
                code: str = super().clean_code()
        except ValidationError:
            # Whoever comes so far knows the password, or reads the member's mail.
            record_own(self.user, ActKind.SIGN_IN, "second_step_failed")
            raise
        limits.give_back(counted)
        _tell_of_recovery_code(self.user, self.authenticator)
        return code


class ReauthenticateForm(_OwnLabels, AllauthReauthenticateForm):
    """The same, of somebody who is signed in."""

    def clean_code(self) -> str:
        counted = refusals.spend(context.request, tries_at(context.request, self.user.email), whose=self.user.email)
        with _noted("code of the second step", self.user.email):
            code: str = super().clean_code()
        limits.give_back(counted)
        _tell_of_recovery_code(self.user, self.authenticator)
        return code


def _tell_of_recovery_code(member: Member, used: Authenticator) -> None:
    """Mail the member that one of their recovery codes was used, if it was one, and how many are left."""
    if used.type != Authenticator.Type.RECOVERY_CODES:
        return
    used.refresh_from_db()  # allauth has marked it on a row that it read anew
    count = len(used.wrap().get_unused_codes())
    left = "1 is left" if count == 1 else f"{count or 'none'} are left"
    get_adapter().send_notification_mail("mfa/email/recovery_code_used", member, {"detail": left})


@contextmanager
def _noted(what: str, email: str = "") -> Iterator[None]:
    """Have it written down if what is tried meanwhile does not fit."""
    try:
        yield
    except ValidationError:
        note_wrong_try(context.request, what=what, email=email)
        raise


def _count_mail(email: str) -> None:
    refusals.spend(context.request, mails_to(context.request, email))
