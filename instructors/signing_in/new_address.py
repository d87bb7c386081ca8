"""An address that a member wants to take, until a code sent there shows that it is theirs.

A code and no link: a link would let in whoever has the address by a slip of the keyboard.
"""

import time

from allauth.account.adapter import get_adapter
from allauth.core.internal.cryptokit import compare_user_code
from django.http import HttpRequest

from config import limits
from instructors.models import Member
from instructors.signing_in import refusals
from instructors.signing_in.limits import NEW_ADDRESSES_BY_MEMBER, TRIES_AT_NEW_ADDRESS

_KEY = "new_address"
#: Seconds that the code is good for.
_GOOD_FOR = 30 * 60


def begin(request: HttpRequest, *, by: Member, email: str) -> None:
    """Send a code to the address and wait for it; a member may ask for a few a day."""
    refusals.spend(request, [NEW_ADDRESSES_BY_MEMBER.of(str(by.pk))])
    adapter = get_adapter(request)
    code = adapter.generate_email_verification_code()
    request.session[_KEY] = {"email": email, "code": code, "at": time.time()}
    adapter.send_mail("account/email/new_address", email, {"code": code})


def waiting(request: HttpRequest) -> str:
    """The address that waits for its code; empty if there is none, or no longer."""
    kept = request.session.get(_KEY)
    return kept["email"] if kept and time.time() - kept["at"] < _GOOD_FOR else ""


def is_shown_by(request: HttpRequest, code: str) -> bool:
    """Whether this is the code; after a few wrong ones none is."""
    kept = request.session[_KEY]
    try:
        limits.spend([TRIES_AT_NEW_ADDRESS.of(str(request.session.session_key), str(kept["at"]))])
    except limits.UsedUp:
        return False
    return compare_user_code(actual=code, expected=kept["code"])


def forget(request: HttpRequest) -> None:
    """Wait no more."""
    request.session.pop(_KEY, None)
