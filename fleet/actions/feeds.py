"""Opening and closing the secret addresses at which a calendar program reads what falls due."""

import secrets

from django.core.exceptions import ValidationError
from django.utils import timezone

from fleet.models import CalendarFeed
from fleet.queries import scopes_open_to
from instructors.models import Member
from instructors.queries import token_digest


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
    return feed, token


def revoke_feed(*, by: Member, feed: CalendarFeed) -> None:
    """Let a member's own feed stop working. Again, it changes nothing."""
    CalendarFeed.objects.filter(pk=feed.pk, member=by, revoked_at__isnull=True).update(revoked_at=timezone.now())
