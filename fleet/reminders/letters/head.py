"""What heads a mail: cars off the road, for whatever reason, and teachers who may give no paid lessons."""

from collections.abc import Iterable
from typing import NamedTuple

from config.showing import on_one_line, unbroken
from config.site import address_of
from fleet.core import registration as marks
from fleet.core.law import left_by_law
from fleet.queries import CarDue, DueLine, DueReport
from fleet.reminders.letters.phrases import begun_small, listed
from fleet.reminders.matters import lapsed_licences
from fleet.wording import reason_words, sentence
from instructors.models import Member

#: A subject names no more cars than this; the mail names all.
_MARKS_NAMED = 6
#: Nor more of a reason than so many characters.
_REASON_LENGTH = 110


class StoppedCar(NamedTuple):
    """A car off the road with all its reasons, worst first, and what the law leaves of it.

    Of the recipient's own ``keeper`` is empty; of others' cars ``law`` is.
    """

    of: str
    keeper: str
    reasons: list[str]
    law: list[str]
    link: str


class Head(NamedTuple):
    """What heads a mail, worst first; ``lapsed`` are sentences without their full stop."""

    stopped: list[StoppedCar]
    lapsed: list[str]

    @property
    def words(self) -> str:
        """That these cars are off the road, in a sentence; empty if there are none."""
        return stopped_words(car.of for car in self.stopped)

    @property
    def subject(self) -> str:
        """The same for a subject, with the worst reason of the worst car; empty if nothing heads the mail."""
        stopped, lapsed = _stopped_briefly(self.stopped), self.lapsed[0] if self.lapsed else ""
        return f"{stopped}; {begun_small(lapsed)}" if stopped and lapsed else stopped or lapsed


def head_of(report: DueReport, recipient: Member) -> Head:
    """What heads a mail to ``recipient``, by a report of all that they may be told of."""
    stopped = [_stopped(due, recipient) for due in report.cars if due.off_the_road]
    lapsed = sorted(lapsed_licences(report), key=lambda line: line.subject.member != recipient)
    return Head(stopped, [_lapsed(line, report, recipient) for line in lapsed])


def stopped_words(shown_marks: Iterable[str]) -> str:
    """That these cars are off the road, in a sentence; empty if there are none."""
    cars = [unbroken(mark) for mark in dict.fromkeys(shown_marks)]
    if not cars:
        return ""
    are, them = ("is", "it") if len(cars) == 1 else ("are", "them")
    return f"{listed(cars)} {are} off the road: no lesson may be given in {them} until this is put right."


def _stopped(due: CarDue, recipient: Member) -> StoppedCar:
    is_own = due.car.keeper == recipient
    return StoppedCar(
        marks.show(due.registration),
        "" if is_own else due.car.keeper.name,
        [reason_words(reason) for reason in due.reasons],
        [rule.words for rule in left_by_law(due.reasons)] if is_own else [],
        address_of("fleet:car", due.registration),
    )


def _lapsed(line: DueLine, report: DueReport, recipient: Member) -> str:
    why = sentence(line.title, line.status, report.on)
    if line.subject.member == recipient:
        return f"No paid lessons: your {why}"
    return f"No paid lessons by {line.subject.words}: {why}"


def _stopped_briefly(cars: list[StoppedCar]) -> str:
    """ "Off the road: QA51 ABC (MOT ran out on 13 March 2026), QB02 XYZ"; empty if there are none."""
    if not cars:
        return ""
    worst, *others = cars
    why = on_one_line(begun_small(worst.reasons[0]), longest=_REASON_LENGTH)
    if not others:
        return f"Off the road: {worst.of}, {why}"
    named = [f"{worst.of} ({why})", *(car.of for car in others[: _MARKS_NAMED - 1])]
    unnamed = len(cars) - len(named)
    return f"Off the road: {', '.join(named)}{f' and {unnamed} more cars' if unnamed else ''}"
