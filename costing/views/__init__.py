"""The pages of the costing app, home among them."""

from config.http import HtmxRequest
from instructors.models import Member


class MemberRequest(HtmxRequest):
    """A request of somebody who is signed in: the login middleware lets nobody else as far as a view."""

    user: Member
