"""How a due item stands on one day: its state, the day that governs it, and what a forecast rests on."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from fleet.core.due_kinds import DUE_KINDS, MOT
from fleet.core.mot import first_mot_to_come
from fleet.core.odometer import Odometer, pace_of


class State(StrEnum):
    """Worst first. ``unknown`` is not fine: nothing recorded says that the car or person is covered."""

    OVERDUE = "overdue"
    UNKNOWN = "unknown"
    DUE = "due"
    BOOKED = "booked"
    LATER = "later"


class DayUnknown(StrEnum):
    """Why there is no day, or no forecast of one."""

    NOTHING_RECORDED = "nothing_recorded"
    NO_FIRST_REGISTRATION = "no_first_registration"
    NO_READINGS = "no_readings"
    NO_MILES_RUN = "no_miles_run"
    TOO_FAR_AHEAD = "too_far_ahead"


class DueRecord(NamedTuple):
    """What is recorded of one due item; ``due_on`` is its last good day."""

    kind: str
    due_on: date | None = None
    due_miles: int | None = None
    booked_for: date | None = None


class Forecast(NamedTuple):
    """The day at whose end a mileage is reached, and what that rests on.

    ``on`` is the last day at whose end the car has done no more than the mileage that is due: told by the
    readings where it is past, else reckoned from ``miles`` run in the last ``days`` days (90, or as many as
    there are readings for). ``last_read_on`` is the day of the latest reading.
    """

    on: date
    is_past: bool
    miles: int
    days: int
    last_read_on: date


@dataclass(frozen=True, slots=True)
class DueStatus:
    """How one due item stands; ``missing`` says why there is no day, or why the mileage has no forecast."""

    kind: str
    state: State
    due_on: date | None = None
    due_miles: int | None = None
    booked_for: date | None = None
    forecast: Forecast | None = None
    days_left: int | None = None
    missing: DayUnknown | None = None

    @property
    def forecast_on(self) -> date | None:
        return self.forecast.on if self.forecast else None

    @property
    def governing_on(self) -> date | None:
        """The earlier of the recorded day and the forecast one."""
        return min((day for day in (self.due_on, self.forecast_on) if day), default=None)

    @property
    def is_by_miles(self) -> bool:
        """Whether the mileage governs: it comes before the recorded day, or there is no such day."""
        return self.forecast is not None and (self.due_on is None or self.forecast.on < self.due_on)


def due_status(record: DueRecord, on: date, odometer: Odometer) -> DueStatus:
    """How ``record`` stands at the end of ``on``; readings after that day are not used.

    Overdue from the day after ``due_on``, and as soon as a reading shows more than ``due_miles``.
    """
    forecast, missing = None, None
    if record.due_miles is not None:
        forecast, missing = forecast_mileage(record.due_miles, on, odometer.until(on))
    elif record.due_on is None:
        missing = DayUnknown.NOTHING_RECORDED
    days = [day for day in (record.due_on, forecast.on if forecast else None) if day]
    days_left = (min(days) - on).days if days else None
    return DueStatus(
        record.kind,
        _state(record, on, days_left),
        record.due_on,
        record.due_miles,
        record.booked_for,
        forecast,
        days_left,
        missing,
    )


def forecast_mileage(due_miles: int, on: date, odometer: Odometer) -> tuple[Forecast | None, DayUnknown | None]:
    """The day on which ``due_miles`` is reached, from readings up to ``on``; or why none can be told."""
    if not odometer:
        return None, DayUnknown.NO_READINGS
    pace, stands_at = pace_of(odometer, on), odometer.at(on)
    if stands_at > due_miles:
        return Forecast(odometer.last_day_up_to(due_miles), True, *pace), None
    if pace.miles == 0:
        return None, DayUnknown.NO_MILES_RUN
    reached_on = pace.day_after(on, due_miles - stands_at)
    if reached_on is None:
        return None, DayUnknown.TOO_FAR_AHEAD
    return Forecast(reached_on, False, *pace), None


def statuses_of_car(
    records: Iterable[DueRecord], *, first_registered: date | None, nation: str, on: date, odometer: Odometer
) -> list[DueStatus]:
    """Every due item of one car, worst first; what every car must have is there whether recorded or not.

    An MOT of which no day is recorded falls due by the rule of first registration while that day is still to
    come. Once it is past, or if first registration is not known, the MOT is unknown.
    """
    by_kind = {name: DueRecord(name) for name, kind in DUE_KINDS.items() if kind.always_listed}
    by_kind |= {record.kind: record for record in records}
    mot = by_kind[MOT.name]
    without_day = mot.due_on is None
    if without_day:
        by_kind[MOT.name] = mot._replace(due_on=first_mot_to_come(first_registered, nation, on))
    statuses = [due_status(record, on, odometer) for record in by_kind.values()]
    if without_day and first_registered is None:
        statuses = [
            replace(status, missing=DayUnknown.NO_FIRST_REGISTRATION) if status.kind == MOT.name else status
            for status in statuses
        ]
    return sorted(statuses, key=by_urgency)


def by_urgency(status: DueStatus) -> tuple[int, bool, int, int]:
    """Sort key, worst first: by state, what stops a car before what does not, then by days left."""
    return (
        list(State).index(status.state),
        not DUE_KINDS[status.kind].stops_car,
        status.days_left or 0,
        list(DUE_KINDS).index(status.kind),
    )


def occurrence(status: DueStatus) -> str:
    """Which time round an item is: its due day and mileage, as recorded or by rule.

    The forecast day is left out: it moves with every reading, and a step must not be told again for that.
    """
    return f"{status.due_on or '-'}/{'-' if status.due_miles is None else status.due_miles}"


def _state(record: DueRecord, on: date, days_left: int | None) -> State:
    if days_left is None:
        return State.UNKNOWN
    if days_left < 0:
        return State.OVERDUE
    if record.booked_for is not None and record.booked_for >= on:
        return State.BOOKED
    return State.DUE if days_left <= DUE_KINDS[record.kind].notice_days else State.LATER


#: Days before the due day, and the day itself.
STEPS = (30, 14, 7, 1, 0)
DAYS_BETWEEN_MILD = 7


def reached_step(days_left: int, daily_when_overdue: bool, notice_days: int = STEPS[0]) -> int | None:
    """The latest step reached with ``days_left`` days to go; None before the first.

    Steps count down to the due day as ``days_left`` does: 30, 14, 7, 1, 0, and below nought once overdue,
    every day if ``daily_when_overdue``, else every seventh. What needs longer notice is told once more, and first,
    when its ``notice_days`` begin.
    """
    if days_left >= 0:
        return min((step for step in (notice_days, *STEPS) if step >= days_left), default=None)
    if daily_when_overdue:
        return days_left
    return -(-days_left // DAYS_BETWEEN_MILD * DAYS_BETWEEN_MILD)
