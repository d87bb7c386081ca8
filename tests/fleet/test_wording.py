"""Due items in words. Today is Monday 16 March 2026."""

from datetime import date, timedelta

import pytest

from fleet.core.due import DueRecord, due_status
from fleet.core.odometer import Odometer, Reading
from fleet.wording import distance, forecast_words, to_do, tuition_words, when

TODAY = date(2026, 3, 16)
DRIVEN = Odometer([Reading(TODAY - timedelta(days=90), 46_200), Reading(TODAY, 48_000)])


@pytest.mark.parametrize(
    ("days_left", "words"),
    [
        (30, "in 30 days"),
        (2, "in 2 days"),
        (1, "tomorrow"),
        (0, "today"),
        (-1, "1 day overdue"),
        (-3, "3 days overdue"),
    ],
)
def test_how_far_off_a_day_is(days_left: int, words: str) -> None:
    assert distance(days_left) == words


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (DueRecord("mot", date(2026, 3, 23)), "23 March 2026, in 7 days"),
        (DueRecord("mot"), "nothing is recorded"),
        (DueRecord("service", None, 48_200), "48,200 miles, about 26 March 2026, in 10 days"),
        (DueRecord("service", date(2026, 3, 23), 48_200), "23 March 2026, in 7 days"),
        (DueRecord("service", None, 47_800), "47,800 miles, passed about 6 March 2026, 10 days overdue"),
    ],
)
def test_when_an_item_is_due(record: DueRecord, words: str) -> None:
    assert when(due_status(record, TODAY, DRIVEN)) == words


def test_a_mileage_without_a_forecast_says_why() -> None:
    status = due_status(DueRecord("service", due_miles=48_200), TODAY, Odometer([]))
    assert when(status) == "48,200 miles: no forecast, as there is no odometer reading"
    assert forecast_words(status) == ""


def test_a_forecast_says_what_it_rests_on() -> None:
    ahead = due_status(DueRecord("service", due_miles=48_200), TODAY, DRIVEN)
    assert forecast_words(ahead) == "Forecast from 1,800 miles in 90 days; last read on 16 March 2026."
    past = due_status(DueRecord("service", due_miles=47_800), TODAY, DRIVEN)
    assert forecast_words(past) == "By the odometer, last read on 16 March 2026."


def test_what_to_do_about_an_mot_names_the_first_day_that_loses_none() -> None:
    soon = due_status(DueRecord("mot", date(2026, 5, 15)), TODAY, DRIVEN)
    assert to_do(soon) == "Book an MOT test. If it passes on or after 16 April 2026, no days are lost."
    late = due_status(DueRecord("mot", date(2026, 3, 15)), TODAY, DRIVEN)
    assert to_do(late) == "Book an MOT test."
    month_end = due_status(DueRecord("mot", date(2026, 3, 31)), TODAY, DRIVEN)
    assert "on or after 1 March 2026 (check that day with the test station)" in to_do(month_end)


def test_in_northern_ireland_it_is_dva() -> None:
    soon = due_status(DueRecord("mot", date(2026, 5, 15)), TODAY, DRIVEN)
    assert to_do(soon, "NI").startswith("Book a vehicle test with DVA. If it passes on or after 16 April 2026")


def test_an_adi_registration_says_when_to_begin_and_when_it_is_taken() -> None:
    soon = due_status(DueRecord("adi_registration", date(2026, 3, 31)), TODAY, DRIVEN)
    assert to_do(soon).endswith("Ask for the check by 31 December 2025; renew from 1 March 2026.")
    assert "renew from" not in to_do(soon, "NI")


def test_a_policy_nobody_has_looked_at_is_not_known_to_cover_tuition() -> None:
    assert tuition_words(None).startswith("Covers driving tuition: not known.")
    assert tuition_words(True, TODAY) == "Covers driving tuition: yes, checked on 16 March 2026."
