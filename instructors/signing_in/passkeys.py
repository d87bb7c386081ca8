"""allauth's forms of passkeys: whatever a browser sends in place of one is refused, and written down."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from allauth.account.adapter import get_adapter
from allauth.core import context
from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn import forms as allauth_forms
from django.core.exceptions import ValidationError
from django.db import DatabaseError

from instructors.signing_in.watch import note_wrong_try


class AddWebAuthnForm(allauth_forms.AddWebAuthnForm):
    """A new one."""

    def clean(self) -> dict[str, Any]:
        with _refused(self.user.email):
            cleaned: dict[str, Any] = super().clean()
        return cleaned


class AuthenticateWebAuthnForm(allauth_forms.AuthenticateWebAuthnForm):
    """One as the second step."""

    def clean_credential(self) -> Authenticator:
        with _refused(self.user.email):
            return super().clean_credential()


class ReauthenticateWebAuthnForm(allauth_forms.ReauthenticateWebAuthnForm):
    """One of somebody who is signed in, to show that it is still them."""

    def clean_credential(self) -> Authenticator:
        with _refused(self.user.email):
            return super().clean_credential()


class LoginWebAuthnForm(allauth_forms.LoginWebAuthnForm):
    """One at the door, by itself: whose it says it is, is not to be believed."""

    def clean_credential(self) -> Authenticator:
        with _refused(""):
            return super().clean_credential()


@contextmanager
def _refused(email: str) -> Iterator[None]:
    """Have what does not fit refused like a wrong code; allauth lets much of what its library stumbles over through.

    A signature by another key, a part that is missing, bytes that are none: each raises something of its own.
    """
    try:
        yield
    except DatabaseError:
        raise
    except Exception as error:
        note_wrong_try(context.request, what="passkey", email=email)
        if isinstance(error, ValidationError):
            raise
        raise get_adapter().validation_error("incorrect_code") from error
