"""The page of one entry: a record of lessons, put right."""

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from config.fields import HoursField
from costing.models import TeachingRecord
from fleet.models import Car
from tests.costing.pages import input_value, lessons_data, shown, text_of
from tests.factories import TeachingRecordFactory

needs_today = pytest.mark.usefixtures("today")


@pytest.fixture
def address(car: Car) -> str:
    """The page of a record of 9 lessons in 13 hours."""
    record = TeachingRecordFactory(car=car, lesson_count=9, minutes=780, from_on="2026-03-02", to_on="2026-03-08")
    return reverse("costing:entry-correct", args=["lessons", record.pk])


@needs_today
@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"minutes": "0"}, "minutes", "say how many hours they took"),
        ({"lesson_count": "0"}, "lesson_count", "how many lessons"),
        ({"lesson_count": "", "minutes": ""}, "lesson_count", "Give the lessons or the hours: 0 if there were none."),
        ({"minutes": "25"}, "minutes", "more hours than one day has"),
        ({"from_on": "2026-03-15", "to_on": "2026-03-16", "minutes": "49"}, "minutes", "more hours than 2 days"),
        ({"to_on": "2026-03-15"}, "to_on", "before the first"),
        ({"to_on": "2026-03-17"}, "to_on", "has not come yet"),
        ({"lesson_count": "2.5"}, "lesson_count", "This is not a whole number."),
        ({"minutes": "6,5"}, "minutes", "cannot be read"),
        ({"minutes": "1:75"}, "minutes", "cannot be read"),
        ({"private_miles": "-4"}, "private_miles", "This is less than 0"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], address: str, changes: dict[str, str], field: str, words: str
) -> None:
    sent = lessons_data(**changes)
    response = everyone["keeper"].post(address, sent)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert (input_value(page, "lesson_count") or "") == sent["lesson_count"]
    assert TeachingRecord.objects.get().lesson_count == 9


@needs_today
@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"lesson_count": "", "minutes": "6"}, (None, 360, 0)),
        ({"lesson_count": "4", "minutes": ""}, (4, None, 0)),
        ({"private_miles": ""}, (4, 360, None)),
        ({"lesson_count": "0", "minutes": "0", "private_miles": "120"}, (0, 0, 120)),
        # No lessons take no hours.
        ({"lesson_count": "0", "minutes": ""}, (0, 0, 0)),
        ({"lesson_count": "", "minutes": "0", "private_miles": ""}, (0, 0, None)),
    ],
)
def test_what_is_left_empty_is_not_known_and_nought_is_none(
    everyone: dict[str, Client], address: str, typed: dict[str, str], told: tuple[int | None, ...]
) -> None:
    everyone["keeper"].post(address, lessons_data(**typed))
    record = TeachingRecord.objects.get()
    assert (record.lesson_count, record.minutes, record.private_miles) == told


@needs_today
def test_lists_and_histories_say_what_is_not_known(everyone: dict[str, Client], address: str) -> None:
    everyone["keeper"].post(address, lessons_data(lesson_count="", private_miles=""))
    assert "not known, 16 March 2026, 6 hours, private miles not known" in shown(everyone["keeper"], address)
    everyone["keeper"].post(address, lessons_data(minutes="", private_miles="12"))
    page = shown(everyone["keeper"], address)
    assert "4 lessons, 16 March 2026, hours not known, 12 private miles" in page
    assert "Lesson count: not known became 4" in page
    assert "Minutes: 6 hours became not known" in page
    assert "Private miles: not known became 12" in page
    everyone["keeper"].post(address, lessons_data(lesson_count="0", minutes="0", private_miles="0"))
    assert "Corrected: Lessons, none, 16 March 2026, QA51 ABC." in shown(everyone["keeper"], address)


@given(minutes=st.integers(0, 9_000 * 60))
def test_hours_and_minutes_read_back_to_the_minute(minutes: int) -> None:
    assert HoursField().clean(f"{minutes // 60}:{minutes % 60:02}") == minutes


@given(minutes=st.integers(0, 9_000 * 60))
def test_hours_with_two_decimals_read_back_to_the_minute(minutes: int) -> None:
    hundredths = (minutes * 100 + 30) // 60
    assert HoursField().clean(f"{hundredths // 100}.{hundredths % 100:02}") == minutes
