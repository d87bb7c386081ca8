"""Opening and revoking the secret addresses at which a calendar app reads what falls due."""

import secrets
from datetime import date, datetime, timedelta

from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from fleet.models import CalendarFeed
from fleet.queries import scopes_open_to
from instructors.actions import record_act, record_own
from instructors.models import ActKind, Member
from instructors.queries import has_act_on, token_digest

#: Seconds for which the cache remembers that a feed was read, until the schedule records it.
_REMEMBERED_FOR = 48 * 3600


@transaction.atomic
def open_feed(*, by: Member, scope: str) -> tuple[CalendarFeed, str]:
    """Give the member an address for that scope; an earlier one stops working.

    Returns the feed and its secret, which is not stored. Raises ValidationError on ``scope`` if the member may not see
    what it holds.
    """
    if scope not in scopes_open_to(by):
        raise ValidationError({"scope": "Only a coordinator can have a calendar of the whole group's cars."})
    token = secrets.token_urlsafe(32)
    feed, _ = CalendarFeed.objects.update_or_create(
        member=by,
        scope=scope,
        revoked_at=None,
        defaults={"token_digest": token_digest(token), "created_at": timezone.now()},
    )
    record_own(by, ActKind.COPY, "feed_opened", feed.get_scope_display())
    return feed, token


@transaction.atomic
def revoke_feed(*, by: Member, feed: CalendarFeed) -> None:
    """Revoke a member's own feed. Doing it again changes nothing."""
    in_use = CalendarFeed.objects.filter(pk=feed.pk, member=by, revoked_at__isnull=True)
    if in_use.update(revoked_at=timezone.now()):
        record_own(by, ActKind.COPY, "feed_revoked", feed.get_scope_display())


def end_feeds(*, by: Member, member: Member) -> None:
    """Revoke the feeds of somebody who leaves, so that no old address opens again if they come back."""
    for feed in CalendarFeed.objects.filter(member=member, revoked_at__isnull=True):
        feed.revoked_at = timezone.now()
        feed.save(update_fields=["revoked_at"])
        record_act(
            by=by,
            kind=ActKind.COPY,
            concerns=member,
            field="feed_revoked",
            now=feed.get_scope_display(),
            is_mailed=False,
        )


def remember_feed_read(*, feed: CalendarFeed) -> None:
    """Remember in the cache when a feed was first read today. An app reads it by GET, which writes no row."""
    cache.add(_read_key(feed, timezone.localdate()), timezone.now(), _REMEMBERED_FOR)


def note_feed_reads() -> None:
    """Note in each member's record, once a day, that somebody with a feed's address has read it."""
    today = timezone.localdate()
    for feed in CalendarFeed.objects.select_related("member"):
        for day in (today - timedelta(days=1), today):
            read_at = cache.get(_read_key(feed, day))
            if read_at and not has_act_on(feed.member, subject=f"feed:{feed.pk}", field="feed_read", on=day):
                _note_feed_read(feed, read_at)


def _read_key(feed: CalendarFeed, day: date) -> str:
    return f"feed-read:{feed.pk}:{day}"


def _note_feed_read(feed: CalendarFeed, read_at: datetime) -> None:
    record_act(
        by=None,
        kind=ActKind.COPY,
        concerns=feed.member,
        subject=f"feed:{feed.pk}",
        field="feed_read",
        now=feed.get_scope_display(),
        is_mailed=False,
        happened_at=read_at,
    )
