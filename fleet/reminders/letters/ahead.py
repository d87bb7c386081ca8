"""How that stands which a mail tells first, and what lies ahead in the twelve weeks from the day it is sent."""

from collections.abc import Iterable
from typing import NamedTuple

from config.look.mail import sign
from config.showing import in_words, unbroken
from fleet.core import registration as marks
from fleet.core.due import State
from fleet.core.verdict import Verdict
from fleet.queries import CarDue, DueLine, DueReport, Subject
from fleet.reminders.letters.phrases import begun_small, listed
from fleet.wording import sentence, verdict_words
from instructors.models import Member

_WEEKS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
WEEKS = (*_WEEKS, "eleventh", "twelfth")


class Road(NamedTuple):
    """The weeks from today: a sign for each, empty where nothing falls due, and the same in words."""

    signs: list[str]
    words: str


def standing(subject: Subject, line: DueLine | None, report: DueReport, recipient: Member) -> str:
    """How the car, or the credential of ``line``, stands that comes first in a mail, without the full stop.

    Of a car it is the one verdict that the book shows everywhere.
    """
    if subject.car is not None:
        return _car_standing(next(due for due in report.cars if due.car == subject.car), report)
    if line is None:
        raise ValueError("only a car is off the road")
    words = sentence(line.title, line.status, report.on)
    return f"Your {words}" if subject.member == recipient else f"{subject.words}: {words}"


def more_words(count: int) -> str:
    """How many more things there are, as a sentence after another: " One more thing needs seeing to."; or nothing."""
    if not count:
        return ""
    return f" {in_words(count).capitalize()} more thing{' needs' if count == 1 else 's need'} seeing to."


def road(lines: Iterable[DueLine], are_several: bool) -> Road:
    """What falls due in the twelve weeks, of the lines of one recipient.

    Each is named with its car or person if the mail speaks of several.
    """
    by_week: dict[int, list[DueLine]] = {week: [] for week in range(len(WEEKS))}
    for line in lines:
        days_left = line.status.days_left
        if days_left is not None and days_left >= 0 and days_left // 7 in by_week:
            by_week[days_left // 7].append(line)
    busy = {week: found for week, found in by_week.items() if found}
    one_of = not are_several and len({line.subject.key for found in busy.values() for line in found}) == 1
    parts = [f"{listed([_named(line, one_of) for line in found])} in the {WEEKS[week]}" for week, found in busy.items()]
    if not parts:
        return Road([""] * len(WEEKS), "Nothing that is recorded falls due in the twelve weeks from today.")
    signs = [line_sign(found[0]) if found else "" for found in by_week.values()]
    return Road(signs, f"Twelve weeks from today: {', '.join(parts)}.")


def line_sign(line: DueLine) -> str:
    """The sign of an item's state, as mails show it."""
    status = line.status
    is_stopping = line.kind.stops_car and status.state is State.OVERDUE
    return sign("off" if is_stopping else status.state, status.days_left, line.kind.notice_days)


def _car_standing(due: CarDue, report: DueReport) -> str:
    mark = unbroken(marks.show(due.registration))
    words = verdict_words(due.verdict, marks.show(due.registration), due.titles, report.on)
    if mark in words:
        return words
    if due.verdict.verdict is Verdict.NOT_KNOWN:
        return f"{mark}, {begun_small(words)}"
    return f"{mark}: {words}"


def _named(line: DueLine, one_of: bool) -> str:
    name = line.kind.words_within if line.title == line.kind.words else line.title
    return name if one_of else f"{name} of {line.subject.words}"
