"""When a due item falls due again once it is met, and when a credential may be renewed."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import NamedTuple

from fleet.core.days import add_months
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.mot import next_expiry


class Interval(NamedTuple):
    """How often an item comes back: every so many months or miles, whichever is first; None: not by these."""

    months: int | None = None
    miles: int | None = None


def leaves_no_gap(since: date, until_now: date | None, on: date) -> bool:
    """Whether cover from ``since`` has begun by ``on``, or begins no later than the day after the old cover ends.

    ``until_now`` is the last day of the old cover, None if none is known. Cover that begins later leaves a gap, so
    it does not count yet.
    """
    return since <= on or (until_now is not None and since <= until_now + timedelta(days=1))


def renewed_from(on: date, until_now: date | None, late_days: int = 0) -> date:
    """The first day of cover renewed on ``on``: the day after the cover it renews, so that no day is paid twice.

    ``until_now`` is the last day of that cover, None if there is none. If it ended before ``on``, and more than
    ``late_days`` days were left without cover, there was a gap: the new cover begins on ``on``.
    """
    if until_now is None or until_now < on - timedelta(days=late_days + 1):
        return on
    return until_now + timedelta(days=1)


class Met(NamedTuple):
    """How an item was met: the day, the odometer then, and the next due day if it was given."""

    done_on: date
    odometer: int | None = None
    next_due_on: date | None = None


class NextDue(NamedTuple):
    """When an item falls due again; with neither day nor mileage it does not come back."""

    due_on: date | None
    due_miles: int | None

    @property
    def is_end(self) -> bool:
        return self.due_on is None and self.due_miles is None


class CannotRollOn(ValueError):
    """Something needed to work out when an item falls due again is missing; ``faults`` says what, by field."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__(" ".join(faults.values()))
        self.faults = dict(faults)


def next_due(kind: str, due_on: date | None, interval: Interval, met: Met) -> NextDue:
    """When an item of ``kind``, due on ``due_on`` before, falls due again after it was ``met``.

    An MOT by the rule of its certificate; what has an interval by that, counted from the day and the miles at
    which it was done; cover and credentials on the day that was told, or after as long as their kind usually
    runs. A day that was told goes before any rule. Raises CannotRollOn.
    """
    rules = DUE_KINDS[kind]
    faults: dict[str, str] = {}
    if met.next_due_on is None and rules.is_cover and rules.usual_months is None:
        faults["next_due_on"] = f"Say until when the new {rules.words} runs."
    if met.next_due_on is not None and met.next_due_on <= met.done_on:
        faults["next_due_on"] = "The next day must lie after the day it was done."
    if interval.miles is not None and met.odometer is None:
        faults["odometer"] = "Give the odometer reading: the next one falls due by miles."
    if faults:
        raise CannotRollOn(faults)
    miles = None
    if interval.miles is not None and met.odometer is not None:
        miles = met.odometer + interval.miles
    return NextDue(met.next_due_on or _day_by_rule(kind, due_on, interval, met.done_on), miles)


def _day_by_rule(kind: str, due_on: date | None, interval: Interval, done_on: date) -> date | None:
    rules = DUE_KINDS[kind]
    if rules.is_mot:
        return next_expiry(done_on, due_on)
    months = interval.months
    if months is None and interval.miles is None:
        months = rules.usual_months
    if months is None:
        return None
    following = add_months(done_on, months)
    # Cover begins on the day of renewal, so its last day is the one before the anniversary.
    return following - timedelta(days=1) if rules.is_cover else following


#: D10-9, secondary: DVSA takes a renewal in the last 30 days only; allow the criminal-record check three months.
_RENEWAL_OPENS_DAYS = 30
_RECORD_CHECK_MONTHS = 3


def adi_renewal_from(last_day: date) -> date:
    """The first day on which DVSA accepts the renewal of an ADI registration that ends on ``last_day``."""
    return last_day - timedelta(days=_RENEWAL_OPENS_DAYS)


def record_check_from(last_day: date) -> date:
    """The day by which to ask for the criminal-record check that the renewal needs."""
    return add_months(last_day, -_RECORD_CHECK_MONTHS)
