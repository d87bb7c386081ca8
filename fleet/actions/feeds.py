"""Opening and closing the secret addresses at which a calendar program reads what falls due."""

import secrets

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from fleet.models import CalendarFeed
from fleet.queries import scopes_open_to
from instructors.actions import record_act, record_own
from instructors.models import ActKind, Member
from instructors.queries import has_act_on, token_digest


@transaction.atomic
def open_feed(*, by: Member, scope: str) -> tuple[CalendarFeed, str]:
    """Give the member an address for that scope; one they had before stops working.

    Returns the feed and its secret, which is kept nowhere. Raises ValidationError on ``scope`` if the member may
    not see what it holds.
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
    """Let a member's own feed stop working. Again, it changes nothing."""
    in_use = CalendarFeed.objects.filter(pk=feed.pk, member=by, revoked_at__isnull=True)
    if in_use.update(revoked_at=timezone.now()):
        record_own(by, ActKind.COPY, "feed_revoked", feed.get_scope_display())


def note_feed_read(*, feed: CalendarFeed) -> None:
    """Write into its member's record, once a day, that whoever holds a feed's address has read it."""
    subject = f"feed:{feed.pk}"
    if has_act_on(feed.member, subject=subject, field="feed_read", on=timezone.localdate()):
        return
    words = feed.get_scope_display()
    record_act(
        by=None, kind=ActKind.COPY, concerns=feed.member, subject=subject, field="feed_read", now=words, is_mailed=False
    )
