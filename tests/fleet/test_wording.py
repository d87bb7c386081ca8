"""Due items in words. Today is Monday 16 March 2026."""

from datetime import date, timedelta

import pytest

from fleet.core.defects import OpenDefect, Severity
from fleet.core.due import CarFacts, DayUnknown, DueRecord, due_status, statuses_of_car
from fleet.core.odometer import Odometer, Reading
from fleet.core.readiness import NOTHING_WRONG
from fleet.core.verdict import teacher_verdict, verdict_of
from fleet.wording import (
    distance,
    forecast_words,
    reason_words,
    sentence,
    teacher_words,
    to_do,
    tuition_words,
    verdict_words,
    when,
    when_booked,
    window_words,
)

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


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (DueRecord("mot", date(2026, 4, 9)), "MOT runs out in 24 days"),
        (DueRecord("mot", date(2026, 3, 17)), "MOT runs out tomorrow"),
        (DueRecord("mot", TODAY), "MOT runs out today"),
        (DueRecord("mot", date(2026, 3, 15)), "MOT ran out yesterday"),
        (DueRecord("insurance", date(2026, 3, 1)), "Insurance ran out 15 days ago"),
        (DueRecord("insurance", date(2026, 5, 9)), "Insurance runs out on 9 May"),
        (DueRecord("insurance", date(2027, 3, 1)), "Insurance runs out on 1 March 2027"),
        (DueRecord("insurance"), "Not known: insurance"),
        (DueRecord("service", date(2026, 4, 4)), "Service due in 19 days"),
        (DueRecord("service", date(2026, 3, 4)), "Service was due 12 days ago"),
        (DueRecord("service", None, 48_200), "Service due in about 10 days"),
        (DueRecord("service", None, 49_000), "Service due about 5 May"),
        (DueRecord("service", None, 48_000), "Service due about today"),
        (DueRecord("service", None, 47_800), "Service was due about 10 days ago"),
        (DueRecord("service", date(2026, 4, 4), None, date(2026, 3, 19)), "Service booked for Thursday"),
        (DueRecord("mot", date(2026, 4, 4), None, date(2026, 4, 1)), "MOT booked for 1 April"),
    ],
)
def test_what_falls_due_is_said_in_a_sentence(record: DueRecord, words: str) -> None:
    status = due_status(record, TODAY, DRIVEN)
    assert sentence(status.kind.replace("_", " ").capitalize().replace("Mot", "MOT"), status, TODAY) == words


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (DueRecord("mot", date(2026, 4, 4)), "4 April 2026, in 19 days"),
        (
            DueRecord("mot", date(2026, 4, 4), None, date(2026, 4, 1)),
            "booked for 1 April 2026; due on 4 April 2026, in 19 days",
        ),
        (
            DueRecord("service", None, 48_200, date(2026, 3, 19)),
            "booked for 19 March 2026; due at 48,200 miles, about 26 March 2026, in 10 days",
        ),
        (DueRecord("mot", date(2026, 3, 20), None, date(2026, 3, 15)), "20 March 2026, in 4 days"),
    ],
)
def test_of_what_is_booked_the_booked_day_is_said_first(record: DueRecord, words: str) -> None:
    assert when_booked(due_status(record, TODAY, DRIVEN)) == words


def test_the_verdict_on_a_car_is_one_sentence() -> None:
    titles = {"mot": "MOT", "insurance": "Insurance", "other": "Roof sign"}

    def said(*records: DueRecord, defects: tuple[OpenDefect, ...] = ()) -> str:
        statuses = [due_status(record, TODAY, DRIVEN) for record in records]
        verdict = verdict_of(statuses, NOTHING_WRONG._replace(defects=defects))
        return verdict_words(verdict, "QA51 ABC", titles, TODAY).replace("\xa0", " ")

    chip, scratch = (OpenDefect(key, Severity.WATCH, words, TODAY) for key, words in enumerate(["Chip", "Scratch"]))
    later = DueRecord("mot", date(2026, 9, 1))
    assert said(later) == "Nothing against QA51 ABC"
    assert said(later, defects=(chip,)) == "Keep an eye on: Chip"
    assert said(later, defects=(chip, scratch)) == "Keep an eye on: Chip and 1 more"
    assert said(later, DueRecord("other", date(2026, 3, 23)), defects=(chip,)) == "Roof sign due in 7 days"
    assert said(DueRecord("mot"), DueRecord("insurance"), later) == "Not known: MOT, insurance"
    assert said(later, DueRecord("mot", date(2026, 3, 15))) == "QA51 ABC is off the road"


