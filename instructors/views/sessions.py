"""Where a member is signed in."""

from allauth.account.decorators import reauthentication_required
from allauth.usersessions.models import UserSession
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST, require_safe

from config.form_page import go_on
from instructors import queries
from instructors.access import MemberRequest
from instructors.clients import client_words
from instructors.signing_in.actions import end_sessions


@require_safe
def session_list(request: MemberRequest) -> HttpResponse:
    """Every browser on which the member is signed in, this one first."""
    sessions = [
        {"session": session, "words": client_words(session.user_agent), "is_this_one": _is_this_one(request, session)}
        for session in queries.sessions_of(request.user)
    ]
    sessions.sort(key=lambda row: not row["is_this_one"])
    return render(request, "instructors/session_list.html", {"sessions": sessions})


@require_POST
@reauthentication_required(app="instructors")
def session_end(request: MemberRequest, pk: int) -> HttpResponse:
    """Sign the member out on one of their other browsers."""
    chosen = [session for session in _others(request) if session.pk == pk]
    if not chosen:
        raise Http404
    end_sessions(by=request.user, sessions=chosen)
    return go_on(request, f"Signed out: {client_words(chosen[0].user_agent)}.", "instructors:session-list")


@require_POST
@reauthentication_required(app="instructors")
def session_end_others(request: MemberRequest) -> HttpResponse:
    """Sign the member out everywhere but here."""
    end_sessions(by=request.user, sessions=_others(request))
    return go_on(request, "You are signed out everywhere but here.", "instructors:session-list")


def _others(request: MemberRequest) -> list[UserSession]:
    return [session for session in queries.sessions_of(request.user) if not _is_this_one(request, session)]


def _is_this_one(request: MemberRequest, session: UserSession) -> bool:
    return bool(session.session_key == request.session.session_key)
