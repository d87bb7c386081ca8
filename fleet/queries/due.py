"""What falls due on the cars and for the members: one report for page, mail and command."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from django.db.models import prefetch_related_objects

from config.sql import listed
from fleet.core import registration as marks
from fleet.core.due import CarFacts, DueRecord, DueStatus, by_urgency, due_status, statuses_of_car
from fleet.core.due_kinds import DUE_KINDS, DueKind
from fleet.core.mot import first_mot_to_come
from fleet.core.odometer import PACE_DAYS, Odometer
from fleet.core.readiness import Condition, OffRoadReason
from fleet.core.recurrence import Interval, Met, next_due
from fleet.core.verdict import CarVerdict, TeacherVerdict, Verdict, teacher_verdict, verdict_of
from fleet.models import Car, DueItem
from fleet.queries.access import in_service_after
from fleet.queries.condition import conditions_of
from fleet.queries.miles import readings_of
from instructors.models import Member
from instructors.queries import active_members, cooperative

_UNREAD = Odometer(())
_NEVER = Interval()


class Subject(NamedTuple):
    """Whose due item it is: a car (with its keeper) or a member."""

    member: Member
    car: Car | None = None

    @property
    def key(self) -> str:
        """The stored registration mark, or the e-mail address."""
        return self.car.registration if self.car else self.member.email

    @property
    def words(self) -> str:
        """The mark with its space, or the member's name."""
        return marks.show(self.car.registration) if self.car else self.member.name


@dataclass(frozen=True, slots=True)
class DueLine:
    """One due item as it stands on the report's day; ``item_id`` is None where no row is recorded for it.

    ``nation`` is the co-op's, ``GB`` or ``NI``; ``every`` is after how many months or miles it comes again.
    """

    subject: Subject
    status: DueStatus
    item_id: int | None
    note: str
    nation: str
    every: Interval = _NEVER

    @property
    def kind(self) -> DueKind:
        return DUE_KINDS[self.status.kind]

    @property
    def title(self) -> str:
        """Its name: the kind in words, or the member's own words."""
        return self.kind.title(self.note)


@dataclass(frozen=True, slots=True)
class CarDue:
    """One car's due items, worst first, its condition, and the verdict on it for lessons."""

    car: Car
    items: tuple[DueLine, ...]
    condition: Condition
    verdict: CarVerdict

    @property
    def registration(self) -> str:
        return self.car.registration

    @property
    def off_the_road(self) -> bool:
        return self.verdict.verdict is Verdict.OFF_THE_ROAD

    @property
    def reasons(self) -> tuple[OffRoadReason, ...]:
        """Why it must not be used for lessons, worst first; empty unless it is off the road."""
        return self.verdict.reasons

    @property
    def titles(self) -> dict[str, str]:
        """The names of its due items, by kind: it has one of each at most."""
        return {line.kind.name: line.title for line in self.items}


@dataclass(frozen=True, slots=True)
class MemberDue:
    """One member's credentials, worst first."""

    member: Member
    items: tuple[DueLine, ...]

    @property
    def verdict(self) -> TeacherVerdict:
        """Whether the member may be paid for lessons."""
        return teacher_verdict(line.status for line in self.items)


@dataclass(frozen=True, slots=True)
class DueReport:
    """All due items on one day: what page, mail and command show. The cars come worst first."""

    on: date
    cars: tuple[CarDue, ...]
    members: tuple[MemberDue, ...]

    def lines(self) -> list[DueLine]:
        """Every due item of every car and member, worst first."""
        lines = [line for car in self.cars for line in car.items]
        lines += [line for member in self.members for line in member.items]
        return sorted(lines, key=lambda line: by_urgency(line.status))


def due_report(
    on: date,
    cars: Iterable[Car] | None = None,
    members: Iterable[Member] | None = None,
    nation: str | None = None,
    odometers: Mapping[int, Odometer] | None = None,
    *,
    with_treads: bool = False,
) -> DueReport:
    """The due items on ``on``, by the rows as they are now and the readings up to that day.

    They are those of all cars in service on that day or later and of all members who have not left; or of the ``cars``
    and ``members`` given (none, if only the other is given). The number of queries does not grow with them; fewer are
    needed by who knows the co-op's ``nation``, or ``odometers`` by car id that reach 180 days back. Only
    ``with_treads`` the conditions say when the treads were read.
    """
    if cars is None and members is None:
        cars, members = Car.objects.select_related("keeper").filter(in_service_after(on)), active_members(on)
    shown = [car for car in cars or () if car.in_service_to is None or car.in_service_to >= on]
    people = list(members or ())
    prefetch_related_objects(shown, "keeper")
    rows = _open_items([car.pk for car in shown], [member.pk for member in people])
    of_car: dict[int | None, list[DueItem]] = defaultdict(list)
    of_member: dict[int | None, list[DueItem]] = defaultdict(list)
    for row in rows:
        of_car[row.car_id].append(row)
        of_member[row.member_id].append(row)
    nation, odometers = nation or cooperative().nation, _odometers_for(rows, on, odometers or {})
    conditions = conditions_of(shown, on, with_treads=with_treads)
    dues = [
        _car_due(car, of_car[car.pk], on, nation, odometers.get(car.pk, _UNREAD), conditions[car.pk]) for car in shown
    ]
    return DueReport(
        on,
        tuple(sorted(dues, key=lambda due: (due.verdict.rank, due.registration))),
        tuple(_member_due(member, of_member[member.pk], on, nation) for member in people),
    )


