"""A car checked against what it must have: each point met, not met or unknown, and what that rests on.

Nothing here says that a car is fit to be driven, only what is recorded.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple

from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.points import CHECK_EVERY_DAYS
from fleet.core.readiness import NOTHING_WRONG, Condition
from fleet.core.requirements import ANSWER_DAYS, TUITION_COVER, How, PointList, Requirement
from fleet.core.tread import Depth
from fleet.core.verdict import teacher_verdict

#: For how many days a tread reading counts as current. The co-op's habit, no source.
READING_DAYS = 90
_INSURANCE = next(name for name, kind in DUE_KINDS.items() if kind.confirms_tuition)


class Verdict(StrEnum):
    """Worst first. ``unknown`` is never as good as met."""

    NOT_MET = "not_met"
    UNKNOWN = "unknown"
    MET = "met"


class Why(StrEnum):
    """What a verdict rests on. The comments say what ``Finding.on`` and ``Finding.about`` hold."""

    RUNS_UNTIL = "runs_until"  # on: the last good day
    RAN_OUT = "ran_out"  # on: the last good day
    NOTHING_RECORDED = "nothing_recorded"
    IN_DOUBT = "in_doubt"  # a day is recorded, or an answer, but not for whoever keeps the car now
    NEVER_HAD = "never_had"  # on: the day from which the law asks for one
    NO_DEFECT = "no_defect"
    DEFECT = "defect"  # on: found; about: what is wrong
    TREAD_ENOUGH = "tread_enough"  # on: the oldest of the last readings
    TREAD_TOO_LOW = "tread_too_low"  # on: the reading; about: the wheel
    TREAD_NOT_READ = "tread_not_read"  # about: the wheel
    TREAD_READ_LONG_AGO = "tread_read_long_ago"  # on: the reading; about: the wheel
    AS_ENTERED = "as_entered"
    CHECKED = "checked"  # on: the check
    CHECKED_LONG_AGO = "checked_long_ago"  # on: the check
    SAID_YES = "said_yes"  # on: the answer
    SAID_NO = "said_no"  # on: the answer
    SAID_LONG_AGO = "said_long_ago"  # on: the answer


class Finding(NamedTuple):
    """The verdict on one point, and what it rests on."""

    point: Requirement
    verdict: Verdict
    why: Why
    on: date | None = None
    about: str = ""


class Answer(NamedTuple):
    """The latest answer to a point that takes one."""

    on: date
    is_met: bool


@dataclass(frozen=True, slots=True)
class Facts:
    """What is recorded of one car up to the day ``on``.

    ``statuses`` and ``credentials`` are how the due items of the car and of its keeper stand, by kind; ``treads``
    the last reading of the tyre at each wheel, None where it never was read; ``checked_on`` the last walkaround
    check; ``answers`` the latest answer to each point by name.
    """

    on: date
    soft_top: bool
    dual_controls: bool
    statuses: Mapping[str, DueStatus] = field(default_factory=dict)
    credentials: Mapping[str, DueStatus] = field(default_factory=dict)
    condition: Condition = NOTHING_WRONG
    treads: Mapping[str, Depth | None] = field(default_factory=dict)
    checked_on: date | None = None
    answers: Mapping[str, Answer] = field(default_factory=dict)


class Readiness(NamedTuple):
    """The verdict on each point of one list for one car, worst first."""

    of: PointList
    findings: tuple[Finding, ...]

    @property
    def is_ready(self) -> bool:
        """Whether every point is met."""
        return all(finding.verdict is Verdict.MET for finding in self.findings)

    def count(self, verdict: Verdict) -> int:
        """How many points have this verdict."""
        return sum(finding.verdict is verdict for finding in self.findings)


def readiness(points: PointList, facts: Facts) -> Readiness:
    """Check every point of a list against what is recorded."""
    findings = [_JUDGES[point.how](point, facts) for point in points.points]
    return Readiness(points, tuple(sorted(findings, key=lambda finding: list(Verdict).index(finding.verdict))))


def _by_status(point: Requirement, status: DueStatus | None) -> Finding:
    if status is None or status.state is State.UNKNOWN:
        is_in_doubt = status is not None and status.due_on is not None
        return Finding(point, Verdict.UNKNOWN, Why.IN_DOUBT if is_in_doubt else Why.NOTHING_RECORDED)
    if status.state is State.OVERDUE:
        why = Why.NEVER_HAD if status.is_by_rule else Why.RAN_OUT
        return Finding(point, Verdict.NOT_MET, why, status.governing_on)
    return Finding(point, Verdict.MET, Why.RUNS_UNTIL, status.governing_on)


def _due_item(point: Requirement, facts: Facts) -> Finding:
    return _by_status(point, facts.statuses.get(point.name))


def _credential(point: Requirement, facts: Facts) -> Finding:
    return _by_status(point, teacher_verdict(facts.credentials.values()).licence)


def _defects(point: Requirement, facts: Facts) -> Finding:
    stopping = [defect for defect in facts.condition.defects if defect.severity.stops_car]
    if not stopping:
        return Finding(point, Verdict.MET, Why.NO_DEFECT)
    first = min(stopping, key=lambda defect: (defect.found_on, defect.key))
    return Finding(
        point, Verdict.NOT_MET, Why.DEFECT, first.found_on, "; ".join(defect.description for defect in stopping)
    )


def _tread(point: Requirement, facts: Facts) -> Finding:
    if facts.condition.unlawful_treads:
        worst = min(facts.condition.unlawful_treads, key=lambda depth: depth.lowest)
        return Finding(point, Verdict.NOT_MET, Why.TREAD_TOO_LOW, worst.read_on, worst.wheel)
    unread = [wheel for wheel, depth in facts.treads.items() if depth is None]
    if unread or not facts.treads:
        return Finding(point, Verdict.UNKNOWN, Why.TREAD_NOT_READ, about=next(iter(unread), ""))
    oldest = min((depth for depth in facts.treads.values() if depth), key=lambda depth: depth.read_on)
    if _is_stale(oldest.read_on, READING_DAYS, facts):
        return Finding(point, Verdict.UNKNOWN, Why.TREAD_READ_LONG_AGO, oldest.read_on, oldest.wheel)
    return Finding(point, Verdict.MET, Why.TREAD_ENOUGH, oldest.read_on)


def _body(point: Requirement, facts: Facts) -> Finding:
    return Finding(point, Verdict.NOT_MET if facts.soft_top else Verdict.MET, Why.AS_ENTERED)


def _dual_controls(point: Requirement, facts: Facts) -> Finding:
    return Finding(point, Verdict.MET if facts.dual_controls else Verdict.NOT_MET, Why.AS_ENTERED)


def _walkaround(point: Requirement, facts: Facts) -> Finding:
    if facts.checked_on is None:
        return Finding(point, Verdict.UNKNOWN, Why.NOTHING_RECORDED)
    if _is_stale(facts.checked_on, CHECK_EVERY_DAYS, facts):
        return Finding(point, Verdict.NOT_MET, Why.CHECKED_LONG_AGO, facts.checked_on)
    return Finding(point, Verdict.MET, Why.CHECKED, facts.checked_on)


def _asked(point: Requirement, facts: Facts) -> Finding:
    answer = facts.answers.get(point.name)
    if answer is None:
        return Finding(point, Verdict.UNKNOWN, Why.NOTHING_RECORDED)
    if not answer.is_met:
        return Finding(point, Verdict.NOT_MET, Why.SAID_NO, answer.on)
    if point.name == TUITION_COVER and _INSURANCE in facts.condition.doubts:
        return Finding(point, Verdict.UNKNOWN, Why.IN_DOUBT)
    days = ANSWER_DAYS[point.how]
    if days is not None and _is_stale(answer.on, days, facts):
        return Finding(point, Verdict.UNKNOWN, Why.SAID_LONG_AGO, answer.on)
    return Finding(point, Verdict.MET, Why.SAID_YES, answer.on)


def _is_stale(day: date, days: int, facts: Facts) -> bool:
    return facts.on - day > timedelta(days=days)


_JUDGES: dict[How, Callable[[Requirement, Facts], Finding]] = {
    How.DUE_ITEM: _due_item,
    How.CREDENTIAL: _credential,
    How.DEFECTS: _defects,
    How.TREAD: _tread,
    How.BODY: _body,
    How.DUAL_CONTROLS: _dual_controls,
    How.WALKAROUND: _walkaround,
    How.FITTED: _asked,
    How.POLICY: _asked,
    How.LOOKED_AT: _asked,
}
