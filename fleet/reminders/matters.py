"""What may have to be told on a day: due items by their steps, and whatever else keeps a car off the road."""

from collections.abc import Mapping
from datetime import date
from itertools import groupby
from typing import NamedTuple

from fleet.core.due import State, by_urgency
from fleet.core.readiness import OffRoadReason, gravity
from fleet.core.steps import Told, is_due_item, told_of_item, told_of_reason, told_of_unknown
from fleet.core.verdict import MayTeach
from fleet.models import Notice
from fleet.queries import CarDue, DueLine, DueReport, Subject
from instructors.models import Member

#: Coordinators hear about other members' items from this many days before the due day.
COORDINATORS_FROM = 7

NoticeKey = tuple[int | None, int | None, str, str, int, int]


class Matter(NamedTuple):
    """One thing that has reached a step: a due item, or the ``reasons`` of one name and day to be off the road."""

    subject: Subject
    kind: str
    told: Told
    line: DueLine | None = None
    reasons: tuple[OffRoadReason, ...] = ()

    def key_for(self, recipient: Member) -> NoticeKey:
        """What a notice of it to ``recipient`` is known by: nobody is told the same twice."""
        car = self.subject.car
        about = (car.pk, None) if car else (None, self.subject.member.pk)
        return (*about, self.kind, self.told.occurrence, self.told.step, recipient.pk)

    def concerns(self, recipient: Member) -> bool:
        """Whether to tell ``recipient``, who may have chosen to hear only what must be said, or look after the group.

        It does not check whether the recipient has left.
        """
        if self.subject.member == recipient:
            return recipient.wants_due_mail or self.line is None or self.line.kind.is_legal
        return recipient.is_coordinator and self.told.step <= COORDINATORS_FROM


def key_of(notice: Notice) -> NoticeKey:
    """What a notice is known by."""
    return (
        notice.car_id,
        notice.member_id,
        notice.kind,
        notice.occurrence,
        notice.step,
        notice.recipient_id,
    )


def matters(report: DueReport, since: Mapping[tuple[int, str], date]) -> list[Matter]:
    """All that has reached a step by the report's day, worst first; ``since``: what is not known, from when on."""
    lapsed = lapsed_licences(report)
    found = [matter for line in report.lines() for matter in _of_line(line, report.on, since, line in lapsed)]
    found += [matter for car in report.cars for matter in _of_condition(car, report.on)]
    return sorted(found, key=severity)


def severity(matter: Matter) -> tuple[int, ...]:
    """Sort key, worst first: what keeps a car off the road by its gravity, then due items by theirs."""
    if matter.line is None:
        return (0, *gravity(matter.reasons[0]))
    return line_severity(matter.line)


def line_severity(line: DueLine) -> tuple[int, ...]:
    """The same of a due item."""
    status = line.status
    if status.state is State.OVERDUE and line.kind.stops_car:
        return (0, *gravity(OffRoadReason(status.kind, since=status.governing_on)))
    return (1, *by_urgency(status))


def is_told_unknown(line: DueLine) -> bool:
    """Whether nobody knows how it stands, and that may put a car off the road."""
    return line.status.state is State.UNKNOWN and line.kind.stops_car


def lapsed_licences(report: DueReport) -> list[DueLine]:
    """The registrations and licences that ran out, so that their teachers may give no paid lessons."""
    return [
        line
        for due in report.members
        if due.verdict.verdict is MayTeach.NO_PAID_LESSONS
        for line in due.items
        if line.status == due.verdict.licence
    ]


def _of_line(line: DueLine, on: date, since: Mapping[tuple[int, str], date], is_lapsed: bool) -> list[Matter]:
    """An item whose day is known may be in doubt all the same: then it is told by its day and weekly."""
    car, kind = line.subject.car, line.kind
    told = [told_of_item(line.status, on, is_daily=kind.stops_car or is_lapsed)]
    if car and is_told_unknown(line):
        told.append(told_of_unknown(since.get((car.pk, kind.name), on), on))
    return [Matter(line.subject, kind.name, one, line) for one in told if one]


def _of_condition(due: CarDue, on: date) -> list[Matter]:
    """Of the reasons that are no due items: those of one name and day are told together."""
    subject = Subject(due.car.keeper, due.car)
    others = [one for one in due.reasons if not is_due_item(one)]
    groups = [tuple(same) for _, same in groupby(others, key=lambda one: (one.name, one.since))]
    return [Matter(subject, same[0].name, told_of_reason(same[0], on), reasons=same) for same in groups]
