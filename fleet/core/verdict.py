"""The one verdict on a car for lessons, and that on its teacher: what is recorded against them, worst first.

Whatever speaks of a car shows this verdict: pages, mails, lists on paper, the calendar and the commands.
"""

from collections.abc import Iterable
from enum import StrEnum
from typing import NamedTuple

from fleet.core.defects import OpenDefect
from fleet.core.due import DueStatus, State, by_urgency
from fleet.core.due_kinds import BY_GRAVITY, DUE_KINDS
from fleet.core.readiness import Condition, OffRoadReason, gravity, off_the_road_reasons


class Verdict(StrEnum):
    """Worst first. ``nothing_against`` means only that nothing is recorded against the car."""

    OFF_THE_ROAD = "off_the_road"
    NOT_KNOWN = "not_known"
    DUE = "due"
    NOTHING_AGAINST = "nothing_against"


class CarVerdict(NamedTuple):
    """The verdict, and what it rests on: reasons, worst first; else due items; else defects to keep an eye on.

    ``items`` are all that are not known, gravest first, or the one that falls due first.
    """

    verdict: Verdict
    reasons: tuple[OffRoadReason, ...] = ()
    items: tuple[DueStatus, ...] = ()
    defects: tuple[OpenDefect, ...] = ()

    @property
    def rank(self) -> tuple[int, int, int]:
        """Sort key of cars, worst first: by the worst reason, by the gravest of what is not known, then by day.

        Of two cars off the road for the same reason, the one of which it has been known longer comes first.
        """
        place = list(Verdict).index(self.verdict)
        if self.reasons:
            return place, *gravity(self.reasons[0])[:2]
        if self.verdict is Verdict.NOT_KNOWN:
            return place, BY_GRAVITY.index(DUE_KINDS[self.items[0].kind]), 0
        days = [item.days_left for item in self.items if item.days_left is not None]
        return (place, 0, days[0]) if days else (place, 1, 0)


def verdict_of(statuses: Iterable[DueStatus], condition: Condition) -> CarVerdict:
    """The verdict on a car with these due items, in this condition.

    What is not known comes before what is overdue without stopping the car: the book cannot say that it may be used.
    That is so of what could stop it alone; a service without a forecast says nothing of that.
    """
    ranked = sorted(statuses, key=by_urgency)
    if reasons := off_the_road_reasons(ranked, condition):
        return CarVerdict(Verdict.OFF_THE_ROAD, reasons=reasons)
    not_known = [status for status in ranked if status.state is State.UNKNOWN]
    if stopping := tuple(status for status in not_known if DUE_KINDS[status.kind].stops_car):
        return CarVerdict(Verdict.NOT_KNOWN, items=stopping)
    if pressing := [status for status in ranked if status.state not in {State.LATER, State.UNKNOWN}]:
        return CarVerdict(Verdict.DUE, items=(pressing[0],))
    if condition.defects:
        return CarVerdict(Verdict.DUE, defects=condition.defects)
    return CarVerdict(Verdict.NOTHING_AGAINST)


class MayTeach(StrEnum):
    """Worst first: whether the teacher may be paid for lessons, as far as the book knows."""

    NO_PAID_LESSONS = "no_paid_lessons"
    NOT_KNOWN = "not_known"
    DUE = "due"
    NOTHING_AGAINST = "nothing_against"


class TeacherVerdict(NamedTuple):
    """The verdict on a teacher, and the registration or licence that it rests on; None if none is recorded."""

    verdict: MayTeach
    licence: DueStatus | None = None


def teacher_verdict(credentials: Iterable[DueStatus]) -> TeacherVerdict:
    """The verdict on a teacher with these credentials: one registration or licence is enough, and the longest counts.

    Road Traffic Act 1988 ss.123(1) and 129 (official).
    """
    licences = [
        (status.due_on, status) for status in credentials if DUE_KINDS[status.kind].lets_teach and status.due_on
    ]
    if not licences:
        return TeacherVerdict(MayTeach.NOT_KNOWN)
    _, licence = max(licences, key=lambda pair: pair[0])
    if licence.state is State.OVERDUE:
        return TeacherVerdict(MayTeach.NO_PAID_LESSONS, licence)
    in_notice = licence.state is not State.LATER
    return TeacherVerdict(MayTeach.DUE if in_notice else MayTeach.NOTHING_AGAINST, licence)
