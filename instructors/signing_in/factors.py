"""Passkeys, authenticator apps and recovery codes: where the book differs from allauth."""

import base64
import secrets
from urllib.parse import urlsplit

from allauth.account.decorators import reauthentication_required
from allauth.core import context
from allauth.mfa import app_settings
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, InvalidToken
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.crypto import salted_hmac
from django.views.decorators.http import require_safe

from config.compression import holds_a_secret
from config.site import site_url
from instructors.models import Member
from instructors.signing_in.devices import device_words


class FactorAdapter(DefaultMFAAdapter):
    """The book's own name and words, and encrypted secrets: a stolen database alone does not reveal them."""

    error_messages = DefaultMFAAdapter.error_messages | {
        "cannot_generate_recovery_codes": "Add a passkey or an authenticator app before you make recovery codes.",
        "incorrect_code": "That did not work. Try again with the code that shows now.",
    }

    def get_public_key_credential_rp_entity(self) -> dict[str, str]:
        """The site that a passkey is bound to: the one in the book's address, whatever host the request named."""
        return {"id": urlsplit(site_url()).hostname or "", "name": settings.MFA_TOTP_ISSUER}

    def generate_authenticator_name(self, user: Member, type: Authenticator.Type) -> str:
        return device_words(context.request.headers.get("User-Agent", "")).capitalize()

    def encrypt(self, text: str) -> str:
        return _cipher().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """The secret. If SECRET_KEY has changed since, a random one, so that no code fits."""
        try:
            return _cipher().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            return base64.b32encode(secrets.token_bytes(20)).decode()


@holds_a_secret
@require_safe
@reauthentication_required(app="allauth.mfa")
def view_recovery_codes(request: HttpRequest) -> HttpResponse:
    """Show the recovery codes that are left. allauth's own view would write to the database on a GET."""
    unused_codes = _unused_codes(request)
    context = {"unused_codes": unused_codes, "total_count": app_settings.RECOVERY_CODE_COUNT}
    return render(request, "mfa/recovery_codes/index.html", context)


@holds_a_secret
@require_safe
@reauthentication_required(app="allauth.mfa")
def download_recovery_codes(request: HttpRequest) -> HttpResponse:
    """Send the recovery codes that are left as a text file; 404 if there are none."""
    if not (unused_codes := _unused_codes(request)):
        raise Http404
    context = {"unused_codes": unused_codes}
    answer = render(request, "mfa/recovery_codes/download.txt", context, content_type="text/plain; charset=utf-8")
    answer.headers["Content-Disposition"] = 'attachment; filename="recovery-codes.txt"'
    return answer


def _unused_codes(request: HttpRequest) -> list[str]:
    codes = Authenticator.objects.filter(user=request.user, type=Authenticator.Type.RECOVERY_CODES).first()
    if codes is None:
        raise Http404
    unused: list[str] = codes.wrap().get_unused_codes()
    return unused


def _cipher() -> Fernet:
    key = salted_hmac("instructors.signing_in.factors", "", algorithm="sha256").digest()
    return Fernet(base64.urlsafe_b64encode(key))
