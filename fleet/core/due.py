"""The state of a due item on one day, the day that governs it, and what a forecast rests on."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from fleet.core.due_kinds import BY_GRAVITY, DUE_KINDS, MOT
from fleet.core.forecast import Forecast, forecast_mileage
from fleet.core.mot import first_mot_due
from fleet.core.odometer import NoForecast, Odometer


class State(StrEnum):
    """Worst first. ``unknown`` is not fine: no record says that the car or the person is covered."""

    OVERDUE = "overdue"
    UNKNOWN = "unknown"
    DUE = "due"
    BOOKED = "booked"
    LATER = "later"


class DayUnknown(StrEnum):
    """Why the book does not know whether something holds. Of the last three a day is recorded."""

    NOTHING_RECORDED = "nothing_recorded"
    NO_FIRST_REGISTRATION = "no_first_registration"
    TUITION_NOT_CONFIRMED = "tuition_not_confirmed"
    POLICY_OF_FORMER_KEEPER = "policy_of_former_keeper"
    TAX_OF_FORMER_KEEPER = "tax_of_former_keeper"


#: Why what is recorded of a kind may not hold, by kind.
Doubts = Mapping[str, DayUnknown]
NO_DOUBTS: Doubts = MappingProxyType({})


class DueRecord(NamedTuple):
    """What is recorded of one due item; ``due_on`` is its last good day."""

    kind: str
    due_on: date | None = None
    due_miles: int | None = None
    booked_for: date | None = None


@dataclass(frozen=True, slots=True)
class DueStatus:
    """The state of one due item; ``missing`` says why it is not known, or why the mileage has no forecast.

    ``booked_for`` is today or later: a booked day that has passed is no booking any more. ``is_by_rule``: nothing is
    recorded, ``due_on`` is the day from which the law asks for the first MOT.
    """

    kind: str
    state: State
    due_on: date | None = None
    due_miles: int | None = None
    booked_for: date | None = None
    forecast: Forecast | None = None
    days_left: int | None = None
    missing: DayUnknown | NoForecast | None = None
    is_by_rule: bool = False

    @property
    def forecast_on(self) -> date | None:
        return self.forecast.on if self.forecast else None

    @property
    def governing_on(self) -> date | None:
        """The earlier of the recorded day and the forecast one."""
        return min((day for day in (self.due_on, self.forecast_on) if day), default=None)

    @property
    def is_by_miles(self) -> bool:
        """Whether the mileage governs: it comes before the recorded day, or no day is recorded."""
        return self.forecast is not None and (self.due_on is None or self.forecast.on < self.due_on)

    @property
    def is_past_by_forecast(self) -> bool:
        """Whether only the forecast says that its day is past: reading the odometer would tell."""
        return self.state is not State.OVERDUE and self.days_left is not None and self.days_left < 0


def due_status(record: DueRecord, on: date, odometer: Odometer) -> DueStatus:
    """The state of ``record`` at the end of ``on``; readings after that day are not used.

    Overdue from the day after ``due_on``, and as soon as a reading shows more than ``due_miles``; by a forecast never.
    """
    forecast, missing = None, None
    if record.due_miles is not None:
        found = forecast_mileage(record.due_miles, odometer, on)
        forecast, missing = (None, found) if isinstance(found, NoForecast) else (found, None)
    days = [day for day in (record.due_on, forecast.on if forecast else None) if day]
    days_left = (min(days) - on).days if days else None
    is_overdue = (record.due_on is not None and record.due_on < on) or (forecast is not None and forecast.is_past)
    booked_for = record.booked_for if record.booked_for is not None and record.booked_for >= on else None
    return DueStatus(
        record.kind,
        State.OVERDUE if is_overdue else _state(record.kind, days_left, booked_for),
        record.due_on,
        record.due_miles,
        booked_for,
        forecast,
        days_left,
        missing if days or missing else DayUnknown.NOTHING_RECORDED,
    )


def _state(kind: str, days_left: int | None, booked_for: date | None) -> State:
    """The state of what is not overdue."""
    if days_left is None:
        return State.UNKNOWN
    if booked_for is not None:
        return State.BOOKED
    return State.DUE if days_left <= DUE_KINDS[kind].notice_days else State.LATER


class CarFacts(NamedTuple):
    """What tells a car's due items besides their records.

    ``first_registered`` is None if that is not known, or if the car was first used abroad: then the law counts from a
    day that the book does not have. ``doubts``: see ``fleet.core.cover``.
    """

    first_registered: date | None
    in_service_from: date
    nation: str
    odometer: Odometer
    doubts: Doubts = NO_DOUBTS


def statuses_of_car(records: Iterable[DueRecord], car: CarFacts, on: date) -> list[DueStatus]:
    """Every due item of one car, worst first; what every car must have is listed even if nothing is recorded."""
    by_kind = {name: DueRecord(name) for name, kind in DUE_KINDS.items() if kind.always_listed}
    by_kind |= {record.kind: record for record in records}
    statuses = [
        _mot_by_rule(record, car, on)
        if record.kind == MOT.name and record.due_on is None
        else _doubted(due_status(record, on, car.odometer), car.doubts.get(record.kind))
        for record in by_kind.values()
    ]
    return sorted(statuses, key=by_urgency)


def _mot_by_rule(record: DueRecord, car: CarFacts, on: date) -> DueStatus:
    """The MOT of a car of which no day is recorded.

    It falls due by the rule of first registration. From that day on it is overdue if the car was in the book by then,
    as the book knew the day; that day itself counts, for the law asks for a certificate from then on. A car that came
    later may have one that nobody entered: unknown.
    """
    if car.first_registered is None:
        return replace(due_status(record, on, car.odometer), missing=DayUnknown.NO_FIRST_REGISTRATION)
    first = first_mot_due(car.first_registered, car.nation)
    if first <= on and first < car.in_service_from:
        return due_status(record, on, car.odometer)
    status = replace(due_status(record._replace(due_on=first), on, car.odometer), is_by_rule=True)
    return replace(status, state=State.OVERDUE) if first <= on else status


def _doubted(status: DueStatus, doubt: DayUnknown | None) -> DueStatus:
    """The status as far as the book may say: what has run out has, whatever is in doubt."""
    if doubt is None or status.state in (State.OVERDUE, State.UNKNOWN):
        return status
    return replace(status, state=State.UNKNOWN, missing=doubt)


def by_urgency(status: DueStatus) -> tuple[int, int, int]:
    """Sort key, worst first: what is overdue and stops a car or its teacher, what is not known, all else by its day."""
    kind = DUE_KINDS[status.kind]
    gravity = BY_GRAVITY.index(kind)
    if status.state is State.OVERDUE and (kind.stops_car or kind.lets_teach):
        return 0, 0, gravity
    if status.state is State.UNKNOWN or status.days_left is None:
        return 1, 0, gravity
    return 2, status.days_left, gravity
