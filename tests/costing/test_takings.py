"""The page of takings: one number a week, what is left after the car, and whose it is."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from costing.core.records import Period
from costing.models import Takings, TeachingRecord
from costing.planning.report import left_line, left_over, own_cost
from costing.planning.services.takings import minutes_by_week, record_takings, void_takings
from costing.queries import car_books
from fleet.models import Car
from fleet.queries import kept_cars
from instructors.models import Member
from tests.costing.pages import input_value, new_ref, save, shown, teach_february, text_of
from tests.factories import CarFactory, FillFactory, KeeperTimeFactory, TakingsFactory, TeachingRecordFactory

TODAY, MONDAY = date(2026, 3, 16), date(2026, 3, 9)
ADDRESS = "/takings/"
FEBRUARY = [date(2026, 1, 26) + timedelta(days=7 * number) for number in range(5)]

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


def typed(**changes: str) -> dict[str, str]:
    return {"ref": new_ref(), "from_on": MONDAY.isoformat(), "amount": "840"} | changes


def test_it_asks_for_the_last_week_and_one_number_is_enough(everyone: dict[str, Client], keeper: Member) -> None:
    page = everyone["keeper"].get(ADDRESS)
    assert "What did you take from 9 to 15 March?" in text_of(page)
    assert input_value(page.content.decode(), "from_on") == "2026-03-09"
    response = everyone["keeper"].post(ADDRESS, typed(), follow=True)
    assert response.redirect_chain == [(ADDRESS, 303)]
    assert "Saved: £840.00, 9 to 15 March 2026." in text_of(response)
    told = Takings.objects.get()
    assert (told.member, told.from_on, told.to_on) == (keeper, MONDAY, date(2026, 3, 15))
    assert (told.amount, told.cancelled_count, told.cancelled_minutes) == (Decimal(840), None, None)
    assert told.history.get().history_user == keeper


def test_then_it_asks_for_the_latest_week_that_is_not_told(everyone: dict[str, Client], keeper: Member) -> None:
    TakingsFactory.create(member=keeper)
    page = everyone["keeper"].get(ADDRESS)
    assert "What did you take from 2 to 8 March?" in text_of(page)
    assert input_value(page.content.decode(), "from_on") == "2026-03-02"


def test_a_chip_leads_to_another_week(everyone: dict[str, Client]) -> None:
    page = everyone["keeper"].get(ADDRESS)
    assert f"{ADDRESS}?week=2026-02-23" in page.content.decode()
    asked = shown(everyone["keeper"], f"{ADDRESS}?week=2026-02-23")
    assert "What did you take from 23 February to 1 March?" in asked


@pytest.mark.parametrize("week", ["soon", "2026-03-16", "2027-01-01", "2026-02-31", "1900-01-01", ""])
def test_a_week_that_cannot_be_is_the_last_one(everyone: dict[str, Client], week: str) -> None:
    assert "from 9 to 15 March?" in shown(everyone["keeper"], f"{ADDRESS}?week={week}")


def test_cancelled_lessons_may_be_told(everyone: dict[str, Client], car: Car) -> None:
    TeachingRecordFactory.create(car=car, from_on=MONDAY, to_on=MONDAY, minutes=300)
    everyone["keeper"].post(ADDRESS, typed(amount="190", cancelled_count="2", cancelled_minutes="2.5"))
    told = Takings.objects.get()
    assert (told.cancelled_count, told.cancelled_minutes) == (2, 150)
    assert "9 to 15 March 2026 5 hours taught, 2 cancelled (2.5 hours) £190.00" in shown(everyone["keeper"], ADDRESS)


def test_the_same_again_adds_nothing(everyone: dict[str, Client]) -> None:
    sent = typed()
    everyone["keeper"].post(ADDRESS, sent)
    response = everyone["keeper"].post(ADDRESS, sent, follow=True)
    assert "Saved already: £840.00" in text_of(response)
    assert Takings.objects.count() == 1


def test_a_week_is_told_once(everyone: dict[str, Client], keeper: Member) -> None:
    TakingsFactory.create(member=keeper)
    response = everyone["keeper"].post(ADDRESS, typed(amount="1"))
    assert Takings.objects.get().amount == 840
    page = text_of(response)
    assert (
        "Not saved yet The book asks about what you typed: "
        "Taken: £840 is in the book for this week already. Is £1 to stand in its place?"
    ) in page
    # It goes on asking for the same week, with what was typed, and says nothing else.
    assert "What did you take from 9 to 15 March?" in page
    assert "Every week is in" not in page
    assert input_value(response.content.decode(), "amount") == "1"


def test_what_was_typed_may_take_the_place_of_what_is_told(everyone: dict[str, Client], keeper: Member) -> None:
    TakingsFactory.create(member=keeper, cancelled_count=2, cancelled_minutes=60)
    sent = typed(amount="900", cancelled_minutes="1.5")
    meant = everyone["keeper"].post(ADDRESS, sent).context["form"].questions["amount"].meanings[0]
    assert meant.words == "Put it in its place"
    response = everyone["keeper"].post(ADDRESS, sent | {"meant": meant.value}, follow=True)
    assert "Corrected: £900.00, 9 to 15 March 2026." in text_of(response)
    told = Takings.objects.get()
    assert (told.amount, told.cancelled_count, told.cancelled_minutes) == (Decimal(900), 2, 90)
    assert told.history.count() == 2


def test_what_was_pressed_for_one_week_says_nothing_of_another(everyone: dict[str, Client], keeper: Member) -> None:
    TakingsFactory.create(member=keeper)
    before = TakingsFactory.create(member=keeper, from_on=MONDAY - timedelta(days=7), to_on=MONDAY - timedelta(days=1))
    client, sent = everyone["keeper"], typed(amount="900")
    meant = client.post(ADDRESS, sent).context["form"].questions["amount"].meanings[0]
    asked = client.post(ADDRESS, sent | {"amount": "90000", "meant": meant.value}).context["form"]
    instead = asked["instead"].value()
    response = client.post(ADDRESS, sent | {"instead": instead, "from_on": before.from_on.isoformat()})
    assert "is in the book for this week already. Is £900 to stand in its place?" in text_of(response)
    assert [week.history.count() for week in Takings.objects.all()] == [1, 1]


def test_a_week_that_is_voided_meanwhile_is_recorded_anew(everyone: dict[str, Client], keeper: Member) -> None:
    voided = TakingsFactory.create(member=keeper)
    client, sent = everyone["keeper"], typed(amount="900")
    meant = client.post(ADDRESS, sent).context["form"].questions["amount"].meanings[0]
    void_takings(by=keeper, takings=voided, reason="Wrong week")
    response = client.post(ADDRESS, sent | {"meant": meant.value}, follow=True)
    assert "Saved: £900.00, 9 to 15 March 2026." in text_of(response)
    assert Takings.objects.standing().get().amount == 900


def test_a_week_of_another_year_says_which(everyone: dict[str, Client]) -> None:
    assert "from 6 to 12 January 2025?" in shown(everyone["keeper"], f"{ADDRESS}?week=2025-01-06")


def test_of_one_week_two_of_the_same_moment_are_one(keeper: Member) -> None:
    TakingsFactory.create(member=keeper)
    with pytest.raises(ValidationError, match="in the book already"):
        record_takings(by=keeper, ref=new_ref(), from_on=MONDAY, amount=Decimal(1))


def test_a_voided_week_may_be_told_again(everyone: dict[str, Client], keeper: Member) -> None:
    TakingsFactory.create(member=keeper, voided_at="2026-03-15T20:00Z")
    everyone["keeper"].post(ADDRESS, typed(amount="790"))
    assert Takings.objects.standing().get().amount == 790


def test_somebody_else_s_reference_is_refused(colleague: Member, keeper: Member) -> None:
    told = TakingsFactory.create(member=colleague)
    with pytest.raises(ValidationError, match="out of date"):
        record_takings(by=keeper, ref=told.ref, from_on=MONDAY, amount=Decimal(1))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"amount": ""}, "Say what came in: 0 if nothing did."),
        ({"amount": "-3"}, "less than"),
        ({"amount": "much"}, "cannot be read"),
        ({"cancelled_count": "1.5"}, "not a whole number"),
        ({"cancelled_minutes": "long"}, "Hours cancelled: This cannot be read"),
        ({"cancelled_count": "201"}, "Lessons cancelled: This is more than 200: it must be between 0 and 200 lessons."),
        ({"cancelled_minutes": "169"}, "it must be between 0 and 168 hours."),
        ({"amount": "1.320,50"}, "put a point before the decimals, as in 840.50."),
        ({"ref": "x"}, "Reload the page and try again."),
    ],
)
def test_what_cannot_be_is_refused(everyone: dict[str, Client], changes: dict[str, str], words: str) -> None:
    response = everyone["keeper"].post(ADDRESS, typed(**changes))
    assert response.status_code == 200
    assert words in text_of(response)
    assert not Takings.objects.exists()


@pytest.mark.parametrize("day", ["2026-03-10", "2026-03-16", "2026-03-23", "9999-12-27", "x"])
def test_only_a_week_that_has_ended_is_taken(everyone: dict[str, Client], day: str) -> None:
    everyone["keeper"].post(ADDRESS, typed(from_on=day))
    assert not Takings.objects.exists()


def test_a_nought_too_many_is_asked_about_and_meant_otherwise(everyone: dict[str, Client], keeper: Member) -> None:
    for number in range(1, 9):
        TakingsFactory.create(member=keeper, from_on=MONDAY - timedelta(days=7 * number), amount=800 + number)
    response = everyone["keeper"].post(ADDRESS, typed(amount="8400"))
    assert "£8,400 in a week? You usually take about £805." in text_of(response)
    meant = response.context["form"].questions["amount"].meanings[0]
    assert meant.words == "£840"
    everyone["keeper"].post(ADDRESS, typed(amount="8400", meant=meant.value))
    assert Takings.objects.get(from_on=MONDAY).amount == 840


def test_it_may_be_right(everyone: dict[str, Client]) -> None:
    response = save(everyone["keeper"], ADDRESS, typed(amount="8400"))
    assert response.status_code == 303
    assert Takings.objects.get().amount == 8_400


def test_it_is_not_asked_of_an_ordinary_week(everyone: dict[str, Client], keeper: Member) -> None:
    for number in range(1, 9):
        TakingsFactory.create(member=keeper, from_on=MONDAY - timedelta(days=7 * number), amount=800 + number)
    assert everyone["keeper"].post(ADDRESS, typed(amount="600")).status_code == 303


def test_nobody_sees_anybody_else_s(everyone: dict[str, Client], keeper: Member) -> None:
    TakingsFactory.create(member=keeper, amount="777.77")
    assert "777.77" in shown(everyone["keeper"], ADDRESS)
    for who in ("colleague", "coordinator"):
        assert "777.77" not in shown(everyone[who], ADDRESS)


def test_hours_of_several_weeks_are_shared_over_their_days(car: Car, keeper: Member) -> None:
    TeachingRecordFactory.create(car=car, from_on=MONDAY - timedelta(days=7), to_on=MONDAY, minutes=801)
    told = minutes_by_week(keeper, Period(MONDAY - timedelta(days=7), MONDAY + timedelta(days=6)))
    assert told == {MONDAY - timedelta(days=7): 700, MONDAY: 101}


def test_nothing_nags_for_weeks_before_the_first_that_is_told(everyone: dict[str, Client], car: Car) -> None:
    for monday in (MONDAY, date(2026, 2, 23), date(2026, 2, 16)):
        TeachingRecordFactory.create(car=car, from_on=monday, to_on=monday, minutes=300)
    assert "not entered" not in shown(everyone["keeper"], ADDRESS)
    everyone["keeper"].post(ADDRESS, typed(from_on="2026-02-23", amount="190"))
    page = shown(everyone["keeper"], ADDRESS)
    assert page.count("not entered") == 1
    assert "9 to 15 March 2026 5 hours taught not entered" in page


def tell_february(keeper: Member) -> None:
    """£500 a week of the five that have a day in February: £2,000 falls in it."""
    for monday in FEBRUARY:
        TakingsFactory.create(member=keeper, from_on=monday, amount=500)


def test_a_month_that_is_told_has_what_is_left(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    teach_february(car)
    tell_february(keeper)
    of_month = left_over(keeper, TODAY)[-1]
    assert of_month.left is not None
    # 50000 * 6 // 7 of the week from 23 February, and all but 50000 * 6 // 7 of that from 26 January.
    assert of_month.left.taken == 3 * 50_000 + 42_857 + 7_143
    assert of_month.left.car == 6_000
    assert (of_month.left.pence, of_month.left.an_hour, of_month.left.a_week) == (194_000, 5_389, 48_500)
    page = shown(everyone["keeper"], ADDRESS)
    assert "£53.89 an hour is left after the car, February 2026" in page


def test_without_the_takings_of_a_week_it_says_which(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    teach_february(car)
    tell_february(keeper)
    Takings.objects.filter(from_on=date(2026, 2, 9)).delete()
    assert left_over(keeper, TODAY)[-1].reasons == ("no takings for the week from 9 February",)
    Takings.objects.filter(from_on=date(2026, 2, 2)).delete()
    assert left_over(keeper, TODAY)[-1].reasons == ("no takings for the week from 2 February and one more",)
    assert "No takings for the week from 2 February and one more" in shown(everyone["keeper"], ADDRESS)


def test_without_a_car_there_is_nothing_to_say(everyone: dict[str, Client]) -> None:
    assert "What is left is not known yet" in shown(everyone["coordinator"], ADDRESS)
    everyone["coordinator"].post(ADDRESS, typed())
    page = re.sub("– ", "", shown(everyone["coordinator"], ADDRESS))
    assert "13 weeks to 15 March You had no car in service then" in page


def teach_thirteen_weeks(car: Car, keeper: Member, taken: int) -> None:
    """Make the 13 weeks to 1 March known: 20 hours and takings each week, and £60 of fuel at the end of February."""
    teach_february(car)
    car.teachingrecord_set.all().delete()
    last = date(2026, 3, 1)
    FillFactory.create(car=car, filled_on=last, odometer=47_620, amount=10)
    FillFactory.create(car=car, filled_on=date(2025, 11, 30), odometer=44_000, amount=50)
    for number in range(13):
        monday = last - timedelta(days=7 * number + 6)
        to_on = monday + timedelta(days=6)
        TeachingRecordFactory.create(car=car, from_on=monday, to_on=to_on, minutes=1_200, private_miles=0)
        TakingsFactory.create(member=keeper, from_on=monday, amount=taken)


def line_of(member: Member) -> str | None:
    """The line, which takes one query besides those for the books."""
    cars = kept_cars(member, since=date(2025, 1, 1))
    books = car_books(cars, Period(date(2025, 1, 1), TODAY), member=member)
    with CaptureQueriesContext(connection) as queries:
        line = left_line(member, books, list(cars), TODAY, rate=Decimal("0.15"))
    assert len(queries) == 1
    return line and line.words


def test_the_queries_are_as_many_however_much_is_told(car: Car, keeper: Member) -> None:
    for _ in range(2):
        with CaptureQueriesContext(connection) as queries:
            left_over(keeper, TODAY)
        assert len(queries) == 8
        with CaptureQueriesContext(connection) as queries:
            own_cost(keeper, TODAY)
        assert len(queries) == 7
        if not Takings.objects.exists():
            teach_thirteen_weeks(car, keeper, 700)


def test_what_is_told_has_no_reasons(car: Car, keeper: Member) -> None:
    teach_february(car)
    tell_february(keeper)
    assert left_over(keeper, TODAY)[-1].reasons == ()


def test_home_has_one_line_of_thirteen_weeks(car: Car, keeper: Member) -> None:
    teach_thirteen_weeks(car, keeper, 700)
    # £9,100 less £125 of fuel, in 260 hours: the fill of 30 November is of days before.
    assert line_of(keeper) == "£34.52 an hour is left after the car, 13 weeks to 1 March"


def test_what_rests_on_an_estimate_says_so(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    teach_thirteen_weeks(car, keeper, 700)
    assert "estimate" not in shown(everyone["keeper"], ADDRESS)
    car.agreement_set.update(kind="owned", price=9_000, payment=None, payments=None, frequency="")
    assert str(line_of(keeper)).endswith("an hour is left after the car, 13 weeks to 1 March, partly an estimate")
    page = shown(everyone["keeper"], ADDRESS)
    assert "13 weeks to 1 March This is partly an estimate." in page
    assert "13 weeks to 1 March (partly an estimate) £" in page
    assert "52 weeks to 1 March (partly" not in page


def test_the_line_says_if_the_car_took_more(car: Car, keeper: Member) -> None:
    teach_thirteen_weeks(car, keeper, 0)
    assert line_of(keeper) == "The car took £0.48 an hour more than came in, 13 weeks to 1 March"


def test_without_takings_there_is_no_line(car: Car, keeper: Member) -> None:
    teach_february(car)
    assert line_of(keeper) is None


def hand_over(car: Car, keeper: Member, colleague: Member, last: date) -> None:
    """The colleague has the car from the day after ``last`` on."""
    KeeperTimeFactory.create(car=car, keeper=keeper, from_on=car.in_service_from, to_on=last)
    KeeperTimeFactory.create(car=car, keeper=colleague, from_on=last + timedelta(days=1))
    Car.objects.filter(pk=car.pk).update(keeper=colleague)


def test_after_a_handover_takings_are_divided_by_hours_of_the_weeks_with_a_car(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    teach_thirteen_weeks(car, keeper, 700)
    hand_over(car, keeper, colleague, date(2026, 2, 1))
    FillFactory.create(car=car, filled_on=date(2026, 2, 1), odometer=47_000, amount=20)
    of_thirteen = left_over(keeper, TODAY)[1]
    assert of_thirteen.left is not None
    # £700 a week of seven weeks, 20 hours each; the weeks after that have takings, and no car.
    assert (of_thirteen.left.taken, of_thirteen.left.minutes) == (7 * 70_000, 7 * 1_200)
    assert of_thirteen.left.a_week == pytest.approx(of_thirteen.left.pence / 7, abs=1)
    assert of_thirteen.title == "7 weeks to 1 February"
    page = shown(everyone["keeper"], ADDRESS)
    assert "after the car, 7 weeks to 1 February Only weeks in which you kept a car count: 7 of 13." in page


def test_hours_in_a_car_that_one_does_not_keep_count_and_are_named(
    everyone: dict[str, Client], car: Car, keeper: Member, colleague: Member
) -> None:
    teach_thirteen_weeks(car, keeper, 700)
    lent = CarFactory.create(keeper=colleague)
    TeachingRecordFactory.create(car=lent, member=keeper, from_on="2026-02-23", to_on="2026-03-01", minutes=600)
    # £9,100 less £125 of fuel, in 260 hours of one's own car and 10 of the other.
    assert line_of(keeper) == "£33.24 an hour is left after the car, 13 weeks to 1 March"
    named = "10 of the 270 hours were in a car that you did not keep then: what it cost is not in this."
    assert named in shown(everyone["keeper"], ADDRESS)
    with CaptureQueriesContext(connection) as queries:
        left_over(keeper, TODAY)
    assert len(queries) == 8


def test_untold_hours_and_untold_takings_of_such_lessons_are_asked_for(
    car: Car, keeper: Member, colleague: Member
) -> None:
    teach_february(car)
    tell_february(keeper)
    lent = CarFactory.create(keeper=colleague)
    record = TeachingRecordFactory.create(
        car=lent, member=keeper, from_on="2026-02-03", to_on="2026-02-03", minutes=None
    )
    assert left_over(keeper, TODAY)[-1].reasons == ("the lesson hours from 3 February 2026 were not entered",)
    TeachingRecord.objects.filter(pk=record.pk).update(minutes=60)
    Takings.objects.filter(from_on=date(2026, 2, 2)).delete()
    assert left_over(keeper, TODAY)[-1].reasons == ("no takings for the week from 2 February",)


def test_a_row_says_over_how_many_weeks_it_is_worked_out(car: Car, keeper: Member) -> None:
    teach_thirteen_weeks(car, keeper, 700)
    Car.objects.filter(pk=car.pk).update(in_service_from=date(2025, 12, 1))
    car.teachingrecord_set.filter(from_on=date(2026, 2, 9)).update(lesson_count=0, minutes=0)
    Takings.objects.filter(from_on=date(2026, 2, 9)).delete()
    of_year = left_over(keeper, TODAY)[2]
    assert of_year.left is not None
    assert of_year.title == "13 weeks to 1 March"
    assert of_year.left.a_week == pytest.approx(of_year.left.pence / 13, abs=1)
    assert of_year.notes == [
        "Only weeks in which you kept a car count: 13 of 52.",
        "One of these weeks has neither lessons nor takings.",
    ]
