"""allauth's passkey forms: anything a browser sends that is not a valid passkey is refused and logged."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from allauth.account.adapter import get_adapter
from allauth.core import context
from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn import forms as allauth_forms
from django.core.exceptions import ValidationError
from django.db import DatabaseError

from config.fields import unmarked
from instructors.signing_in.tries import log_wrong_try


class AddWebAuthnForm(allauth_forms.AddWebAuthnForm):
    """Adding a passkey."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        name = unmarked(self.fields["name"])
        name.label = "A name for it"
        name.widget.attrs |= {"maxlength": "60", "autocomplete": "off"}

    def clean(self) -> dict[str, Any]:
        with _refused(self.user.email):
            cleaned: dict[str, Any] = super().clean()
        return cleaned


class AuthenticateWebAuthnForm(allauth_forms.AuthenticateWebAuthnForm):
    """A passkey as the second step."""

    def clean_credential(self) -> Authenticator:
        with _refused(self.user.email):
            return super().clean_credential()


class ReauthenticateWebAuthnForm(allauth_forms.ReauthenticateWebAuthnForm):
    """A passkey again, from somebody who is signed in."""

    def clean_credential(self) -> Authenticator:
        with _refused(self.user.email):
            return super().clean_credential()


class LoginWebAuthnForm(allauth_forms.LoginWebAuthnForm):
    """A passkey that signs in by itself. It names a member, but the name proves nothing until the signature fits."""

    def clean_credential(self) -> Authenticator:
        with _refused(""):
            return super().clean_credential()


@contextmanager
def _refused(email: str) -> Iterator[None]:
    """Refuse whatever goes wrong as a wrong code; allauth lets many of its library's errors through as they are.

    A signature by another key, a missing part and broken bytes each raise an error of their own.
    """
    try:
        yield
    except DatabaseError:
        raise
    except Exception as error:
        log_wrong_try(context.request, what="passkey", email=email)
        if isinstance(error, ValidationError):
            raise
        raise get_adapter().validation_error("incorrect_code") from error
