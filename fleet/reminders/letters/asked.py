"""A coordinator's reminder to one keeper: everything that needs doing."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from config.site import address_of, site_url
from fleet.core import registration as marks
from fleet.core.defects import Severity
from fleet.core.due import State
from fleet.models import ReminderMail
from fleet.queries import CarDue, DueLine, cars_of, due_report
from fleet.reminders.letters.ahead import stopped_words
from fleet.reminders.letters.parts import Letter, and_more, mail_item
from fleet.wording import reason_words

#: What falls due later than this many days from now is left out.
ASKED_WITHIN = 30


class _OpenDefect(NamedTuple):
    of: str
    description: str
    severity: str
    found_on: date
    link: str


class _Stopped(NamedTuple):
    of: str
    reasons: list[str]


def asked_letter(mail: ReminderMail, on: date) -> Letter | None:
    """What is overdue, unknown or due within a month, and every open defect of the keeper's cars.

    A booked item is in hand and left out. Because a person asks, it also goes to members who want no reminders.
    """
    report = due_report(on, cars=cars_of(mail.recipient, on), members=[mail.recipient])
    items = [mail_item(line) for line in report.lines() if _is_to_be_seen_to(line)]
    defects = _open_defects(report.cars)
    stopped = [
        _Stopped(marks.show(due.registration), [reason_words(reason) for reason in due.reasons])
        for due in report.cars
        if due.off_the_road
    ]
    subjects = [*(f"{one.of}: {one.description}" for one in defects), *(one.brief for one in items)]
    if not (subjects or stopped):
        return None
    asker = mail.asked_by.name if mail.asked_by else "A coordinator"
    worst = subjects[0] if subjects else stopped[0].of
    context = {
        "recipient": mail.recipient,
        "asker": asker,
        "items": items,
        "defects": defects,
        "stopped": stopped,
        "stopped_words": stopped_words(one.of for one in stopped),
        "days": ASKED_WITHIN,
        "subject": f"{asker} asks you to deal with {worst}{and_more(len(subjects[1:]))}",
        "site_url": site_url(),
    }
    return Letter("fleet/mail/asked", context)


def _is_to_be_seen_to(line: DueLine) -> bool:
    days_left = line.status.days_left
    return line.status.state is not State.BOOKED and (days_left is None or days_left <= ASKED_WITHIN)


def _open_defects(cars: Iterable[CarDue]) -> list[_OpenDefect]:
    """The open defects of all the cars, worst first: the subject names the first."""
    found = [(due, defect) for due in cars for defect in due.condition.defects]
    found.sort(key=lambda pair: list(Severity).index(pair[1].severity))
    return [
        _OpenDefect(
            marks.show(due.registration),
            defect.description,
            defect.severity.words,
            defect.found_on,
            address_of("fleet:defect", defect.key),
        )
        for due, defect in found
    ]