def test_a_mileage_without_a_forecast_says_why() -> None:
    status = due_status(DueRecord("service", due_miles=48_200), TODAY, Odometer([]))
    assert when(status) == "48,200 miles: no forecast, as there is no odometer reading"
    assert forecast_words(status) == ""


def test_a_forecast_says_what_it_rests_on() -> None:
    ahead = due_status(DueRecord("service", due_miles=48_200), TODAY, DRIVEN)
    assert forecast_words(ahead) == (
        "Forecast from 1,800 miles in 90 days before the odometer was last read on 16 March 2026, today."
    )
    past = due_status(DueRecord("service", due_miles=47_800), TODAY, DRIVEN)
    assert forecast_words(past) == "By the odometer, last read on 16 March 2026, today."


def test_a_day_that_only_a_forecast_calls_past_asks_for_a_reading() -> None:
    # Last read 35 days before the day asked for; 20 miles a day.
    on = TODAY + timedelta(days=35)
    status = due_status(DueRecord("service", due_miles=48_000), on, DRIVEN)
    assert when(status) == "48,000 miles: by forecast, about 35 days ago: read the odometer"
    assert sentence("Service", status, on) == "Service: by forecast, about 35 days ago: read the odometer"
    assert forecast_words(status).endswith("last read on 16 March 2026, 35 days ago.")
    yesterday = due_status(DueRecord("service", due_miles=48_000), TODAY + timedelta(days=1), DRIVEN)
    assert when(yesterday) == "48,000 miles: by forecast, about yesterday: read the odometer"


def test_what_is_booked_and_overdue_says_what_the_booking_does_not_change() -> None:
    late = due_status(DueRecord("mot", date(2026, 3, 14), None, date(2026, 3, 20)), TODAY, DRIVEN)
    assert when_booked(late) == (
        "14 March 2026, 2 days overdue, booked for 20 March 2026; until it has passed the car stays off the road"
    )
    assert sentence("MOT", late, TODAY) == "MOT ran out 2 days ago, booked for Friday"
    [reason] = verdict_of([late], NOTHING_WRONG).reasons
    assert reason_words(reason) == (
        "MOT ran out on 14 March 2026, booked for 20 March 2026; until it has passed the car stays off the road"
    )
    service = due_status(DueRecord("service", date(2026, 3, 14), None, date(2026, 3, 20)), TODAY, DRIVEN)
    assert when_booked(service) == "14 March 2026, 2 days overdue, booked for 20 March 2026"
    over = due_status(DueRecord("mot", date(2026, 3, 14), None, date(2026, 3, 15)), TODAY, DRIVEN)
    assert when_booked(over) == "14 March 2026, 2 days overdue"


def test_a_first_mot_that_nobody_recorded_never_ran_out() -> None:
    facts = CarFacts(date(2023, 3, 16), date(2024, 1, 8), "GB", DRIVEN)
    mot = statuses_of_car([], facts, TODAY)[0]
    assert when(mot) == "needed from 16 March 2026 on, and none is recorded"
    assert sentence("MOT", mot, TODAY) == "MOT needed, and none recorded"
    [reason] = verdict_of([mot], NOTHING_WRONG).reasons
    assert reason_words(reason) == "No MOT recorded, and it needs one from 16 March 2026 on"


