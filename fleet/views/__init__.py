"""The car pages, the page of a member's own, and what was reminded of."""

from django.http import HttpRequest

from instructors.models import Member


class MemberRequest(HttpRequest):
    """A request of somebody who is signed in, which every view of the fleet sees to."""

    user: Member
