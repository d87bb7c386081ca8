"""Who may reach a view: every signed-in member, or coordinators only."""

from collections.abc import Callable, Collection, Sequence
from functools import wraps
from typing import Concatenate, ParamSpec, cast

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render

from config.http import HtmxRequest, wants_data
from config.limits import Allowance, Limit, UsedUp, give_back, spend
from instructors.models import Cooperative, Member
from instructors.queries import cooperative, member_key

P = ParamSpec("P")
#: The key under which a request keeps the co-op's settings.
_KEPT = "book.cooperative"
#: Of what takes long a member may have so many under way: the threads that answer are eight or fewer, for everybody.
_AT_ONCE = Limit("long work at once", 2, 120)
#: And everybody together, so that other pages find a thread.
_AT_ONCE_OF_ALL = Limit("long work of everybody at once", 4, 120)
#: And so many large files on their way to them, each as slowly as their line, or they themselves, will have it.
_ON_THEIR_WAY = Limit("downloads at once", 2, 3600)


class MemberRequest(HtmxRequest):
    """A request from a signed-in member; the login middleware lets nobody else reach a view."""

    user: Member


def settings_of(request: HttpRequest) -> Cooperative:
    """The co-op's settings, asked for once a request and kept with it; not for one that changes them."""
    kept = request.META.get(_KEPT)
    if kept is None:
        kept = request.META[_KEPT] = cooperative()
    return cast(Cooperative, kept)


def member_of_page(request: HttpRequest) -> dict[str, Callable[[], str]]:
    """For every page: ``member_key`` of whoever is signed in, "" for nobody, by which a phone tells members apart."""
    return {"member_key": lambda: member_key(request.user) if request.user.is_authenticated else ""}


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


def of_its_member(
    view: Callable[Concatenate[MemberRequest, P], HttpResponse],
) -> Callable[Concatenate[MemberRequest, P], HttpResponse]:
    """Answer 409 to what a phone kept for another member than the one signed in now: it is never taken as theirs."""

    @wraps(view)
    def guarded(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if request.headers.get("X-Member", member_key(request.user)) != member_key(request.user):
            return JsonResponse({}, status=409)
        return view(request, *args, **kwargs)

    return guarded


def few_at_once(
    view: Callable[Concatenate[MemberRequest, P], HttpResponse],
) -> Callable[Concatenate[MemberRequest, P], HttpResponse]:
    """Answer 429 to whoever sends one more file, or rows of one, while others of theirs are still being worked on.

    Else one member's files could keep everybody waiting. A phone keeps what is answered so, and sends it again.
    """

    @wraps(view)
    def guarded(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if request.method != "POST" or not (request.FILES or "cells" in request.POST):
            return view(request, *args, **kwargs)
        return _while(_of_member(request), lambda: view(request, *args, **kwargs), request)

    return guarded


def few_papers(
    view: Callable[Concatenate[MemberRequest, P], HttpResponse],
) -> Callable[Concatenate[MemberRequest, P], HttpResponse]:
    """Answer 429 to whoever asks for one more PDF, or anything else that takes long, while two are being worked on.

    Nor do all members together get more than four: a fifth waits.
    """

    @wraps(view)
    def guarded(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        limits = [*_of_member(request), _AT_ONCE_OF_ALL.of("everybody")]
        return _while(limits, lambda: view(request, *args, **kwargs), request)

    return guarded


def _of_member(request: MemberRequest) -> list[Allowance]:
    return [_AT_ONCE.of(f"member {request.user.pk}")]


def _while(limits: Sequence[Allowance], work: Callable[[], HttpResponse], request: MemberRequest) -> HttpResponse:
    """What ``work`` answers, counted as one of each until it is done; 429 if one of them is used up."""
    try:
        counted = spend(limits)
    except UsedUp:
        return _wait(request)
    try:
        return work()
    finally:
        give_back(counted)


def few_downloads(
    view: Callable[Concatenate[MemberRequest, P], HttpResponseBase],
) -> Callable[Concatenate[MemberRequest, P], HttpResponseBase]:
    """Answer 429 to whoever asks for one more large file while others are still on their way to them.

    Each keeps a thread and its place on the disk until its last byte is taken: eight that nobody reads would lock
    everybody out.
    """
    return _few_on_their_way(view, {"POST"})


def few_files(
    view: Callable[Concatenate[MemberRequest, P], HttpResponseBase],
) -> Callable[Concatenate[MemberRequest, P], HttpResponseBase]:
    """The same for a view whose GET answers with a file."""
    return _few_on_their_way(view, {"GET"})


def _few_on_their_way(
    view: Callable[Concatenate[MemberRequest, P], HttpResponseBase], methods: Collection[str]
) -> Callable[Concatenate[MemberRequest, P], HttpResponseBase]:
    @wraps(view)
    def guarded(request: MemberRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if request.method not in methods:
            return view(request, *args, **kwargs)
        try:
            counted = spend([_ON_THEIR_WAY.of(f"member {request.user.pk}")])
        except UsedUp:
            return _wait(request)
        try:
            answer = view(request, *args, **kwargs)
        except BaseException:
            give_back(counted)
            raise
        close = answer.close

        def closed() -> None:
            close()
            give_back(counted)
            counted.clear()

        answer.close = closed  # type: ignore[method-assign]  # the server calls it, whatever became of the line
        return answer

    return guarded


def _wait(request: MemberRequest) -> HttpResponse:
    wait = JsonResponse({}, status=429) if wants_data(request) else render(request, "wait.html", status=429)
    wait["Retry-After"] = "10"
    return wait