def test_an_insurance_in_doubt_says_why_and_what_to_do() -> None:
    facts = CarFacts(None, TODAY, "GB", DRIVEN, {"insurance": DayUnknown.TUITION_NOT_CONFIRMED})
    listed = statuses_of_car([DueRecord("insurance", date(2026, 3, 20))], facts, TODAY)
    insured = next(status for status in listed if status.kind == "insurance")
    assert when(insured) == ("recorded until 20 March 2026, but nobody has confirmed that the policy covers tuition")
    assert sentence("Insurance", insured, TODAY) == "Not known: insurance"
    assert to_do(insured).startswith("Look in the policy")


@pytest.mark.parametrize(
    ("days_left", "words"),
    [
        (400, ""),
        (30, "ADI registration runs out in 30 days"),
        (-3, "No paid lessons: ADI registration ran out 3 days ago"),
        (None, "Not known: registration or licence to teach"),
    ],
)
def test_the_verdict_on_a_teacher_is_one_sentence(days_left: int | None, words: str) -> None:
    due_on = None if days_left is None else TODAY + timedelta(days=days_left)
    status = due_status(DueRecord("adi_registration", due_on), TODAY, DRIVEN)
    assert teacher_words(teacher_verdict([status]), TODAY) == words


def test_what_to_do_about_an_mot_names_the_first_day_that_loses_none() -> None:
    soon = due_status(DueRecord("mot", date(2026, 5, 15)), TODAY, DRIVEN)
    assert to_do(soon) == "Book an MOT test. If it passes on or after 16 April 2026, no days are lost."
    late = due_status(DueRecord("mot", date(2026, 3, 15)), TODAY, DRIVEN)
    assert to_do(late) == "Book an MOT test."
    month_end = due_status(DueRecord("mot", date(2026, 3, 31)), date(2026, 2, 16), DRIVEN)
    assert "on or after 1 March 2026 (check that day with the test station)" in to_do(month_end)


@pytest.mark.parametrize(
    ("expiry", "on", "words"),
    [
        (date(2026, 4, 16), date(2026, 3, 16), "on or after 17 March 2026, no"),
        (date(2026, 4, 15), date(2026, 3, 16), "from now on, no"),
        (date(2026, 3, 31), date(2026, 3, 3), "on or after 1 March 2026 (check that day with the test station), no"),
        (date(2026, 3, 31), date(2026, 3, 4), "from now on, no"),
    ],
)
def test_of_a_window_that_is_open_no_past_day_is_named(expiry: date, on: date, words: str) -> None:
    assert words in window_words(expiry, on)


def test_in_northern_ireland_it_is_dva() -> None:
    soon = due_status(DueRecord("mot", date(2026, 5, 15)), TODAY, DRIVEN)
    assert to_do(soon, "NI").startswith("Book a vehicle test with DVA. If it passes on or after 16 April 2026")


def test_an_adi_registration_says_when_to_begin_and_when_it_is_taken() -> None:
    def asked(due_on: date) -> str:
        return to_do(due_status(DueRecord("adi_registration", due_on), TODAY, DRIVEN))

    assert asked(date(2026, 6, 30)).endswith("Ask for the check by 30 March 2026; renew from 31 May 2026.")
    # Nothing is asked for by a day that has passed.
    assert asked(date(2026, 5, 31)).endswith("Ask for the check now; renew from 1 May 2026.")
    assert asked(date(2026, 3, 31)).endswith("Ask for the check now; renew now.")
    soon = due_status(DueRecord("adi_registration", date(2026, 6, 30)), TODAY, DRIVEN)
    assert "renew from" not in to_do(soon, "NI")


def test_a_policy_nobody_has_looked_at_is_not_known_to_cover_tuition() -> None:
    assert tuition_words(None).startswith("Covers driving tuition: not known.")
    assert tuition_words(True, TODAY) == "Covers driving tuition: yes, checked on 16 March 2026."
