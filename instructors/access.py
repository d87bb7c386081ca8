"""What a view knows of who asks: a member, and whether they are a coordinator."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import Http404, HttpResponse

from config.http import HtmxRequest
from instructors.models import Member

P = ParamSpec("P")


class MemberRequest(HtmxRequest):
    """A request of somebody who is signed in: the login middleware lets nobody else reach a view."""

    user: Member


def coordinators_only(
    view: Callable[Concatenate[MemberRequest, P], HttpResponse],
) -> Callable[Concatenate[MemberRequest, P], HttpResponse]:
    """Answer a member without the role as if the page were not there."""

    @wraps(view)
    def guarded(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if not request.user.is_coordinator:
            raise Http404
        return view(request, *args, **kwargs)

    return guarded
