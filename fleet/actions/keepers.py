"""Handing a car over, and leaving it without a keeper: the only writers of who keeps a car from when to when."""

from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config.history import delete_as, lock, save_as
from config.showing import day
from fleet.actions.acts import notify
from fleet.actions.defects import tell_new_keeper
from fleet.actions.odometer import lock_car, record_reading, refuse_future
from fleet.core.days import ONE_DAY
from fleet.core.due import State
from fleet.core.registration import show
from fleet.models import Car, KeeperTime
from fleet.queries import defects_of, due_report, raw_readings_of
from fleet.wording import when
from instructors.models import ActKind, Member

#: The states of what a taker must see to.
_PRESSING = (State.OVERDUE, State.UNKNOWN, State.DUE)


@transaction.atomic
def hand_over(*, by: Member, car: Car, keeper: Member, on: date, odometer: int) -> Car:
    """Hand the car over to ``keeper`` on a day on which it showed ``odometer`` miles; a loan is two handovers.

    That day is still the former keeper's; the taker's time begins the day after. What was logged stays with whoever
    logged it. A handover on the day of the one before takes that one's place, so that a slip is put right the same day.
    Both keepers are mailed, and the new one about each defect that keeps the car off the road. The same again changes
    nothing. Raises PermissionError unless ``by`` is a coordinator, and ValidationError on ``keeper`` for somebody who
    has left, on ``on`` for a day to come or before the present keeper's time, on ``odometer`` if it would fall.
    """
    # Before the car, as whoever is erased is locked before any car.
    keeper = lock(keeper, lets_refer=True)
    current = _locked(by, car, on)
    if not keeper.belongs_on(timezone.localdate()):
        raise ValidationError({"keeper": "Choose somebody who is still a member."})
    times = _times(current)
    if current.keeper == keeper and times[-1].to_on is None:
        return current
    _refuse_before(times, on)
    record_reading(by=by, car=current, read_on=on, miles=odometer, field="odometer")
    was = current.keeper if times[-1].to_on is None else None
    _end_or_take_back(by, times, on)
    last = times[-1]
    if last.keeper == keeper and last.to_on == on:  # what was handed over today came back at once
        last.to_on = None
        save_as(by, last, "to_on")
    else:
        save_as(by, KeeperTime(car=current, keeper=keeper, from_on=on + ONE_DAY))
    current.keeper = keeper
    save_as(by, current, "keeper")
    told = [was, keeper] if was else [keeper]
    notify(by, current, {"keeper": (was, keeper), "handed_over_on": (None, on)}, to=told, kind=ActKind.CAR)
    _tell_condition(by, current)
    tell_new_keeper(current)
    return current


@transaction.atomic
def end_time(*, by: Member, car: Car, on: date, odometer: int) -> Car:
    """Leave the car without a keeper after a day on which it showed ``odometer`` miles.

    ``Car.keeper`` stays the one who had it last. The keeper is mailed. The same again changes nothing. Raises
    PermissionError unless ``by`` is a coordinator, and ValidationError as ``hand_over`` does.
    """
    current = _locked(by, car, on)
    times = _times(current)
    if times[-1].to_on is not None:
        return current
    _refuse_before(times, on)
    record_reading(by=by, car=current, read_on=on, miles=odometer, field="odometer")
    _end_or_take_back(by, times, on)
    changes = {"keeper": (current.keeper, None), "handed_over_on": (None, on)}
    notify(by, current, changes, to=[current.keeper], kind=ActKind.CAR)
    if times[-1].keeper != current.keeper:
        current.keeper = times[-1].keeper
        save_as(by, current, "keeper")
    return current


def _tell_condition(by: Member, car: Car) -> None:
    """Tell the taker in the same mail what is wrong with the car and what falls due on it: never of any money."""
    defects = [defect.description for defect in defects_of(car) if defect.closed_on is None]
    report = due_report(timezone.localdate(), cars=[car])
    items = [line for due in report.cars for line in due.items if line.status.state in _PRESSING]
    pressing = [f"{line.title}: {when(line.status)}" for line in items]
    found = {"defects_open": (None, "; ".join(defects)), "items_pressing": (None, "; ".join(pressing))}
    told = {field: words for field, words in found.items() if words[1]}
    notify(by, car, told, to=[car.keeper], kind=ActKind.CONDITION)


def _locked(by: Member, car: Car, on: date) -> Car:
    if not by.is_coordinator:
        raise PermissionError("only a coordinator says who keeps a car")
    refuse_future("on", on)
    return lock_car(car)


def _times(car: Car) -> list[KeeperTime]:
    """The car's times, oldest first; of a car without any, its keeper's from its first day on, not saved yet."""
    times = list(KeeperTime.objects.filter(car=car).select_related("keeper").order_by("from_on"))
    if times:
        return times
    read_on = (reading.read_on for reading in raw_readings_of([car.pk])[car.pk])
    return [KeeperTime(car=car, keeper=car.keeper, from_on=min([car.in_service_from, *read_on]))]


def _refuse_before(times: list[KeeperTime], on: date) -> None:
    """Refuse a day on which the last time cannot end. It may end on the day it was taken over: then it never was."""
    *before, last = times
    earliest = last.to_on or (last.from_on - ONE_DAY if before else last.from_on)
    if on < earliest:
        had = f"{last.keeper.name} has kept {show(last.car.registration)} since {day(last.from_on)}"
        raise ValidationError({"on": f"{had}: give that day or a later one."})


def _end_or_take_back(by: Member, times: list[KeeperTime], on: date) -> None:
    """End the last time on that day; one without any days goes, and the one before it is the last."""
    last = times[-1]
    if last.to_on is not None:
        return
    if on < last.from_on:
        delete_as(by, times.pop())
    else:
        last.to_on = on
        save_as(by, last)
