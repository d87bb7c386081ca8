"""The new address that a member wants, kept until a code sent there proves that it is theirs.

The book sends a code and no link: a mistyped address is somebody else's, and a link would let them in.
"""

import time

from allauth.account.adapter import get_adapter
from allauth.core.internal.cryptokit import compare_user_code
from django.http import HttpRequest

from config import limits
from instructors.models import Member
from instructors.signing_in.limits import NEW_ADDRESSES_BY_MEMBER, TRIES_AT_NEW_ADDRESS
from instructors.signing_in.tries import count_try

_KEY = "new_address"
_CODE_LIFE = 30 * 60  # seconds


def send_code(request: HttpRequest, *, by: Member, email: str) -> None:
    """Send a code to the new address; a member may ask for a few a day."""
    count_try(request, [NEW_ADDRESSES_BY_MEMBER.of(str(by.pk))])
    adapter = get_adapter(request)
    code = adapter.generate_email_verification_code()
    request.session[_KEY] = {"email": email, "code": code, "at": time.time()}
    adapter.send_mail("account/email/new_address", email, {"code": code})


def address_to_confirm(request: HttpRequest) -> str:
    """The address whose code can still be typed in; empty if there is none."""
    kept = request.session.get(_KEY)
    return kept["email"] if kept and time.time() - kept["at"] < _CODE_LIFE else ""


def is_right_code(request: HttpRequest, code: str) -> bool:
    """Whether this is the code that was sent; after five wrong ones no code is right."""
    kept = request.session[_KEY]
    try:
        limits.spend([TRIES_AT_NEW_ADDRESS.of(str(request.session.session_key), str(kept["at"]))])
    except limits.UsedUp:
        return False
    return compare_user_code(actual=code, expected=kept["code"])


def forget(request: HttpRequest) -> None:
    """Drop the address and its code."""
    request.session.pop(_KEY, None)
