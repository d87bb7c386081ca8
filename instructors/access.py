"""Who may reach a view: every signed-in member, or coordinators only."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import Http404, HttpResponse

from config.http import HtmxRequest
from instructors.models import Member

P = ParamSpec("P")


class MemberRequest(HtmxRequest):
    """A request from a signed-in member; the login middleware lets nobody else reach a view."""

    user: Member


def coordinators_only(
    view: Callable[Concatenate[MemberRequest, P], HttpResponse],
) -> Callable[Concatenate[MemberRequest, P], HttpResponse]:
    """Answer 404 to a member who is not a coordinator, as if there were no such page."""

    @wraps(view)
    def guarded(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not request.user.is_coordinator:
            raise Http404
        return view(request, *args, **kwargs)

    return guarded
