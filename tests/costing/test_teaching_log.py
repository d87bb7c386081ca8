"""The page /lessons/new/: lessons and hours taught."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from config.fields import HoursField
from costing.models import TeachingRecord
from fleet.models import Car
from tests.costing.pages import HTMX, input_value, shown, teaching_data, text_of

TEACHING_LOG = reverse("costing:teaching-log")

needs_today = pytest.mark.usefixtures("today")


@needs_today
def test_a_day_of_lessons_is_logged(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(TEACHING_LOG, teaching_data(car))
    assert (response.status_code, response.url) == (303, reverse("costing:home"))
    record = TeachingRecord.objects.get()
    assert (record.car, record.member) == (car, car.keeper)
    assert (record.from_on, record.to_on) == (date(2026, 3, 16), date(2026, 3, 16))
    assert (record.lesson_count, record.minutes, record.private_miles) == (4, 360, 0)


@needs_today
def test_a_span_of_days_and_private_miles_are_logged(everyone: dict[str, Client], car: Car) -> None:
    sent = teaching_data(car, from_on="2026-03-09", to_on="2026-03-15", minutes="27:30", private_miles="1,040")
    everyone["keeper"].post(TEACHING_LOG, sent)
    record = TeachingRecord.objects.get()
    assert (record.from_on, record.to_on) == (date(2026, 3, 9), date(2026, 3, 15))
    assert (record.minutes, record.private_miles) == (1_650, 1_040)


@needs_today
@pytest.mark.parametrize("headers", [{}, HTMX])
def test_the_same_lessons_sent_twice_are_logged_once(
    everyone: dict[str, Client], car: Car, headers: dict[str, str]
) -> None:
    sent = teaching_data(car)
    everyone["keeper"].post(TEACHING_LOG, sent, headers=headers)
    again = everyone["keeper"].post(TEACHING_LOG, sent | {"minutes": "1"}, headers=headers, follow=True)
    assert "Already logged, nothing was added" in text_of(again)
    assert TeachingRecord.objects.get().minutes == 360


@needs_today
@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger", "anonymous"])
def test_nobody_logs_on_the_car_of_another(everyone: dict[str, Client], car: Car, colleague_car: Car, who: str) -> None:
    everyone[who].post(TEACHING_LOG, teaching_data(car))
    everyone[who].post(TEACHING_LOG, teaching_data(car), headers=HTMX)
    assert not TeachingRecord.objects.exists()


@needs_today
@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"minutes": "0"}, "minutes", "say how many hours they took"),
        ({"lesson_count": "0"}, "lesson_count", "how many lessons"),
        ({"lesson_count": "", "minutes": ""}, "lesson_count", "Give the lessons or the hours: 0 if there were none."),
        ({"minutes": "25"}, "minutes", "more hours than one day has"),
        (
            {"from_on": "2026-03-15", "to_on": "2026-03-16", "minutes": "49"},
            "minutes",
            "more hours than 2 days",
        ),
        ({"to_on": "2026-03-15"}, "to_on", "before the first"),
        ({"to_on": "2026-03-17"}, "to_on", "has not come yet"),
        ({"lesson_count": "2.5"}, "lesson_count", "This is not a whole number."),
        ({"minutes": "6,5"}, "minutes", "cannot be read"),
        ({"minutes": "1:75"}, "minutes", "cannot be read"),
        ({"private_miles": "-4"}, "private_miles", "This is less than 0"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], car: Car, changes: dict[str, str], field: str, words: str
) -> None:
    sent = teaching_data(car) | changes
    response = everyone["keeper"].post(TEACHING_LOG, sent)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert (input_value(page, "lesson_count") or "") == sent["lesson_count"]
    assert not TeachingRecord.objects.exists()


@needs_today
def test_private_miles_alone_may_be_logged(everyone: dict[str, Client], car: Car) -> None:
    sent = teaching_data(car, lesson_count="0", minutes="0", private_miles="120")
    everyone["keeper"].post(TEACHING_LOG, sent)
    assert TeachingRecord.objects.get().private_miles == 120


@needs_today
@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"lesson_count": "", "minutes": "6"}, (None, 360, 0)),
        ({"lesson_count": "4", "minutes": ""}, (4, None, 0)),
        ({"private_miles": ""}, (4, 360, None)),
        ({"lesson_count": "0", "minutes": "0"}, (0, 0, 0)),
        # No lessons take no hours.
        ({"lesson_count": "0", "minutes": ""}, (0, 0, 0)),
        ({"lesson_count": "", "minutes": "0", "private_miles": ""}, (0, 0, None)),
    ],
)
def test_what_is_left_empty_is_not_known_and_nought_is_none(
    everyone: dict[str, Client], car: Car, typed: dict[str, str], told: tuple[int | None, ...]
) -> None:
    everyone["keeper"].post(TEACHING_LOG, teaching_data(car, **typed))
    record = TeachingRecord.objects.get()
    assert (record.lesson_count, record.minutes, record.private_miles) == told


@needs_today
def test_no_private_miles_are_set_already(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(TEACHING_LOG).content.decode()
    assert input_value(page, "private_miles") == "0"
    assert input_value(page, "lesson_count") is None


@needs_today
def test_lists_and_histories_say_what_is_not_known(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, teaching_data(car, lesson_count="", private_miles=""))
    record = TeachingRecord.objects.get()
    address = reverse("costing:entry-correct", args=["lessons", record.pk])
    assert "not known, 16 March 2026, 6 hours, private miles not known" in shown(everyone["keeper"], address)
    everyone["keeper"].post(address, teaching_data(car, lesson_count="4", minutes="", private_miles="12"))
    page = shown(everyone["keeper"], address)
    assert "4 lessons, 16 March 2026, hours not known, 12 private miles" in page
    assert "Lesson count: not known became 4" in page
    assert "Minutes: 6 hours became not known" in page
    assert "Private miles: not known became 12" in page
    everyone["keeper"].post(address, teaching_data(car, lesson_count="0", minutes="0", private_miles="0"))
    assert "Corrected: Lessons, none, 16 March 2026, QA51 ABC." in shown(everyone["keeper"], address)


@given(minutes=st.integers(0, 9_000 * 60))
def test_hours_and_minutes_read_back_to_the_minute(minutes: int) -> None:
    assert HoursField().clean(f"{minutes // 60}:{minutes % 60:02}") == minutes


@given(minutes=st.integers(0, 9_000 * 60))
def test_hours_with_two_decimals_read_back_to_the_minute(minutes: int) -> None:
    hundredths = (minutes * 100 + 30) // 60
    assert HoursField().clean(f"{hundredths // 100}.{hundredths % 100:02}") == minutes
