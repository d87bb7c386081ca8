"""The kit: what a member's own phone keeps, so that it logs and asks as the book does when there is no signal."""

from base64 import b64encode
from datetime import date
from typing import Any

from instructors.models import Member
from instructors.queries import member_key, member_seal


def kit_of(member: Member, today: date) -> dict[str, Any]:
    """All of one member's kit but the token of the request, ready for JSON. The phone wipes it at sign-out.

    ``seal`` seals what waits to be sent. A script keeps it as a key that no script can read again.
    """
    return {
        "member": member_key(member),
        "seal": b64encode(member_seal(member)).decode(),
        "today": today.isoformat(),
    }
