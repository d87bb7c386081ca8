"""A coordinator's reminder to one keeper: everything that needs doing."""

from collections.abc import Iterator
from datetime import date

from config.look.mail import sign
from config.showing import day
from config.site import address_of, site_url
from fleet.core import registration as marks
from fleet.core.defects import CONSEQUENCES, OpenDefect
from fleet.core.due import State
from fleet.models import ReminderMail
from fleet.queries import CarDue, DueLine, DueReport, Subject, cars_of, due_report
from fleet.reminders.letters.ahead import standing
from fleet.reminders.letters.head import head_of
from fleet.reminders.letters.parts import Entry, Letter, MailItem, Way, item_of_line, items_of
from fleet.reminders.letters.phrases import and_more
from fleet.reminders.matters import line_severity, matters, severity

#: What falls due later than this many days from now is left out.
ASKED_WITHIN = 30
#: After what stops a car, and after due items.
_WATCHED = (2,)


def asked_letter(mail: ReminderMail, on: date) -> Letter | None:
    """What is overdue, unknown or due within a month, and every open defect of the keeper's cars.

    A booked item is in hand and left out, unless it is overdue. Because a person asks, it also goes to members who want
    no reminders.
    """
    report = due_report(on, cars=cars_of(mail.recipient, on), members=[mail.recipient])
    entries = sorted(_entries(report), key=lambda entry: entry.rank)
    if not entries:
        return None
    asker = mail.asked_by.name if mail.asked_by else "A coordinator"
    head, items = head_of(report, mail.recipient), [item for entry in entries for item in entry.items]
    stands = head.subject or standing(entries[0].subject, entries[0].line, report, mail.recipient)
    context = {
        "recipient": mail.recipient,
        "asker": asker,
        "items": items,
        "head": head,
        "verdict": stands,
        "days": ASKED_WITHIN,
        "subject": f"{asker} asks you to act. {stands}{and_more(len(items) - 1)}",
        "site_url": site_url(),
    }
    return Letter("fleet/mail/asked", context)


def _entries(report: DueReport) -> Iterator[Entry]:
    """Everything to be seen to."""
    for matter in matters(report, {}):
        if matter.line is None:
            yield Entry(severity(matter), matter.subject, None, items_of(matter))
    for line in report.lines():
        if _is_to_be_seen_to(line):
            yield Entry(line_severity(line), line.subject, line, [item_of_line(line)])
    for due in report.cars:
        if watched := [_watched(due, defect) for defect in due.condition.defects if not defect.severity.stops_car]:
            yield Entry(_WATCHED, Subject(due.car.keeper, due.car), None, watched)


def _is_to_be_seen_to(line: DueLine) -> bool:
    state, days_left = line.status.state, line.status.days_left
    if state is State.UNKNOWN or days_left is None:
        return True
    return state is not State.BOOKED and days_left <= ASKED_WITHIN


def _watched(due: CarDue, defect: OpenDefect) -> MailItem:
    """A defect that stops nothing yet."""
    return MailItem(
        sign=sign("due"),
        of=marks.show(due.registration),
        title=f"{defect.severity.words}: {defect.description}",
        said=(f"Found on {day(defect.found_on)}.",),
        to_do=CONSEQUENCES[defect.severity].to_do,
        link=address_of("fleet:car", due.registration),
        ways=(Way("See the defect", address_of("fleet:defect", defect.key)),),
    )
