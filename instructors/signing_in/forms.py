"""allauth's forms with this book's limits."""

from collections.abc import Iterator
from contextlib import contextmanager

from allauth.account.adapter import get_adapter
from allauth.account.forms import ChangePasswordForm as AllauthChangePasswordForm
from allauth.account.forms import ConfirmLoginCodeForm as AllauthConfirmLoginCodeForm
from allauth.account.forms import RequestLoginCodeForm as AllauthRequestLoginCodeForm
from allauth.account.forms import ResetPasswordForm as AllauthResetPasswordForm
from allauth.core import context
from allauth.mfa.base.forms import AuthenticateForm as AllauthAuthenticateForm
from allauth.mfa.base.forms import ReauthenticateForm as AllauthReauthenticateForm
from allauth.mfa.models import Authenticator
from django.core.exceptions import ValidationError

from config import limits
from instructors.actions import record_own
from instructors.models import ActKind, Member
from instructors.signing_in import refusals
from instructors.signing_in.limits import TRIES_AT_CODE, mails_to, tries_at
from instructors.signing_in.watch import note_wrong_try


class RequestLoginCodeForm(AllauthRequestLoginCodeForm):
    """Asking for a code by e-mail."""

    def clean_email(self) -> str:
        _count_mail(self.cleaned_data["email"])
        email: str = super().clean_email()
        return email


class ResetPasswordForm(AllauthResetPasswordForm):
    """Asking for a link to choose a new password."""

    def clean_email(self) -> str:
        _count_mail(self.cleaned_data["email"])
        email: str = super().clean_email()
        return email


class ConfirmLoginCodeForm(AllauthConfirmLoginCodeForm):
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


class ChangePasswordForm(AllauthChangePasswordForm):
    """Choosing another password: the old one is tried under the same limits as at the door."""

    def clean_oldpassword(self) -> str:
        password: str = self.cleaned_data["oldpassword"]
        if not get_adapter().reauthenticate(self.user, password):
            raise get_adapter().validation_error("enter_current_password")
        return password


class AuthenticateForm(AllauthAuthenticateForm):
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


class ReauthenticateForm(AllauthReauthenticateForm):
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
