"""The calendar feeds: whose they are, what they hold, and how often that has changed."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, date, datetime

from django.db.models import Count, Max, Q
from django.shortcuts import get_object_or_404

from fleet.models import CalendarFeed, Car, DueItem, FeedScope
from fleet.queries.access import cars_of
from fleet.queries.due import DueLine, DueReport, due_report
from instructors.models import Member
from instructors.queries import token_digest

#: For rows without a history, such as those loaded from an archive.
_UNTOLD = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Revision:
    """How often a record was changed, and when last. Neither ever goes down."""

    number: int = 0
    at: datetime = _UNTOLD

    def __add__(self, other: "Revision") -> "Revision":
        return Revision(self.number + other.number, max(self.at, other.at))


def scopes_open_to(member: Member) -> list[FeedScope]:
    """The scopes of feed that ``member`` may have: the group's is for coordinators."""
    return [FeedScope.OWN, FeedScope.GROUP] if member.is_coordinator else [FeedScope.OWN]


def feeds_in_use(member: Member) -> dict[str, CalendarFeed]:
    """The member's feeds whose addresses work, by scope."""
    feeds = CalendarFeed.objects.filter(member=member, revoked_at__isnull=True, scope__in=scopes_open_to(member))
    return {feed.scope: feed for feed in feeds}


def feed_for(member: Member, pk: int) -> CalendarFeed:
    """A feed of the member's own, in use or not; Http404 if it is not theirs."""
    return get_object_or_404(CalendarFeed, member=member, pk=pk)


def feed_by(token: str, on: date) -> CalendarFeed | None:
    """The feed at this secret address, as long as its owner is a member and may see what it holds.

    The secret is looked up by its digest, so that the time it takes says nothing about any other secret.
    """
    feeds = CalendarFeed.objects.select_related("member").filter(revoked_at__isnull=True)
    feed = feeds.filter(token_digest=token_digest(token)).first()
    if feed is None or not feed.member.belongs_on(on) or feed.scope not in scopes_open_to(feed.member):
        return None
    return feed


def report_in(scope: str, member: Member, on: date) -> DueReport:
    """What falls due in that scope: on the member's own cars and of their own, or on all and of all."""
    if scope == FeedScope.GROUP:
        return due_report(on)
    return due_report(on, cars=cars_of(member, on), members=[member])


def revisions_of(lines: Collection[DueLine]) -> dict[tuple[str, str], Revision]:
    """The revision of each due item, by subject's key and kind.

    Changes of the car itself count too, since an MOT may follow from them, and so do earlier items of the same kind
    and subject, since a later one replaces them.
    """
    cars = {line.subject.car.pk for line in lines if line.subject.car}
    people = {line.subject.member.pk for line in lines if not line.subject.car}
    counts = {"number": Count("history_id"), "at": Max("history_date")}
    of_car = {
        pk: Revision(number, at)
        for pk, number, at in Car.history.filter(id__in=cars).order_by().values_list("id").annotate(**counts)
    }
    rows = DueItem.history.filter(Q(car_id__in=cars) | Q(member_id__in=people)).order_by()
    of_item = {
        tuple(key): Revision(number, at)
        for *key, number, at in rows.values_list("car_id", "member_id", "kind").annotate(**counts)
    }
    return {
        (line.subject.key, line.kind.name): of_car.get(car.pk if car else 0, Revision())
        + of_item.get((car.pk if car else None, None if car else line.subject.member.pk, line.kind.name), Revision())
        for line in lines
        for car in [line.subject.car]
    }
