"""The reminder of the day: a member's own items, and for a coordinator the group's."""

from datetime import date
from typing import Any, NamedTuple

from config.site import address_of, site_url
from fleet.core.due import State, by_urgency, occurrence
from fleet.models import Notice, ReminderMail
from fleet.queries import DueLine, DueReport, cars_of, due_report
from fleet.reminders.letters.ahead import road, stopped_words, verdict
from fleet.reminders.letters.parts import Letter, MailItem, ToldStep, and_more, mail_item
from fleet.reminders.planning import COORDINATORS_FROM, step_for
from instructors.models import Member


class _ValidNotice(NamedTuple):
    notice: Notice
    line: DueLine


def due_letter(mail: ReminderMail, on: date) -> Letter | None:
    """The notices of the mail that are still true; the others, which nobody was told, are dropped."""
    report = _report_for(mail.recipient, on)
    valid = _drop_fallen(mail, report)
    if not valid:
        return None
    context = _context(mail.recipient, [one.line for one in valid], report)
    return Letter("fleet/mail/reminder", context, tuple(_told(one, mail.recipient) for one in valid))


def _report_for(recipient: Member, on: date) -> DueReport:
    """What the recipient may be told, as of now."""
    if recipient.is_coordinator:
        return due_report(on)
    return due_report(on, cars=cars_of(recipient, on), members=[recipient])


def _drop_fallen(mail: ReminderMail, report: DueReport) -> list[_ValidNotice]:
    """The notices that are still true, worst first; the others are deleted.

    Since the plan an item may have been met, booked or postponed, and its car may have left service or been
    handed over. If nothing is left, the caller drops the whole mail with its notices.
    """
    lines = {line.item_id: line for line in report.lines()}
    valid, fallen = [], []
    for notice in mail.notices.all():
        line = lines.get(notice.due_item_id)
        if (
            line is not None
            and notice.occurrence == occurrence(line.status)
            and step_for(line, mail.recipient) is not None
        ):
            valid.append(_ValidNotice(notice, line))
        else:
            fallen.append(notice.pk)
    if valid and fallen:
        Notice.objects.filter(pk__in=fallen).delete()
    order = list(lines)
    return sorted(valid, key=lambda one: (order.index(one.line.item_id), one.notice.step))


def _told(one: _ValidNotice, recipient: Member) -> ToldStep:
    line = one.line
    return ToldStep(recipient.email, line.kind.name, line.subject.key, line.status.due_on, one.notice.step)


def _context(recipient: Member, told: list[DueLine], report: DueReport) -> dict[str, Any]:
    """What the templates need. A coordinator's list holds all that is overdue or due within a week, told before or not.

    It also holds unknown items that could put a car off the road.
    """
    own = sorted((line for line in told if line.subject.member == recipient), key=lambda line: by_urgency(line.status))
    group = [line for line in report.lines() if _concerns_coordinators(line) and line not in own]
    items = [mail_item(line) for line in own]
    listed = [mail_item(line) for line in group] if recipient.is_coordinator else []
    stopped = [one for one in (*items, *listed) if one.is_off_the_road]
    also = len(items) + len(listed) - 1
    return {
        "recipient": recipient,
        "own": items,
        "group": listed,
        "off_the_road": stopped,
        "stopped_words": stopped_words(one.of for one in stopped),
        "verdict": verdict((own or group)[0], recipient, also),
        "road": road(line for line in report.lines() if line.subject.member == recipient) if own else None,
        "subject": _subject(items or listed, also),
        "days": COORDINATORS_FROM,
        "board_link": address_of("fleet:car-list"),
        "site_url": site_url(),
    }


def _concerns_coordinators(line: DueLine) -> bool:
    if line.status.state is State.UNKNOWN:
        return line.kind.stops_car
    return line.status.days_left is not None and line.status.days_left <= COORDINATORS_FROM


def _subject(items: list[MailItem], also: int) -> str:
    """A subject that names the worst item, and how many more there are."""
    worst = items[0]
    lead = "Off the road: " if worst.is_off_the_road else ""
    return f"{lead}{worst.brief}{and_more(also)}"