_OPEN_ITEMS = """SELECT * FROM fleet_dueitem
WHERE (car_id IN ({cars}) OR member_id IN ({members})) AND closed_on IS NULL ORDER BY id"""


def _open_items(car_ids: list[int], member_ids: list[int]) -> list[DueItem]:
    return list(DueItem.objects.raw(_OPEN_ITEMS.format(cars=listed(car_ids), members=listed(member_ids))))


#: How far back readings are fetched: a last reading of that half still has the one nearest 90 days before it.
_READINGS_DAYS = 2 * PACE_DAYS


def _odometers_for(rows: Iterable[DueItem], on: date, known: Mapping[int, Odometer]) -> dict[int, Odometer]:
    """The odometers that the mileages among ``rows`` need: those ``known``, others as far back as a forecast asks."""
    miles_due = [(row.car_id, row.due_miles) for row in rows if row.car_id and row.due_miles is not None]
    unknown = {car_id for car_id, _ in miles_due} - known.keys()
    since = on - timedelta(days=_READINGS_DAYS)
    odometers = {**known, **readings_of(unknown, since=since)}
    wanting = {car_id for car_id, miles in miles_due if _reaches_too_short(odometers[car_id].until(on), miles, since)}
    return odometers | readings_of(wanting)


def _reaches_too_short(odometer: Odometer, miles: int, since: date) -> bool:
    """Whether only the whole history tells: read long ago, or beyond ``miles`` before the oldest reading fetched.

    Without a reading before ``since`` these are the whole.
    """
    if not odometer or odometer.first_on >= since:
        return False
    return odometer.last_on - timedelta(days=PACE_DAYS) < since or odometer.at(odometer.first_on) > miles


def _car_due(car: Car, rows: list[DueItem], on: date, nation: str, odometer: Odometer, condition: Condition) -> CarDue:
    facts = CarFacts(car.first_registered, car.in_service_from, nation, odometer, condition.doubts)
    statuses = statuses_of_car(map(_record, rows), facts, on)
    lines = _lines(Subject(car.keeper, car), statuses, rows, nation)
    return CarDue(car, lines, condition, verdict_of(statuses, condition))


def _member_due(member: Member, rows: list[DueItem], on: date, nation: str) -> MemberDue:
    statuses = [due_status(_record(row), on, _UNREAD) for row in rows]
    return MemberDue(member, _lines(Subject(member), sorted(statuses, key=by_urgency), rows, nation))


def _record(row: DueItem) -> DueRecord:
    return DueRecord(row.kind, row.due_on, row.due_miles, row.booked_for)


def _lines(
    subject: Subject, statuses: Iterable[DueStatus], rows: Iterable[DueItem], nation: str
) -> tuple[DueLine, ...]:
    # The database allows one open row for each subject and kind.
    by_kind = {row.kind: row for row in rows}
    return tuple(_line(subject, status, by_kind.get(status.kind), nation) for status in statuses)


def _line(subject: Subject, status: DueStatus, row: DueItem | None, nation: str) -> DueLine:
    if row is None:
        return DueLine(subject, status, None, "", nation)
    return DueLine(subject, status, row.pk, row.note, nation, Interval(row.every_months, row.every_miles))


def due_day_of(item: DueItem, on: date) -> date | None:
    """The day an item is due: as recorded, or for a car's first MOT by rule while that is still to come."""
    if item.due_on is None and item.car is not None and item.due_kind.is_mot:
        return first_mot_to_come(item.car.first_registered, cooperative().nation, on)
    return item.due_on


def proposed_next_due_on(item: DueItem, done_on: date) -> date | None:
    """The day on which ``item`` falls due again if it is met on ``done_on``, as far as a rule tells it."""
    rules = item.due_kind
    if rules.is_cover and rules.usual_months is None:
        return None
    met, interval = Met(done_on, odometer=0), Interval(item.every_months, item.every_miles)
    return next_due(item.kind, due_day_of(item, done_on), interval, met).due_on
