"""The car pages, the page of a member's own, and what was reminded of."""

from config.http import HtmxRequest
from instructors.models import Member


class MemberRequest(HtmxRequest):
    """A request of somebody who is signed in, which every view of the fleet sees to."""

    user: Member
