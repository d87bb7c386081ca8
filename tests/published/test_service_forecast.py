"""When a service by months or miles falls due, worked out by hand from the rule (status C)."""

from datetime import date

import pytest

from fleet.core.due import DueRecord, due_status
from fleet.core.odometer import Odometer, Pace, Reading

TODAY = date(2026, 3, 16)
#: 90 days: 15 of December, 31 of January, 28 of February, 16 of March; 1,800 miles in them, 20 a day.
DRIVEN = Odometer([Reading(date(2025, 12, 16), 46_200), Reading(TODAY, 48_000)])


@pytest.mark.parametrize(
    ("due_on", "due_miles", "forecast_on", "governing_on"),
    [
        # 500 miles to go at 20 a day are 25 days: 15 to the end of March and 10 of April.
        (None, 48_500, date(2026, 4, 10), date(2026, 4, 10)),
        # 510 miles are 25 1/2 days: reached in the course of the 26th.
        (None, 48_510, date(2026, 4, 11), date(2026, 4, 11)),
        # Whichever is first: the day by months, or the miles.
        (date(2026, 4, 2), 48_500, date(2026, 4, 10), date(2026, 4, 2)),
        (date(2026, 9, 1), 48_500, date(2026, 4, 10), date(2026, 4, 10)),
    ],
)
def test_a_service_falls_due_by_months_or_miles(
    due_on: date | None, due_miles: int, forecast_on: date, governing_on: date
) -> None:
    status = due_status(DueRecord("service", due_on, due_miles), TODAY, DRIVEN)
    assert (status.forecast_on, status.governing_on) == (forecast_on, governing_on)
    assert status.forecast is not None
    assert status.forecast.pace == Pace(1_800, 90, TODAY)
