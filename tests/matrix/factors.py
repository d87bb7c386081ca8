"""What a member signs in with besides the password: an authenticator app, a passkey and recovery codes."""

import base64
import hashlib
from typing import Any

from allauth.account.utils import user_pk_to_url_str
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP
from fido2.cose import ES256
from fido2.webauthn import AttestationObject, AttestedCredentialData, AuthenticatorData

from instructors.models import Member
from tests.matrix.canaries import Canaries


def add_app(canaries: Canaries, role: str, member: Member) -> None:
    """An authenticator app, whose key nobody is ever shown again."""
    key = base64.b32encode(hashlib.sha256(role.encode()).digest()[:20]).decode()
    kept = TOTP.activate(member, canaries.secret(f"{role}'s key of the app", key)).instance.data
    canaries.secret(f"{role}'s key of the app, as kept", kept["secret"])


def add_passkey(canaries: Canaries, role: str, member: Member) -> Authenticator:
    """A passkey with a name and an id of its own, and the recovery codes that come with it."""
    codes = RecoveryCodes.activate(member)
    canaries.secret(f"{role}'s recovery codes, as kept", codes.instance.data["seed"])
    for code in codes.generate_codes():
        canaries.secret(f"{role}'s recovery code {code}", code, role)
    name = canaries.words(f"name of {role}'s passkey", role)
    credential_id = hashlib.sha256(f"passkey of {role}".encode()).digest()
    written = base64.urlsafe_b64encode(credential_id).decode().rstrip("=")
    canaries.secret(f"id of {role}'s passkey", written, role)
    return Authenticator.objects.create(
        user=member, type="webauthn", data={"name": name, "credential": _credential(credential_id, written, member)}
    )


def _credential(credential_id: bytes, written: str, member: Member) -> dict[str, Any]:
    """What a browser hands over when a passkey is made."""
    key = ES256({1: 2, 3: -7, -1: 1, -2: credential_id, -3: credential_id})  # no point of the curve: it signs nothing
    about = AttestedCredentialData.create(bytes(16), credential_id, key)
    said = AuthenticatorData.create(hashlib.sha256(b"localhost").digest(), 0x45, 0, about)
    return {
        "type": "public-key",
        "id": written,
        "rawId": written,
        "response": {
            "clientDataJSON": _written(
                b'{"type": "webauthn.create", "challenge": "AAAA", "origin": "http://localhost"}'
            ),
            "attestationObject": _written(AttestationObject.create("none", said, {})),
            "userHandle": _written(user_pk_to_url_str(member).encode()),
        },
        "clientExtensionResults": {"credProps": {"rk": True}},
    }


def _written(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).decode().rstrip("=")
