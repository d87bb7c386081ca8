"""Plans which steps are to be told, and puts them in each recipient's mail of the day."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import date
from typing import NamedTuple

from django.db import transaction
from django.utils import timezone

from config.history import lock
from fleet.actions import ensure_due_item
from fleet.models import MailKind, MailState, Notice, ReminderMail
from fleet.queries import due_report
from fleet.reminders.matters import Matter, NoticeKey, matters
from fleet.reminders.nudges import nudges
from fleet.reminders.outbox import mails_to_send, supersede_earlier
from fleet.reminders.unknowns import note_unknowns
from instructors.models import Member
from instructors.queries import active_members, coordinators


class Reached(NamedTuple):
    """Something that one recipient should know about by now, by the key of its notice; ``matter`` if it is one."""

    key: NoticeKey
    recipient: Member
    matter: Matter | None = None


class Plan(NamedTuple):
    """The result of one plan: mails to deliver now, how many notices it added, how many matters were told before."""

    mail_ids: list[int]
    new_count: int
    already_told_count: int


@transaction.atomic
def plan_reminders(on: date, recipients: Collection[Member] | None = None) -> Plan:
    """Add a notice for each step reached by ``on`` and not told yet to its recipient's mail of the day.

    It plans for everybody, or for the ``recipients`` given. If the day's mail has already gone, new notices wait for
    the next day's. Two plans at once have the effect of one.
    """
    supersede_earlier(on)
    report = due_report(on)
    reached = _reached(matters(report, note_unknowns(report)), on)
    if recipients is not None:
        reached = [one for one in reached if one.recipient in recipients]
    quiet = nudges(on, active_members(on) if recipients is None else recipients)
    reached += [Reached(nudge.key, nudge.recipient) for nudge in quiet]
    notices = Notice.objects.filter(occurrence__in={_occurrence(one) for one in reached})
    keys = ("car_id", "member_id", "kind", "occurrence", "step", "recipient_id")
    told: set[NoticeKey] = set(notices.exclude(mail__state=MailState.QUEUED).values_list(*keys))
    known: set[NoticeKey] = told | set(notices.values_list(*keys))
    by_recipient: dict[int, list[Reached]] = defaultdict(list)
    for one in reached:
        if one.key not in known:
            by_recipient[one.recipient.pk].append(one)
    # Always in the same order, so that two plans at once cannot deadlock.
    new_count = sum(_put_in_mail(by_recipient[pk], on) for pk in sorted(by_recipient))
    mail_ids = mails_to_send(on, kinds=[MailKind.REMINDER], at_once=True)
    return Plan(mail_ids, new_count, sum(one.key in told for one in reached if one.matter))


def _occurrence(one: Reached) -> str:
    return one.key[3]


def _reached(found: Iterable[Matter], on: date) -> list[Reached]:
    overseers = coordinators(on)
    return [
        Reached(matter.key_for(recipient), recipient, matter)
        for matter in found
        for recipient in _recipients(matter.subject.member, overseers, on)
        if matter.concerns(recipient)
    ]


def _recipients(subject: Member, overseers: Iterable[Member], on: date) -> list[Member]:
    told_first = [subject] if subject.belongs_on(on) else []
    return told_first + [member for member in overseers if member != subject]


def _put_in_mail(wanted: list[Reached], on: date) -> int:
    """Add notices to their recipient's mail of the day; returns how many, 0 if that mail has gone."""
    recipient = wanted[0].recipient
    mail, _ = ReminderMail.objects.get_or_create(recipient=recipient, day=on, kind=MailKind.REMINDER, about="")
    mail = lock(mail)
    if mail.state == MailState.SUPERSEDED:
        # Dropped earlier today when nothing in it was true any more: it never went out, so it can be used again.
        mail.state, mail.next_attempt_at, mail.attempt_count = MailState.QUEUED, timezone.now(), 0
        mail.save(update_fields=["state", "next_attempt_at", "attempt_count"])
    if mail.state != MailState.QUEUED:
        return 0
    before = mail.notices.count()
    # Another plan may have just written some of them into the same mail.
    Notice.objects.bulk_create([_notice(one, mail) for one in wanted], ignore_conflicts=True)
    return mail.notices.count() - before


def _notice(one: Reached, mail: ReminderMail) -> Notice:
    line = one.matter.line if one.matter else None
    if line and line.item_id is None and line.status.due_on:
        # A first MOT that is due by rule has no row yet, and booking it from the mail needs one.
        ensure_due_item(by=None, kind=line.kind.name, car=line.subject.car)
    car_id, member_id, kind, occurrence, step, _ = one.key
    return Notice(
        car_id=car_id,
        member_id=member_id,
        kind=kind,
        occurrence=occurrence,
        step=step,
        recipient=one.recipient,
        mail=mail,
    )
