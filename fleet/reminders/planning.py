"""Which steps are reached, and whose mail tells them."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date
from typing import NamedTuple

from django.db import transaction
from django.utils import timezone

from config.history import lock
from fleet.actions import ensure_due_item
from fleet.core.due import State, occurrence, reached_step
from fleet.models import MailKind, MailState, Notice, ReminderMail
from fleet.queries import DueLine, DueReport, due_report
from fleet.reminders.outbox import mails_to_send, supersede_earlier
from instructors.models import Member
from instructors.queries import coordinators

#: Coordinators hear of other members' items only this close to the day.
COORDINATORS_FROM = 7

NoticeKey = tuple[int | None, str, int, int]


class Reached(NamedTuple):
    """One step of one due item that one recipient should have been told by now."""

    line: DueLine
    step: int
    recipient: Member

    @property
    def key(self) -> NoticeKey:
        return self.line.item_id, occurrence(self.line.status), self.step, self.recipient.pk


class Plan(NamedTuple):
    """What one planning came to: mails to be delivered now, notices it added, and those told before."""

    mail_ids: list[int]
    new_count: int
    already_told_count: int


def step_for(line: DueLine, recipient: Member) -> int | None:
    """The step of the item that ``recipient`` is to be told now; None while there is nothing to say.

    A booked item is quiet until the booked day is over, and of their own a member may want to hear only what
    the law asks for. Whether the recipient has left is not asked here.
    """
    if line.status.days_left is None or line.status.state is State.BOOKED:
        return None
    kind = line.kind
    step = reached_step(line.status.days_left, kind.stops_car, kind.notice_days)
    if step is None:
        return None
    if line.subject.member == recipient:
        return step if recipient.wants_due_mail or kind.is_legal else None
    return step if recipient.is_coordinator and step <= COORDINATORS_FROM else None


@transaction.atomic
def plan_reminders(on: date, recipients: Collection[Member] | None = None) -> Plan:
    """Write a notice for each step reached by ``on`` and not told yet, into its recipient's mail of the day.

    To everybody, or to the ``recipients`` given. Where that mail has gone already, new notices wait for the
    next day's. Two plans at once make one.
    """
    supersede_earlier(on)
    reached = _reached_steps(due_report(on), on)
    if recipients is not None:
        reached = [one for one in reached if one.recipient in recipients]
    notices = Notice.objects.filter(due_item__in={one.line.item_id for one in reached if one.line.item_id})
    keys = ("due_item_id", "occurrence", "step", "recipient_id")
    told: set[NoticeKey] = set(notices.exclude(mail__state=MailState.QUEUED).values_list(*keys))
    known: set[NoticeKey] = told | set(notices.values_list(*keys))
    by_recipient: dict[int, list[Reached]] = defaultdict(list)
    for one in reached:
        if one.key not in known:
            by_recipient[one.recipient.pk].append(one)
    # In one order, so that two plans at once wait for each other's rows and never in a ring.
    new_count = sum(_put_in_mail(by_recipient[pk], on) for pk in sorted(by_recipient))
    mail_ids = mails_to_send(on, kinds=[MailKind.REMINDER], at_once=True)
    return Plan(mail_ids, new_count, sum(one.key in told for one in reached))


def _reached_steps(report: DueReport, on: date) -> list[Reached]:
    overseers = coordinators(on)
    return [
        Reached(line, step, recipient)
        for line in report.lines()
        for recipient in _recipients(line.subject.member, overseers, on)
        if (step := step_for(line, recipient)) is not None
    ]


def _recipients(subject: Member, overseers: Iterable[Member], on: date) -> list[Member]:
    told_first = [subject] if subject.belongs_on(on) else []
    return told_first + [member for member in overseers if member != subject]


def _put_in_mail(wanted: list[Reached], on: date) -> int:
    """Add notices to their recipient's mail of the day; how many were added, 0 if that mail has gone."""
    recipient = wanted[0].recipient
    mail, _ = ReminderMail.objects.get_or_create(recipient=recipient, day=on, kind=MailKind.REMINDER, about="")
    mail = lock(mail)
    if mail.state == MailState.SUPERSEDED:
        # Given up earlier today when nothing in it stood any more: it never went out, so it serves again.
        mail.state, mail.next_attempt_at, mail.attempt_count = MailState.QUEUED, timezone.now(), 0
        mail.save(update_fields=["state", "next_attempt_at", "attempt_count"])
    if mail.state != MailState.QUEUED:
        return 0
    before = mail.notices.count()
    # Another plan may have written some of them a moment ago, in this same mail.
    Notice.objects.bulk_create([_notice(one, mail) for one in wanted], ignore_conflicts=True)
    return mail.notices.count() - before


def _notice(one: Reached, mail: ReminderMail) -> Notice:
    item_id = one.line.item_id
    if item_id is None:
        # A first MOT that is due by rule: the notice needs a row to hang on.
        item_id = ensure_due_item(by=None, kind=one.line.kind.name, car=one.line.subject.car).pk
    return Notice(
        due_item_id=item_id,
        occurrence=occurrence(one.line.status),
        step=one.step,
        recipient=one.recipient,
        mail=mail,
    )
