"""Devices on which a member has signed in before, known by a signed cookie.

It opens nothing. It only says that wrong tries made on this device are this member's own, so that what strangers try
elsewhere is not counted against them.
"""

import secrets

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponseBase

from instructors.models import Member
from instructors.queries import member_with

COOKIE = f"{settings.COOKIE_PREFIX}device"
#: Seconds: as long as browsers keep a cookie at most.
_KEPT_FOR = 400 * 24 * 3600
#: Of so many members one browser is remembered.
_MEMBERS = 5
_SALT = "instructors.signing_in.devices"


def known(request: HttpRequest, email: str) -> str:
    """The name of the device, if whoever has this address signed in on it before; else empty."""
    names = _names(request)
    member = member_with(email) if names else None
    return names.get(str(member.pk), "") if member else ""


def remember(request: HttpRequest, response: HttpResponseBase, member: Member) -> None:
    """Let the browser keep that ``member`` has signed in on it; it keeps the name that it has."""
    key, names = str(member.pk), _names(request)
    name = names.pop(key, None) or secrets.token_urlsafe(16)
    latest = dict(list({**names, key: name}.items())[-_MEMBERS:])
    response.set_cookie(
        COOKIE,
        signing.dumps(latest, salt=_SALT),
        max_age=_KEPT_FOR,
        httponly=True,
        secure=settings.SESSION_COOKIE_SECURE,
        samesite="Lax",
    )


def _names(request: HttpRequest) -> dict[str, str]:
    """Name of this device by member, in order of their sign-ins; none if the cookie is not ours."""
    try:
        names: dict[str, str] = signing.loads(request.COOKIES.get(COOKIE, ""), salt=_SALT, max_age=_KEPT_FOR)
    except signing.BadSignature:
        return {}
    return names
