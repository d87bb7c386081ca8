"""Where a member is signed in, signing out there, and signing in again here."""

from allauth.account.decorators import reauthentication_required
from allauth.usersessions.models import UserSession
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from config.form_page import go_on
from instructors import queries
from instructors.access import MemberRequest
from instructors.signing_in.actions import end_sessions
from instructors.signing_in.devices import device_words


@require_safe
def session_list(request: MemberRequest) -> HttpResponse:
    """List every browser on which the member is signed in, this one first."""
    sessions = [
        {"session": session, "words": device_words(session.user_agent), "is_this_one": _is_this_one(request, session)}
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
    return go_on(request, f"Signed out {device_words(chosen[0].user_agent)}.", "instructors:session-list")


@require_POST
@reauthentication_required(app="instructors")
def session_end_others(request: MemberRequest) -> HttpResponse:
    """Sign the member out everywhere but here."""
    end_sessions(by=request.user, sessions=_others(request))
    return go_on(request, "You are now signed out everywhere but here.", "instructors:session-list")


@require_safe
def sign_in_again(request: MemberRequest) -> HttpResponse:
    """Ask a member without a password or second factor to sign in again before a page that could shut them out."""
    wanted = request.GET.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(wanted, allowed_hosts={request.get_host()})
    return render(request, "instructors/sign_in_again.html", {"next": wanted if is_ours else ""})


def _others(request: MemberRequest) -> list[UserSession]:
    return [session for session in queries.sessions_of(request.user) if not _is_this_one(request, session)]


def _is_this_one(request: MemberRequest, session: UserSession) -> bool:
    return bool(session.session_key == request.session.session_key)
