"""“Rent or your own?”: two quotes, answered to anybody. What is typed is stored nowhere until somebody keeps it."""

from collections.abc import Callable, Mapping
from datetime import timedelta
from functools import wraps

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from config import limits
from config.form_page import SeeOther, go_on, page_or_fragment, posted
from config.http import HtmxRequest, read_or_write
from config.proxies import client_network
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.toml import file_of
from costing.choosing.forms.rent_or_own import RentOrOwnForm
from costing.choosing.pictures.rent_or_own import Answer, answer_of, covers
from costing.choosing.services.two_quotes import (
    Needs,
    asked_for_file,
    asked_to_keep,
    case_of,
    keep,
    nothing_more,
    tables_of,
)
from costing.queries import RunningFigures, running_figures
from instructors.access import MemberRequest, settings_of
from instructors.models import Member

View = Callable[..., HttpResponse]

#: Each figure typed asks for an answer; twenty people of one office may type two quotes each.
ANSWERS_BY_CLIENT = limits.Limit("answers by client", 600, 15 * 60)
#: The figures on their way through sign-in. A name with this prefix is taken only over https; with __Host- it could
#: not be for one address alone.
COOKIE = f"{'__Secure-' if settings.SITE_IS_SECURE else ''}two-quotes"
_KEPT_FOR = timedelta(minutes=15)
_SALT = "costing.choosing.rent_or_own"


def _while_open(view: View) -> View:
    """Answer 404 while the co-op has the page switched off."""

    @wraps(view)
    def open_view(request: HttpRequest) -> HttpResponse:
        if not settings_of(request).rent_or_own_is_open:
            raise Http404
        return view(request)

    return open_view


def _not_too_often(view: View) -> View:
    """Answer a client that sends figures too often with a page that says when to come back."""

    @wraps(view)
    def counted(request: HttpRequest) -> HttpResponse:
        if request.method == "POST":
            try:
                limits.spend([ANSWERS_BY_CLIENT.of(_client(request))])
            except limits.UsedUp as used_up:
                response = render(request, "costing/rent_or_own_wait.html", {"again": used_up.again}, status=429)
                response["Retry-After"] = str(used_up.seconds)
                return response
        return view(request)

    return counted


def _client(request: HttpRequest) -> str:
    """Who is counted: a member by themselves, so that no stranger on their network keeps them out; else the network."""
    return f"member {request.user.pk}" if request.user.is_authenticated else client_network(request)


@login_not_required
@read_or_write
@_while_open
@_not_too_often
def rent_or_own(request: HtmxRequest) -> HttpResponse:
    """Say whether renting or a car of one's own is cheaper, as far as the figures typed go."""
    return _page(request, _form(request))


@login_not_required
@require_POST
@_while_open
@_not_too_often
def rent_or_own_file(request: HtmxRequest) -> HttpResponse:
    """The two quotes as an offers file, once nothing that a file needs is missing."""
    form = _form(request)
    if not _is_ready(request, form, asked_for_file):
        return _page(request, form)
    response = HttpResponse(
        file_of(tables_of(form.told, timezone.localdate())), content_type="application/toml; charset=utf-8"
    )
    response["Content-Disposition"] = 'attachment; filename="rent-or-own.toml"'
    return response


@login_not_required
@require_POST
@_while_open
@_not_too_often
def rent_or_own_carry(request: HtmxRequest) -> HttpResponse:
    """Keep the two quotes as a comparison of a member; a stranger's figures go through sign-in in a signed cookie."""
    form = _form(request)
    if not _is_ready(request, form, asked_to_keep):
        return _page(request, form)
    if request.user.is_authenticated:
        return _kept(request.user, request, form) or _page(request, form)
    response = SeeOther("costing:rent-or-own-keep")
    response.set_cookie(
        COOKIE,
        signing.dumps(form.as_typed(), salt=_SALT, compress=True),
        max_age=_KEPT_FOR,
        path=reverse("costing:rent-or-own-keep"),
        httponly=True,
        secure=settings.SESSION_COOKIE_SECURE,
        samesite="Lax",
    )
    return response


@read_or_write
@_while_open
def rent_or_own_keep(request: MemberRequest) -> HttpResponse:
    """Show a member who has just signed in what will be kept of the figures they typed before, and keep it."""
    form = RentOrOwnForm(_carried(request), group=None)
    if not _is_ready(request, form, asked_to_keep):
        return render(request, "costing/rent_or_own_keep.html", {"form": None})
    if request.method == "POST" and (response := _kept(request.user, request, form)):
        response.delete_cookie(COOKIE, path=reverse("costing:rent-or-own-keep"), samesite="Lax")
        return response
    context = {"form": form, "answer": _answer(request, form), "covers": covers(form.told)}
    return render(request, "costing/rent_or_own_keep.html", context)


def _form(request: HttpRequest) -> RentOrOwnForm:
    """The slip as it was sent; a member's may have the co-op's medians where a figure was left empty."""
    group = _group(request)
    data = posted(request)
    if data is not None and group and "take_medians" in data:
        data = data.copy()
        for name, median in group.medians.items():
            data[name] = data.get(name) or str(median)
    return RentOrOwnForm(data, group=group, nation=settings_of(request).nation)


def _group(request: HttpRequest) -> RunningFigures | None:
    """The co-op's rounded medians of running costs, which are for its members alone."""
    if not request.user.is_authenticated:
        return None
    return running_figures(settings_of(request).minimum_contributors)


def _page(request: HtmxRequest, form: RentOrOwnForm) -> HttpResponse:
    context = {"form": form, "answer": _answer(request, form), "covers": covers(form.told)}
    return render(request, page_or_fragment(request, "costing/rent_or_own.html"), context)


def _answer(request: HttpRequest, form: RentOrOwnForm) -> Answer | None:
    """The answer, if enough is typed to say anything and all of it goes together."""
    if not _is_ready(request, form, nothing_more):
        return None
    return answer_of(form.told, timezone.localdate(), settings_of(request).nation)


def _is_ready(request: HttpRequest, form: RentOrOwnForm, needs: Needs) -> bool:
    """Whether all is typed that an answer ``needs``, and goes together; if not, the form says why."""
    if not form.is_ready_for(needs):
        return False
    try:
        case_of(form.told, timezone.localdate(), settings_of(request).nation)
    except Unreadable as unreadable:
        form.put_faults(unreadable.faults)
        return False
    return True


def _carried(request: HttpRequest) -> Mapping[str, object]:
    """The figures that the cookie carries, as they were typed; none if it is too old, or not of this book."""
    try:
        carried: Mapping[str, object] = signing.loads(request.COOKIES.get(COOKIE, ""), salt=_SALT, max_age=_KEPT_FOR)
    except signing.BadSignature:
        return {}
    return carried


def _kept(member: Member, request: HttpRequest, form: RentOrOwnForm) -> HttpResponse | None:
    """Keep the two quotes and go on to them; None if they can't be kept, which the page then shown says why."""
    try:
        comparison = keep(by=member, told=form.told, today=timezone.localdate(), group=form.group)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return None
    return go_on(request, "Kept. Nobody but you sees it.", "costing:comparison", comparison.pk)
