"""Whether an odometer can be right: what it showed before and after, how far the car runs, and what may be meant."""

from datetime import date, timedelta

import pytest

from fleet.core.odometer import Reading
from fleet.core.plausible import odometer
from fleet.core.plausible.checks import weigh
from fleet.core.plausible.doubt import Doubt
from fleet.core.plausible.slips import as_text, days_meant, undone

MONDAY = date(2026, 11, 23)
#: 46 miles a day up to Monday, when it shows 41,518.
USUAL = [Reading(MONDAY - timedelta(days=4 * number), 41_518 - 184 * number) for number in range(30)]


def doubts(miles: int, day: date = date(2026, 11, 26), readings: list[Reading] = USUAL) -> list[Doubt]:
    limits, typed = odometer.limits(readings), {"odometer": miles, "filled_on": day.isoformat()}
    return weigh(
        typed,
        lambda tried: list(odometer.checks(tried, limits, "odometer", "filled_on")),
        lambda: odometer.candidates(typed, limits, "odometer", "filled_on"),
        lambda field, value: str(value),
    )


def meant(found: list[Doubt]) -> list[str]:
    return [meaning.changes[0].value for meaning in found[0].meanings]


@pytest.mark.parametrize("miles", [41_518, 41_700, 42_060])
def test_the_usual_miles_and_a_long_trip_are_plausible(miles: int) -> None:
    assert doubts(miles) == []


def test_a_nought_too_many_is_asked_about_with_what_is_meant() -> None:
    (doubt,) = doubts(417_000)
    assert (doubt.field, doubt.reason, doubt.may_be_right) == ("odometer", "odometer_far", True)
    assert doubt.figures["miles"] == 375_482
    assert doubt.figures["since"] == "2026-11-23"
    assert doubt.figures["usual"] == 46
    assert doubt.key == "odometer_far:417000|2026-11-26"
    assert meant([doubt])[0] == "41700"


@pytest.mark.parametrize(
    ("typed", "right"),
    [
        (4_170, "41700"),  # the last digit left out
        (411_700, "41700"),  # one doubled
        (14_700, "41700"),  # two swapped
        (1_700, "41700"),  # the first left out
        (51_700, "41700"),  # another digit
        (182, "41700"),  # the trip
        (700, "41700"),  # the last three digits
    ],
)
def test_other_slips_are_undone(typed: int, right: str) -> None:
    assert right in meant(doubts(typed))


def test_it_never_falls_and_that_is_no_question() -> None:
    (doubt,) = doubts(41_517)
    assert (doubt.reason, doubt.may_be_right) == ("odometer_low", False)
    (doubt,) = doubts(41_519, MONDAY - timedelta(days=1))
    assert (doubt.reason, doubt.may_be_right) == ("odometer_high", False)
    assert doubt.figures["next"] == 41_518


def test_without_readings_only_what_no_car_shows_is_doubted() -> None:
    assert doubts(120_000, readings=[]) == []
    (doubt,) = doubts(417_000, readings=[])
    assert doubt.reason == "odometer_most"
    assert "41700" in meant([doubt])


def test_with_few_readings_the_road_sets_the_limit() -> None:
    few = USUAL[:2]
    assert doubts(43_000, readings=few) == []
    (doubt,) = doubts(45_000, readings=few)
    assert doubt.reason == "odometer_far_new"


def test_the_highest_of_a_day_and_the_last_sixty_days_count() -> None:
    many = [Reading(MONDAY - timedelta(days=day), 50_000 - 40 * day) for day in range(100)]
    known = odometer.limits([*many, Reading(MONDAY, 49_999)])
    assert len(known["readings"]) == 60
    assert known["readings"][-1] == ["2026-11-23", 50_000]


def test_slips_are_undone_once_each_and_never_to_nought() -> None:
    found = [slip.value for slip in undone(5_184, 2)]
    assert len(found) == len(set(found))
    assert not {0, 5_184} & set(found)
    assert {51_840, 518_400, 1_584, 584} <= set(found)
    assert 518 not in found, "a tenth of £51.84 is no sum"
    assert 36_280 in [slip.value for slip in undone(36_228, 3)]


def test_a_number_is_written_as_one_types_it() -> None:
    assert [as_text(*one) for one in ((41_700, 0), (1_590, 2), (5, 2), (36_280, 3), (40_000, 3))] == [
        *("41700", "15.9", "0.05", "36.28", "40")
    ]


def test_days_that_may_be_meant_exist() -> None:
    found = [day for _, day in days_meant(date(2026, 12, 31))]
    assert date(2025, 12, 31) in found
    assert date(2026, 12, 31) not in found
    assert [day for _, day in days_meant(date(2028, 2, 29))] == [date(2028, 3, 29), date(2028, 1, 29)]
    assert date(2026, 3, 11) in [day for _, day in days_meant(date(2026, 11, 3))]


def test_readings_may_be_taken_in_one_by_one_in_any_order() -> None:
    readings = [Reading(MONDAY + timedelta(days=3 * week), 40_000 + 190 * week) for week in range(9)]
    known = odometer.limits(readings)
    assert known["tenths_a_day"] == 633
    for order in (readings, readings[::-1], readings[::2] + readings[1::2]):
        shown = odometer.Shown()
        for reading in order:
            shown.read(reading)
        assert shown.limits() == known


def test_the_highest_of_a_day_counts_whichever_is_read_first() -> None:
    low, high = Reading(MONDAY, 40_000), Reading(MONDAY, 40_090)
    later = Reading(MONDAY + timedelta(days=3), 40_300)
    for order in ([low, high, later], [high, low, later], [later, high, low]):
        shown = odometer.Shown()
        for reading in order:
            shown.read(reading)
        assert shown.limits()["readings"] == [[MONDAY.isoformat(), 40_090], [later.read_on.isoformat(), 40_300]]
