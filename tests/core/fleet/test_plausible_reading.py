"""Whether a reading that comes alone can be right, on its day or one set before."""

from datetime import date, timedelta

import pytest

from fleet.core.odometer import Reading
from fleet.core.plausible import reading
from fleet.core.plausible.doubt import Doubt

TODAY = date(2026, 2, 5)
#: 33 miles a day.
KNOWN = [Reading(date(2026, 1, 1) + timedelta(days=3 * number), 40_000 + 100 * number) for number in range(11)]


def doubts(miles: int, on: date = TODAY, *, day_is_set: bool = False) -> list[Doubt]:
    typed = {"odometer": miles, "on": on.isoformat()}
    return reading.doubts(typed, reading.limits(KNOWN, TODAY), "odometer", "on", day_is_set=day_is_set)


def meant(doubt: Doubt) -> list[tuple[str, str]]:
    return [(change.field, change.value) for meaning in doubt.meanings for change in meaning.changes]


def test_the_next_reading_is_plausible() -> None:
    assert doubts(41_150) == []


def test_a_missing_nought_is_meant_with_it_and_cannot_be_right() -> None:
    (doubt,) = doubts(4_110)
    assert (doubt.field, doubt.reason, doubt.may_be_right) == ("odometer", "odometer_low", False)
    assert ("odometer", "41100") in meant(doubt)


def test_another_year_is_meant_where_the_day_was_typed_and_asked_about_at_the_miles() -> None:
    (doubt,) = doubts(41_100, date(2025, 2, 4))
    assert (doubt.field, doubt.reason) == ("odometer", "odometer_high")
    assert ("on", "2026-02-04") in meant(doubt)
    (doubt,) = doubts(41_100, date(2025, 2, 4), day_is_set=True)
    assert "on" not in {field for field, _ in meant(doubt)}


def test_a_day_of_long_ago_is_asked_about() -> None:
    assert {doubt.reason for doubt in doubts(10, date(2016, 2, 5))} == {"day_old"}
    assert reading.written("on", None) == ""


@pytest.mark.parametrize(("miles", "reasons"), [(14_170, set()), (141_700, {"odometer_far_new"})])
def test_a_car_that_is_new_to_the_book_is_asked_about_by_its_age(miles: int, reasons: set[str]) -> None:
    limits = reading.limits_when_new(date(2025, 2, 5), TODAY)
    found = reading.doubts({"odometer": miles, "on": "2026-02-05"}, limits, "odometer", "on", day_is_set=True)
    assert {doubt.reason for doubt in found} == reasons
    assert reading.limits_when_new(None, TODAY)["odometer"]["readings"] == []
