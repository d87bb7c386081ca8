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
from fleet.queries import CarDue, DueLine, DueReport, cars_of, due_report
from fleet.reminders.letters.head import head_of
from fleet.reminders.letters.parts import Letter, MailItem, Way, item_of_line, items_of
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
    items = [item for _, item in sorted(_ranked(report), key=lambda pair: pair[0])]
    if not items:
        return None
    asker = mail.asked_by.name if mail.asked_by else "A coordinator"
    head = head_of(report, mail.recipient)
    asks = (
        f"{asker} asks you to act. {head.subject}"
        if head.subject
        else f"{asker} asks you to deal with {items[0].brief}"
    )
    context = {
        "recipient": mail.recipient,
        "asker": asker,
        "items": items,
        "head": head,
        "days": ASKED_WITHIN,
        "subject": f"{asks}{and_more(len(items) - 1)}",
        "site_url": site_url(),
    }
    return Letter("fleet/mail/asked", context)


def _ranked(report: DueReport) -> Iterator[tuple[tuple[int, ...], MailItem]]:
    """Everything to be seen to, each with its sort key: worst first."""
    for matter in matters(report, {}):
        if matter.line is None:
            yield from ((severity(matter), item) for item in items_of(matter))
    for line in report.lines():
        if _is_to_be_seen_to(line):
            yield line_severity(line), item_of_line(line)
    for due in report.cars:
        yield from (
            (_WATCHED, _watched(due, defect)) for defect in due.condition.defects if not defect.severity.stops_car
        )


def _is_to_be_seen_to(line: DueLine) -> bool:
    days_left = line.status.days_left
    return line.status.state is not State.BOOKED and (days_left is None or days_left <= ASKED_WITHIN)


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
