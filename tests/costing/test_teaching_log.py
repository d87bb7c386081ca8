"""The page /lessons/new/: a week of lessons, a stepper a day."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.actions import log_week
from costing.core.week import DayShare
from costing.models import Batch, TeachingRecord
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import input_value, new_ref, shown, text_of, week_data
from tests.factories import CarFactory, TeachingRecordFactory

TEACHING_LOG = reverse("costing:teaching-log")
JSON = {"Accept": "application/json"}
#: The Monday of the week before the day that the tests call today, which is a Monday too.
MONDAY = date(2026, 3, 9)

pytestmark = pytest.mark.usefixtures("today")


def standing() -> list[tuple[date, int | None, int | None, int | None]]:
    rows = TeachingRecord.objects.standing().order_by("from_on", "pk")
    assert all(one.from_on == one.to_on for one in rows)
    return [(one.from_on, one.lesson_count, one.minutes, one.private_miles) for one in rows]


def test_a_week_is_a_record_a_day_and_its_sums_are_exact(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(TEACHING_LOG, week_data(car))
    assert (response.status_code, response.url) == (303, reverse("costing:home"))
    assert standing() == [
        (MONDAY + timedelta(days=number), lessons, lessons * 75, private)
        for number, (lessons, private) in enumerate(zip((6, 5, 6, 0, 6, 3), (6, 7, 7, 6, 7, 7), strict=True))
    ]
    batch = Batch.objects.get()
    assert (batch.kind, batch.member) == ("week", car.keeper)
    home = everyone["keeper"].get(reverse("costing:home"))
    assert "Logged: 26 lessons, 32.5 hours, 9 to 14 March 2026, QA51 ABC." in text_of(home)
    assert reverse("costing:batch-undo", args=[batch.pk]) in home.content.decode()


def test_hours_typed_over_the_sum_are_shared_by_lessons(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, week_data(car, hours="30", private_miles=""))
    assert [row[2] for row in standing()] == [415, 346, 415, 0, 416, 208]
    assert [row[3] for row in standing()] == [None] * 6


def test_the_same_week_sent_twice_is_logged_once(everyone: dict[str, Client], car: Car) -> None:
    sent = week_data(car)
    assert everyone["keeper"].post(TEACHING_LOG, sent, headers=JSON).status_code == 201
    again = everyone["keeper"].post(TEACHING_LOG, sent, headers=JSON)
    assert (again.status_code, again.json()["is_new"]) == (200, False)
    assert len(standing()) == 6
    assert log_week(by=car.keeper, car=car, ref=sent["ref"], days=[])[1] is False
    with pytest.raises(ValidationError):
        log_week(by=Member.objects.create(email="x@book.example"), car=car, ref=sent["ref"], days=[])


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger", "anonymous"])
def test_nobody_logs_on_the_car_of_another(everyone: dict[str, Client], car: Car, colleague_car: Car, who: str) -> None:
    everyone[who].post(TEACHING_LOG, week_data(car))
    assert not TeachingRecord.objects.exists()


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"day_0": "2.5"}, "day_0", "This is not a whole number."),
        ({"day_1": "-1"}, "day_1", "This is less than 0"),
        ({"hours": "6,5"}, "hours", "cannot be read"),
        ({"hours": "0"}, "hours", "do not fit together"),
        ({"hours": "200"}, "hours", "do not fit together"),
        ({"private_miles": "some"}, "private_miles", "cannot be read"),
        ({"week": "2026-03-16", "day_3": "4"}, "day_3", "This day has not come yet."),
        (dict.fromkeys([f"day_{number}" for number in range(7)], ""), "day_0", "Fill in a day at least"),
        (dict.fromkeys([f"day_{number}" for number in range(6)], "0") | {"hours": "3"}, "hours", "how many lessons"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], car: Car, changes: dict[str, str], field: str, words: str
) -> None:
    sent = week_data(car) | changes
    response = everyone["keeper"].post(TEACHING_LOG, sent)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert {name: input_value(page, name) or "" for name in ("day_2", "day_5", "ref")} == {
        name: sent[name] for name in ("day_2", "day_5", "ref")
    }
    assert not TeachingRecord.objects.exists()


def test_the_week_to_log_is_the_last_one_until_all_of_it_is_in_the_book(everyone: dict[str, Client], car: Car) -> None:
    assert "9 to 15 March 2026" in shown(everyone["keeper"], TEACHING_LOG)
    TeachingRecordFactory(car=car, from_on=MONDAY, to_on=date(2026, 3, 15), lesson_count=21)
    page = everyone["keeper"].get(TEACHING_LOG).content.decode()
    assert "16 to 22 March 2026" in page
    # Days ahead cannot be filled in. What was taught a week before is proposed.
    assert input_value(page, "day_0") == "3"
    assert page.count("disabled") == 6
    assert "2 to 8 March 2026" in shown(everyone["keeper"], f"{TEACHING_LOG}?week=2026-03-04")
    for nonsense in ("2026-03-30", "soon", "0001-01-01", "9999-12-31"):
        assert "16 to 22 March 2026" in shown(everyone["keeper"], f"{TEACHING_LOG}?week={nonsense}")


def test_a_car_that_came_this_week_has_no_last_week(everyone: dict[str, Client], car: Car) -> None:
    car.in_service_from = date(2026, 3, 16)
    car.save()
    assert "16 to 22 March 2026" in shown(everyone["keeper"], TEACHING_LOG)
    page = text_of(everyone["keeper"].post(TEACHING_LOG, week_data(car)))
    assert "The car was not yours on this day." in page


def test_what_a_lesson_takes_is_the_members_own_usual(everyone: dict[str, Client], car: Car) -> None:
    assert input_value(everyone["keeper"].get(TEACHING_LOG).content.decode(), "lesson_minutes") == "60"
    for minutes in (90, 75, 70):
        TeachingRecordFactory(car=car, from_on="2026-02-02", to_on="2026-02-02", lesson_count=1, minutes=minutes)
    assert input_value(everyone["keeper"].get(TEACHING_LOG).content.decode(), "lesson_minutes") == "75"


def test_days_that_are_in_the_book_are_left_alone_when_the_others_are_added(
    everyone: dict[str, Client], car: Car
) -> None:
    for number in range(3):
        day = MONDAY + timedelta(days=number)
        TeachingRecordFactory(car=car, from_on=day, to_on=day, lesson_count=5, minutes=300)
    page = everyone["keeper"].get(TEACHING_LOG).content.decode()
    assert [input_value(page, f"day_{number}") for number in range(3)] == ["5"] * 3
    sent = week_data(car, day_0="5", day_1="5", day_2="5", day_3="4")
    assert everyone["keeper"].post(TEACHING_LOG, sent).status_code == 303
    assert [row[1] for row in standing()] == [5, 5, 5, 4, 6, 3]


@pytest.mark.parametrize(
    ("how", "left"), [("add", [4, 4, 5, 5, 4, 4, 0, 0, 4, 4, 3, 3]), ("replace", [4, 5, 4, 0, 4, 3])]
)
def test_the_same_week_again_is_asked_about(everyone: dict[str, Client], car: Car, how: str, left: list[int]) -> None:
    short = dict.fromkeys(("day_0", "day_2", "day_4"), "4") | {"lesson_minutes": "60"}
    everyone["keeper"].post(TEACHING_LOG, week_data(car, **short))
    again = week_data(car, **short)
    answer = everyone["keeper"].post(TEACHING_LOG, again, headers=JSON)
    assert answer.status_code == 422
    question = answer.json()["questions"]["how"]
    assert question["why"] == "These days have 20 lessons in the book. Add to that week, or replace it?"
    meant = [meaning["changes"] for meaning in question["meanings"]]
    assert {"how": "add"} in meant
    assert {"how": "replace"} in meant
    page = everyone["keeper"].post(TEACHING_LOG, again)
    assert "Add to that week, or replace it?" in text_of(page)
    assert everyone["keeper"].post(TEACHING_LOG, again | {"meant": f"how={how}"}).status_code == 303
    assert [row[1] for row in standing()] == left


def test_the_private_miles_of_a_week_come_later_without_a_question(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, week_data(car, hours="30", private_miles=""))
    before = standing()
    saved = everyone["keeper"].post(TEACHING_LOG, week_data(car, private_miles="30"), headers=JSON)
    assert saved.status_code == 201, saved.json()
    assert saved.json()["told"] == "Logged: 30 private miles, 9 to 14 March 2026, QA51 ABC."
    assert [row[:3] for row in standing()] == [row[:3] for row in before]
    assert [row[3] for row in standing()] == [5] * 6
    page = everyone["keeper"].get(f"{TEACHING_LOG}?week={MONDAY}").content.decode()
    assert "26 lessons" in page
    # Put right later they are as many as are typed then.
    again = everyone["keeper"].post(TEACHING_LOG, week_data(car, private_miles="36"), headers=JSON)
    assert [row[3] for row in standing()] == [6] * 6
    for one in (again, saved):
        everyone["keeper"].post(one.json()["undo"])
    assert standing() == before


def test_the_private_miles_of_a_doubled_week_leave_it_as_it_is(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, week_data(car, private_miles="", lesson_minutes="60"))
    more = {f"day_{number}": "2" for number in range(6)} | {"lesson_minutes": "60"}
    added = week_data(car, **more, how="add", private_miles="")
    assert everyone["keeper"].post(TEACHING_LOG, added, headers=JSON).status_code == 201
    in_all = {f"day_{number}": str(lessons) for number, lessons in enumerate((8, 7, 8, 2, 8, 5))}
    saved = everyone["keeper"].post(TEACHING_LOG, week_data(car, **in_all, private_miles="30"), headers=JSON)
    assert saved.status_code == 201, saved.json()
    assert [row[1:] for row in standing()] == [(n, n * 60, 5) for n in (8, 7, 8, 2, 8, 5)]
    # One record a day again, of what the days held, and typed anew they are as typed.
    right = week_data(car, how="replace", private_miles="")
    assert everyone["keeper"].post(TEACHING_LOG, right, headers=JSON).status_code == 201
    assert [row[1] for row in standing()] == [6, 5, 6, 0, 6, 3]


def test_the_miles_of_a_week_of_long_ago_are_no_second_week(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, week_data(car, week="2025-09-01", private_miles=""))
    for number in range(70):
        day = date(2025, 12, 1) + timedelta(days=number)
        TeachingRecordFactory(car=car, from_on=day, to_on=day, lesson_count=5, minutes=375)
    sent = week_data(car, week="2025-09-01", private_miles="30")
    assert everyone["keeper"].post(TEACHING_LOG, sent, headers=JSON).status_code == 201
    assert [row[1] for row in standing()[:6]] == [6, 5, 6, 0, 6, 3]


def test_more_lessons_than_a_day_holds_are_asked_with_those_in_the_book(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, week_data(car))
    again = week_data(car, how="add", hours="26")
    answer = everyone["keeper"].post(TEACHING_LOG, again, headers=JSON)
    question = answer.json()["questions"]["day_0"]
    assert question["why"] == "12 lessons in one day, with those in the book?"
    assert question["meanings"][0] == {"changes": {"how": "replace"}, "words": "Replace it"}
    assert len(standing()) == 6
    found = " ".join(one["key"] for one in answer.json()["questions"].values())
    assert everyone["keeper"].post(TEACHING_LOG, again | {"is_right": found}, headers=JSON).status_code == 201


def test_a_day_put_right_keeps_its_private_miles_unless_others_are_told(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, week_data(car))
    days = {f"day_{number}": "" for number in range(7)}
    sent = week_data(car, **days | {"day_1": "6"}, private_miles="")
    answer = everyone["keeper"].post(TEACHING_LOG, sent, headers=JSON)
    # What is in the book of that day alone is most likely put right, so that stands first.
    assert answer.json()["questions"]["how"]["meanings"][0]["changes"] == {"how": "replace"}
    sent = week_data(car, **days | {"day_1": "6"}, private_miles="", how="replace")
    assert everyone["keeper"].post(TEACHING_LOG, sent).status_code == 303
    assert standing()[1][1:] == (6, 450, 7)
    sent = week_data(car, **days | {"day_1": "4"}, private_miles="12", how="replace")
    everyone["keeper"].post(TEACHING_LOG, sent)
    assert standing()[1][1:] == (4, 300, 12)


def test_the_private_miles_of_several_days_stay_with_their_days(car: Car) -> None:
    tuesday = MONDAY + timedelta(days=1)
    TeachingRecordFactory(car=car, from_on=MONDAY, to_on=tuesday, lesson_count=9, private_miles=15)
    days = [DayShare(MONDAY, 4, None, None), DayShare(tuesday, 4, None, None)]
    log_week(by=car.keeper, car=car, ref=new_ref(), days=days, replaces=True)
    assert [row[3] for row in standing()] == [7, 8]
    TeachingRecordFactory(car=car, from_on=MONDAY, to_on=MONDAY, lesson_count=1, private_miles=None)
    log_week(by=car.keeper, car=car, ref=new_ref(), days=days, replaces=True)
    assert [row[3] for row in standing()] == [None, 8]


def test_undoing_a_week_puts_back_the_one_it_replaced(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(TEACHING_LOG, week_data(car))
    before = standing()
    saved = everyone["keeper"].post(TEACHING_LOG, week_data(car, day_0="1", how="replace"), headers=JSON).json()
    assert standing() != before
    everyone["keeper"].post(saved["undo"])
    assert standing() == before


def test_a_record_that_reaches_beyond_the_week_is_not_replaced(everyone: dict[str, Client], car: Car) -> None:
    TeachingRecordFactory(car=car, from_on="2026-03-06", to_on="2026-03-12", lesson_count=20)
    page = text_of(everyone["keeper"].post(TEACHING_LOG, week_data(car, how="replace")))
    assert "The lessons of 6 to 12 March 2026 are one record" in page
    assert TeachingRecord.objects.standing().count() == 1
    assert not Batch.objects.exists()


def test_days_of_a_longer_record_are_added_to_or_put_right_there(everyone: dict[str, Client], car: Car) -> None:
    TeachingRecordFactory(car=car, from_on="2026-03-06", to_on="2026-03-12", lesson_count=20)
    answer = everyone["keeper"].post(TEACHING_LOG, week_data(car), headers=JSON)
    question = answer.json()["questions"]["how"]
    assert [meaning["changes"] for meaning in question["meanings"]] == [{"how": "add"}]
    link = question["link"]
    assert link["words"] == "Correct that record"
    page = everyone["keeper"].post(TEACHING_LOG, week_data(car)).content.decode()
    assert f'href="{link["address"].replace("&", "&amp;")}"' in page
    assert "Replace it" not in page
    assert "20 lessons" in text_of(everyone["keeper"].get(link["address"]))


@pytest.mark.parametrize(
    ("day", "said", "hours"), [(MONDAY, "10 lessons, nothing to save", "8"), (None, "nothing to save", "")]
)
def test_a_week_that_is_all_in_the_book_says_its_sum(
    everyone: dict[str, Client], car: Car, day: date | None, said: str, hours: str
) -> None:
    rest = MONDAY + timedelta(days=1)
    TeachingRecordFactory(car=car, from_on=day or MONDAY - timedelta(days=1), to_on=MONDAY, lesson_count=6, minutes=300)
    TeachingRecordFactory(car=car, from_on=rest, to_on=rest, lesson_count=4, minutes=180)
    TeachingRecordFactory(
        car=car, from_on=rest + timedelta(days=1), to_on=MONDAY + timedelta(days=6), lesson_count=0, minutes=0
    )
    page = everyone["keeper"].get(f"{TEACHING_LOG}?week={MONDAY}").content.decode()
    assert f"<small>{said}</small>" in page
    assert f'placeholder="{hours}"' in page


def test_no_lessons_this_week_is_one_tap(everyone: dict[str, Client], car: Car) -> None:
    TeachingRecordFactory(car=car, from_on=MONDAY, to_on=MONDAY, lesson_count=5, minutes=300, private_miles=9)
    assert "No lessons this week" in shown(everyone["keeper"], TEACHING_LOG)
    sent = week_data(car, none="1")
    assert everyone["keeper"].post(TEACHING_LOG, sent).status_code == 303
    assert [row[1:] for row in standing()] == [(5, 300, 9), *[(0, 0, 0)] * 6]
    again = everyone["keeper"].post(TEACHING_LOG, week_data(car, none="1"))
    assert "The lessons of these days are in the book already." in text_of(again)


def test_lessons_of_another_car_are_another_matter(everyone: dict[str, Client], car: Car) -> None:
    other = CarFactory(keeper=car.keeper, registration="QC03DEF")
    everyone["keeper"].post(TEACHING_LOG, week_data(other))
    assert everyone["keeper"].post(TEACHING_LOG, week_data(car)).status_code == 303
    assert len(standing()) == 12


def test_a_reference_that_is_logged_for_two_cars_at_once_is_logged_once(car: Car) -> None:
    other, ref = CarFactory(keeper=car.keeper), new_ref()
    days = [DayShare(MONDAY, 3, 180, None)]
    assert log_week(by=car.keeper, car=car, ref=ref, days=days)[1]
    assert not log_week(by=car.keeper, car=other, ref=ref, days=days)[1]
    assert len(standing()) == 1
