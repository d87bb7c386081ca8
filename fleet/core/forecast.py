"""The day on which a car reaches a mileage, by the pace of its readings, and what that rests on."""

from datetime import date
from typing import NamedTuple

from fleet.core.odometer import NoForecast, Odometer, Pace, pace_of


class Forecast(NamedTuple):
    """The day on which a mileage is reached, and what that rests on.

    ``is_past``: a reading shows more, and ``on`` is the last day at the end of which the car had done no more, as the
    readings tell. Otherwise ``on`` is foretold by the ``pace``, from the day of the last reading on, and may be past
    too: then nobody knows whether it is so. ``pace`` is None where the readings give none, ``age`` the days since the
    last of them.
    """

    on: date
    is_past: bool
    last_read_on: date
    age: int
    pace: Pace | None = None


def forecast_mileage(due_miles: int, odometer: Odometer, on: date) -> Forecast | NoForecast:
    """The day on which ``due_miles`` is reached, as foretold on ``on``; later readings are not used."""
    known = odometer.until(on)
    if not known:
        return NoForecast.NO_READINGS
    last_on, pace = known.last_on, pace_of(known)
    age, ahead = (on - last_on).days, due_miles - known.at(last_on)
    if ahead < 0:
        return Forecast(known.last_day_up_to(due_miles), True, last_on, age, pace if isinstance(pace, Pace) else None)
    if not isinstance(pace, Pace):
        return pace
    reached_on = pace.day_after(ahead)
    return reached_on if isinstance(reached_on, NoForecast) else Forecast(reached_on, False, last_on, age, pace)
