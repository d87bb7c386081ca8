"""The reminder of the day: a member's own things, and for a coordinator the group's."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from config.site import address_of, site_url
from fleet.models import Notice, ReminderMail
from fleet.queries import DueLine, DueReport, cars_of, due_report
from fleet.reminders.letters.ahead import more_words, road, standing
from fleet.reminders.letters.head import Head, head_of
from fleet.reminders.letters.log import log_letter, nudge_context
from fleet.reminders.letters.parts import Entry, Letter, ToldStep, item_of_line, items_of
from fleet.reminders.letters.phrases import and_more
from fleet.reminders.matters import (
    COORDINATORS_FROM,
    Matter,
    is_told_unknown,
    key_of,
    lapsed_licences,
    line_severity,
    matters,
    severity,
)
from fleet.reminders.nudges import Nudge, nudges
from fleet.reminders.unknowns import unknown_since
from instructors.models import Member


def due_letter(mail: ReminderMail, on: date) -> Letter | None:
    """The notices of the mail that are still true; the others, which nobody was told, are dropped.

    If all that is left is a word that nothing was logged, the mail says that alone.
    """
    report = _report_for(mail.recipient, on)
    told, nudge = _drop_fallen(mail, matters(report, unknown_since()), nudges(on, [mail.recipient]))
    if told:
        context = _context(mail.recipient, told, report) | nudge_context(nudge)
        return Letter("fleet/mail/reminder", context, tuple(_told(matter, mail.recipient) for matter in told))
    return log_letter(nudge) if nudge else None


def _report_for(recipient: Member, on: date) -> DueReport:
    """What the recipient may be told, as of now."""
    if recipient.is_coordinator:
        return due_report(on)
    return due_report(on, cars=cars_of(recipient, on), members=[recipient])


def _drop_fallen(
    mail: ReminderMail, standing_now: Iterable[Matter], quiet: Iterable[Nudge]
) -> tuple[list[Matter], Nudge | None]:
    """What the mail's notices tell and still holds, worst first, and the word to log; other notices are deleted.

    Since the plan an item may have been met, booked or postponed, a defect put right, and the car may have left service
    or been handed over. If nothing is left, the caller drops the whole mail with its notices.
    """
    recipient = mail.recipient
    holding = {matter.key_for(recipient): matter for matter in standing_now if matter.concerns(recipient)}
    words = {nudge.key: nudge for nudge in quiet}
    notices = {key_of(notice): notice.pk for notice in mail.notices.all()}
    told, nudge = [holding[key] for key in notices if key in holding], [words[key] for key in notices if key in words]
    fallen = [pk for key, pk in notices.items() if key not in holding and key not in words]
    if fallen and (told or nudge):
        Notice.objects.filter(pk__in=fallen).delete()
    return sorted(told, key=severity), next(iter(nudge), None)


def _told(matter: Matter, recipient: Member) -> ToldStep:
    return ToldStep(recipient.email, matter.kind, matter.subject.key, matter.told.due_on, matter.told.step)


def _context(recipient: Member, told: list[Matter], report: DueReport) -> dict[str, Any]:
    """What the templates need: what heads the mail, the recipient's own things, and a coordinator's list."""
    own = _own(told, recipient)
    group = _group(own, report) if recipient.is_coordinator else []
    head, lapsed = head_of(report, recipient), lapsed_licences(report)
    more = sum(not (entry.line in lapsed or item.is_off_the_road) for entry in (*own, *group) for item in entry.items)
    are_several, stands = _are_several(own, group, head), head.subject
    if not stands:
        first, more = (own or group)[0], more - 1
        stands = standing(first.subject, first.line, report, recipient)
    return {
        "recipient": recipient,
        "head": head,
        "own": [item for entry in own for item in entry.items],
        "own_are_several": are_several,
        "group": [item for entry in group for item in entry.items],
        "verdict": f"{stands}.{more_words(more)}",
        "road": road((line for line in report.lines() if line.subject.member == recipient), are_several)
        if own
        else None,
        "subject": f"{stands}{and_more(more)}",
        "days": COORDINATORS_FROM,
        "board_link": address_of("fleet:car-list"),
        "site_url": site_url(),
    }


def _lines_of(recipient: Member, report: DueReport) -> list[DueLine]:
    return [line for line in report.lines() if line.subject.member == recipient]


def _are_several(own: list[Entry], group: list[Entry], head: Head) -> bool:
    """Whether the mail speaks of more than one car or person, so that each thing must be named with its own."""
    spoken_of = {entry.subject.words for entry in (*own, *group)} | {car.of for car in head.stopped}
    return len(spoken_of) > 1


def _own(told: list[Matter], recipient: Member) -> list[Entry]:
    """What is told of the recipient's own, worst first; what is told by its day and as not known is listed once."""
    own = {
        (matter.subject.key, matter.kind, "" if matter.line else matter.told.occurrence): matter
        for matter in told
        if matter.subject.member == recipient
    }
    return [Entry(severity(matter), matter.subject, matter.line, items_of(matter)) for matter in own.values()]


def _group(own: list[Entry], report: DueReport) -> list[Entry]:
    """What a coordinator looks after, told before or not, besides what heads the mail.

    It is all that is overdue, not known, or due within a week.
    """
    listed = {(entry.subject.key, entry.line.kind.name) for entry in own if entry.line}
    lapsed = lapsed_licences(report)
    found = [
        Entry(line_severity(line), line.subject, line, [item_of_line(line)])
        for line in report.lines()
        if _concerns_coordinators(line) and line not in lapsed and (line.subject.key, line.kind.name) not in listed
    ]
    return sorted((entry for entry in found if not entry.items[0].is_off_the_road), key=lambda entry: entry.rank)


def _concerns_coordinators(line: DueLine) -> bool:
    days_left = line.status.days_left
    return is_told_unknown(line) or (days_left is not None and days_left <= COORDINATORS_FROM)
