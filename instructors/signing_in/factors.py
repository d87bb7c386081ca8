"""Passkeys, authenticator apps and recovery codes: how they differ from allauth's own."""

import base64
import secrets
from urllib.parse import urlsplit

from allauth.core import context
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, InvalidToken
from django.conf import settings
from django.utils.crypto import salted_hmac

from config.site import site_url
from instructors.clients import client_words
from instructors.models import Member


class FactorAdapter(DefaultMFAAdapter):
    """This book's name, its words, and secrets that whoever steals the database alone cannot read."""

    error_messages = DefaultMFAAdapter.error_messages | {
        "cannot_generate_recovery_codes": "Recovery codes need a passkey or an authenticator app first.",
        "incorrect_code": "That did not fit. Try again, with a code that has just come up.",
    }

    def get_public_key_credential_rp_entity(self) -> dict[str, str]:
        """What a passkey is bound to: the name under which members know the site, however this request came."""
        return {"id": urlsplit(site_url()).hostname or "", "name": settings.MFA_TOTP_ISSUER}

    def generate_authenticator_name(self, user: Member, type: Authenticator.Type) -> str:
        return client_words(context.request.headers.get("User-Agent", "")).capitalize()

    def encrypt(self, text: str) -> str:
        return _cipher().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """The secret; a random one, which no code fits, where SECRET_KEY has changed since."""
        try:
            return _cipher().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            return base64.b32encode(secrets.token_bytes(20)).decode()


def _cipher() -> Fernet:
    key = salted_hmac("instructors.signing_in.factors", "", algorithm="sha256").digest()
    return Fernet(base64.urlsafe_b64encode(key))
