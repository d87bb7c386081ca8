"""A member's calendar feeds: their page, and the calendar at a secret address."""

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.http import conditional_page, require_POST, require_safe

from config.compression import holds_a_secret
from config.form_page import go_on
from config.http import never_in_clear, read_or_write
from config.site import address_of
from fleet import actions, queries
from fleet.models import FeedScope
from instructors.access import MemberRequest

_SCOPE_WORDS = {FeedScope.OWN: "your own calendar", FeedScope.GROUP: "the group's calendar"}


@never_cache
@holds_a_secret
@read_or_write
def calendar_feeds(request: MemberRequest) -> HttpResponse:
    """The feeds in use; a POST makes a new address and shows it this once."""
    made = {}
    if request.method == "POST":
        try:
            feed, token = actions.open_feed(by=request.user, scope=request.POST.get("scope", ""))
        except ValidationError as refusal:
            raise Http404 from refusal
        made = {"made": feed, "address": address_of("fleet:calendar-feed", token)}
    in_use = queries.feeds_in_use(request.user)
    scopes = [(scope, in_use.get(scope)) for scope in queries.scopes_open_to(request.user)]
    return render(request, "fleet/calendar_feeds.html", {"scopes": scopes, **made})


@require_POST
def calendar_feed_revoke(request: MemberRequest, pk: int) -> HttpResponse:
    """Revoke one of the member's own feeds."""
    feed = queries.feed_for(request.user, pk)
    actions.revoke_feed(by=request.user, feed=feed)
    words = f"The address of {_SCOPE_WORDS[FeedScope(feed.scope)]} has stopped working."
    return go_on(request, words, "fleet:calendar-feeds")


@login_not_required
@require_safe
@never_in_clear
@conditional_page
@cache_control(private=True, no_cache=True)
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar behind a secret address, for an app that cannot sign in."""
    # A library that only calendars need: no other process of the book waits for it at its start.
    from fleet.icalendar_feed import icalendar_of

    today = timezone.localdate()
    feed = queries.feed_by(token, today)
    if feed is None:
        raise Http404
    actions.remember_feed_read(feed=feed)
    report = queries.report_in(feed.scope, feed.member, today)
    return HttpResponse(
        icalendar_of(report, queries.revisions_of(report.lines())),
        content_type="text/calendar; charset=utf-8",
        headers={
            "Content-Disposition": 'inline; filename="tuition-cars.ics"',
            "Referrer-Policy": "no-referrer",
            "X-Robots-Tag": "noindex",
        },
    )
