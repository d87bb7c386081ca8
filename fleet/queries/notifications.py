"""Which mails were sent, which still wait, and which runs there were."""

from collections import Counter
from datetime import date, datetime, timedelta
from typing import NamedTuple

from django.db.models import Count
from django.utils import timezone

from fleet.models import Car, MailKind, MailState, Notice, ReminderMail, ReminderRun
from instructors.models import Member


class KindCount(NamedTuple):
    """How many mails of one kind were sent, are waiting, and were no longer needed when their turn came."""

    kind: MailKind
    sent: int
    waiting: int
    not_needed: int


def recent_runs(count: int = 14) -> list[ReminderRun]:
    """The latest runs of the reminders, newest first."""
    return list(ReminderRun.objects.all()[:count])


def last_finished_run() -> ReminderRun | None:
    """The reminder run that finished last; what a clock that was ahead noted counts from then on."""
    return ReminderRun.objects.filter(finished_at__lte=timezone.now()).order_by("-finished_at").first()


def unsent_mails() -> list[ReminderMail]:
    """The mails that are waiting or being sent, oldest first, with their recipients."""
    waiting = ReminderMail.objects.filter(state__in=[MailState.QUEUED, MailState.SENDING])
    return list(waiting.select_related("recipient").order_by("day", "pk"))


def mail_counts(since: date) -> list[KindCount]:
    """How many mails there were from ``since`` on, of each kind of which there were any."""
    rows = ReminderMail.objects.filter(day__gte=since).order_by().values_list("kind", "state").annotate(Count("pk"))
    counts = Counter({(kind, state): count for kind, state, count in rows})
    return [
        KindCount(
            kind,
            counts[kind, MailState.SENT],
            counts[kind, MailState.QUEUED] + counts[kind, MailState.SENDING],
            counts[kind, MailState.SUPERSEDED],
        )
        for kind in MailKind
        if any(counts[kind, state] for state in MailState)
    ]


def asked_mails(since: date) -> list[ReminderMail]:
    """The reminders that coordinators sent from ``since`` on, newest first, with sender and recipient."""
    asked = ReminderMail.objects.filter(kind=MailKind.ASKED, day__gte=since)
    return list(asked.select_related("recipient", "asked_by").order_by("-day", "-pk"))


#: One run a day, plus two hours for a server restarted at the wrong moment.
LATE_AFTER = timedelta(hours=26)


def first_car_recorded_at() -> datetime | None:
    """When the first of the cars came into the book; None if there is no car."""
    history = Car.history.filter(id__in=Car.objects.values("pk"))
    return history.order_by("history_date").values_list("history_date", flat=True).first()


def notices_to(member: Member) -> list[Notice]:
    """What a member was told, oldest first, each with its car and its mail."""
    return list(Notice.objects.filter(recipient=member).select_related("car", "mail").order_by("mail__day", "pk"))
