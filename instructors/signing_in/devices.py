"""The devices that members sign in on: what to call one, and which ones a member has signed in on before.

A signed cookie marks a known device. It lets nobody in. It only says that wrong tries on this device are the member's
own, so that strangers' tries elsewhere do not count against them.
"""

import secrets

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponseBase

from instructors.models import Member
from instructors.queries import member_with

COOKIE = f"{settings.COOKIE_PREFIX}device"
#: Seconds. No browser keeps a cookie longer.
_KEPT_FOR = 400 * 24 * 3600
#: One browser remembers at most this many members.
_MEMBERS = 5
_SALT = "instructors.signing_in.devices"


def device_words(user_agent: str) -> str:
    """What a browser runs on, such as "on a phone or tablet": enough to spot a device that is not one's own.

    A tablet that poses as a computer counts as a computer.
    """
    said = user_agent.lower()
    if "mobi" in said or "tablet" in said:
        return "on a phone or tablet"
    # Every browser starts with this word, whoever made it.
    return "on a computer" if said.startswith("mozilla/") else "from an unknown program"


def known(request: HttpRequest, email: str) -> str:
    """The name of this device if the member with this address has signed in on it before, else empty."""
    names = _names(request)
    member = member_with(email) if names else None
    return names.get(str(member.pk), "") if member else ""


def remember(request: HttpRequest, response: HttpResponseBase, member: Member) -> None:
    """Mark the browser as one that ``member`` has signed in on; a device keeps the name it has."""
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
    """This device's name for each member, in the order of their sign-ins; empty if the book did not sign the cookie."""
    try:
        names: dict[str, str] = signing.loads(request.COOKIES.get(COOKIE, ""), salt=_SALT, max_age=_KEPT_FOR)
    except signing.BadSignature:
        return {}
    return names
