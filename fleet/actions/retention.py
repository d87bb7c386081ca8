"""How long the fleet keeps what it told whom, and what it keeps of the cars themselves."""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from typing import NamedTuple

from django.db.models import Exists, Max, OuterRef
from django.utils import timezone

from config.housekeeping import A_YEAR_AND_MORE, MOST_IN_A_NIGHT, STORAGE_LIMITATION, Kept, delete_some
from config.outbox import UNSENT
from config.whole_files import sweep_files_of_none
from fleet.actions.acts import BACKUP, DRILL
from fleet.models import CalendarFeed, DueItem, DutyTurn, Notice, Photo, ReminderMail, ReminderRun
from fleet.queries.duty import last_turn
from fleet.queries.notifications import last_finished_run

_FEEDS = timedelta(days=90)
_PHOTOS_FOLDER = "photos"


class Occurrence(NamedTuple):
    """What all notices of one occurrence share, whatever their step and recipient."""

    car_id: int | None
    member_id: int | None
    kind: str
    occurrence: str


def _clean_notices(now: datetime) -> int:
    """Delete what was told of occurrences of which nothing can be told again, and the mails that told nothing else.

    A notice is what keeps a step from being told twice. The steps of a day that is past only go on, so those of which
    nobody has heard for a year and more cannot come again. Two sorts can, and their notices stay: those of a mileage
    may, as its day is a forecast; that no backup is made, or none restored, is told once, however long that lasts.
    """
    before = timezone.localdate(now) - A_YEAR_AND_MORE
    due_days, count = _open_due_days(), 0
    for old in _not_heard_of_since(before):
        if not _may_come_again(old, due_days):
            count += delete_some(Notice.objects.filter(**old._asdict(), mail__day__lt=before))
        if count >= MOST_IN_A_NIGHT:
            break
    of_notices = Notice.objects.filter(mail=OuterRef("pk"))
    done = ReminderMail.objects.filter(~Exists(of_notices), day__lt=before).exclude(state__in=UNSENT)
    return count + delete_some(done)


def _not_heard_of_since(day: date) -> list[Occurrence]:
    last = Notice.objects.order_by().values_list(*Occurrence._fields).annotate(last=Max("mail__day"))
    return [Occurrence(*row[:4]) for row in last.filter(last__lt=day).order_by(*Occurrence._fields)]


def _open_due_days() -> dict[tuple[object, ...], str]:
    """The due day of each open item, by car, member and kind; a subject has one of each kind."""
    items = DueItem.objects.filter(closed_on__isnull=True).values_list("car_id", "member_id", "kind", "due_on")
    return {tuple(about): str(due_on) for *about, due_on in items}


def _may_come_again(told: Occurrence, due_days: Mapping[tuple[object, ...], str]) -> bool:
    if told.kind in (BACKUP, DRILL):
        return True
    due_on = due_days.get(told[:3])
    return due_on is not None and (told.occurrence == due_on or told.occurrence.endswith(" miles"))


def _clean_runs(now: datetime) -> int:
    """Delete what was noted of old runs and of turns of duty, but never the last: the next is held against it."""
    before, last, turn = now - A_YEAR_AND_MORE, last_finished_run(), last_turn()
    runs = ReminderRun.objects.filter(started_at__lt=before).exclude(pk__in=[last.pk] if last else [])
    turns = DutyTurn.objects.filter(turned_at__lt=before).exclude(state__in=UNSENT)
    return delete_some(runs) + delete_some(turns.exclude(pk__in=[turn.pk] if turn else []))


def _clean_feeds(now: datetime) -> int:
    return delete_some(CalendarFeed.objects.filter(revoked_at__lt=now - _FEEDS))


def _clean_photos(now: datetime) -> int:
    return sweep_files_of_none(_PHOTOS_FOLDER, lambda: set(Photo.objects.values_list("image", flat=True)), now)


def _rows() -> Iterator[Kept]:
    yield Kept(
        "cars",
        "Cars, their keepers and odometers, due items and how each was met, walkaround checks, defects with their "
        "photos, tyres; and what each of these was before it was changed",
        "As long as the book is kept",
        "A car's history is what shows that it was safe to teach in. Whoever takes it over needs it too.",
    )
    yield Kept(
        "notices",
        "What was told to whom, and the e-mails that told it",
        f"{A_YEAR_AND_MORE.days} days after the last word about the same due day; longer while it could be told again",
        "Each step is told once, and these rows are how the book knows. After a year and a month nobody asks any more "
        "what came last time.",
        STORAGE_LIMITATION,
        _clean_notices,
    )
    yield Kept(
        "runs",
        "Notes that the reminders were sent, or could not be",
        f"{A_YEAR_AND_MORE.days} days; the last one always",
        "By the last one everybody sees whether members are being told.",
        STORAGE_LIMITATION,
        _clean_runs,
    )
    yield Kept(
        "feeds",
        "Calendar addresses that were switched off",
        f"{_FEEDS.days} days",
        "Only a check sum of the address is kept, by which nobody can read. The record says when it was switched off.",
        STORAGE_LIMITATION,
        _clean_feeds,
    )
    yield Kept(
        "photos",
        "Photos of papers and defects whose entry was never saved",
        "1 day",
        "A photo is written before its entry; if that is refused, nobody can see it.",
        STORAGE_LIMITATION,
        _clean_photos,
    )


#: What the book keeps of its cars, and of what it told about them.
OF_CARS = tuple(_rows())
