"""The pages of the costing app, home among them."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from instructors.models import Member


class MemberRequest(HttpRequest):
    """A request of somebody who is signed in: the login middleware lets nobody else as far as a view."""

    user: Member
    htmx: HtmxDetails
