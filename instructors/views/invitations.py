"""Inviting somebody, and accepting an invitation."""

from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from config.compression import holds_a_secret
from config.form_page import button_pressed, form_page, go_on, posted
from config.http import address_is_secret, read_or_write
from config.site import page
from instructors import actions, queries
from instructors.access import MemberRequest, coordinators_only
from instructors.forms import AcceptForm, InviteForm
from instructors.models import Invitation
from instructors.signing_in import devices
from instructors.signing_in.limits import MAILS_OF_INVITATION
from instructors.signing_in.tries import count_try


@coordinators_only
@read_or_write
def invite(request: MemberRequest) -> HttpResponse:
    """Ask whom to invite, record the invitation and send it."""
    form = InviteForm(posted(request))

    def save() -> HttpResponse:
        return _send(request, actions.invite_member(by=request.user, **form.cleaned_data))

    return form_page(request, "instructors/invite.html", form, save)


@coordinators_only
@require_POST
def invitation_send(request: MemberRequest, pk: int) -> HttpResponse:
    """Send an invitation again, with a new link."""
    return _send(request, get_object_or_404(Invitation, pk=pk))


def _send(request: MemberRequest, invitation: Invitation) -> HttpResponse:
    """Send an invitation, a few times a day, and go back to the people.

    If no mail server took it, show its link this once.
    """
    count_try(request, [MAILS_OF_INVITATION.of(str(invitation.pk))])
    try:
        link = actions.send_invitation(by=request.user, invitation=invitation)
    except ValidationError as refusal:
        return go_on(request, " ".join(refusal.messages), "instructors:people", level=messages.ERROR)
    except actions.MailRefused as refusal:
        return _show_link(request, invitation, refusal.link, refused=str(refusal))
    if settings.EMAIL_BACKEND.endswith("filebased.EmailBackend"):
        return _show_link(request, invitation, link)
    words = f"Invitation sent to {invitation.name} at {invitation.email}."
    return go_on(request, words, "instructors:people")


@holds_a_secret
def _show_link(request: MemberRequest, invitation: Invitation, link: str, refused: str = "") -> HttpResponse:
    """Show the link for the coordinator to pass on. It is in this answer alone, in no message and no session."""
    context = {"invitation": invitation, "link": link, "refused": refused}
    return render(request, "instructors/invitation_link.html", context)


@coordinators_only
@require_POST
def invitation_withdraw(request: MemberRequest, pk: int) -> HttpResponse:
    """Stop an invitation's link from working."""
    invitation = get_object_or_404(Invitation, pk=pk)

    def withdraw() -> str:
        actions.withdraw_invitation(by=request.user, invitation=invitation)
        return f"Invitation to {invitation.name} withdrawn. Its link no longer works."

    return button_pressed(request, withdraw, "instructors:people")


@login_not_required
@address_is_secret
@holds_a_secret
@sensitive_post_parameters("password")
@read_or_write
def accept_invitation(request: HttpRequest, token: str) -> HttpResponse:
    """Show who invites whom, and make a member of the person who accepts. A link that no longer works says so."""
    invitation = queries.invitation_by(token)
    if invitation is None:
        return _link_does_not_work(request, status=404)
    if not queries.may_be_accepted(invitation, timezone.now()):
        return _link_does_not_work(request, status=410)
    context = {"invitation": invitation, "cooperative": queries.cooperative()}
    if request.user.is_authenticated:
        return render(request, "instructors/accept_invitation_signed_in.html", context)
    form = AcceptForm(posted(request), invitation=invitation)

    def save() -> HttpResponse:
        member = actions.accept_invitation(invitation=invitation, **form.cleaned_data)
        login(request, member)
        # allauth keeps no record of this sign-in that LifetimeMiddleware could read, so the end is set here.
        request.session.set_expiry(timezone.now() + timedelta(seconds=settings.SESSION_COOKIE_AGE))
        words = f"Welcome, {member.name}. You are now a member and signed in."
        response = go_on(request, words, page("home"))
        devices.remember(request, response, member)
        return response

    return form_page(request, "instructors/accept_invitation.html", form, save, context)


def _link_does_not_work(request: HttpRequest, *, status: int) -> HttpResponse:
    return render(request, "instructors/invitation_over.html", status=status)
