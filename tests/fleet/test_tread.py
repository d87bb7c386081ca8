"""The page /cars/<mark>/tyres/: how the tyres wear, and what becomes of a car with an unlawful one."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from fleet.queries import due_report, tread_report
from tests.factories import CostEntryFactory, TreadReadingFactory, TyreMoveFactory
from tests.fleet.treads import driven, page_of, read

pytestmark = pytest.mark.usefixtures("today")

BEFORE, TODAY = date(2025, 8, 28), date(2026, 3, 16)


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_only_keeper_and_coordinator_see_the_tyres(
    everyone: dict[str, Client], car: Car, who: str, status: int
) -> None:
    assert everyone[who].get(reverse("fleet:tread", args=["QA51ABC"])).status_code == status


def test_with_nothing_read_it_says_what_to_do(everyone: dict[str, Client], car: Car) -> None:
    page = page_of(everyone["keeper"])
    assert "No tread is in the book yet." in page
    assert reverse("fleet:tread-add", args=["QA51ABC"]) in page
    assert 'class="chart' not in page


def test_a_tyre_says_how_deep_it_is_when_it_is_worn_and_what_that_rests_on(
    everyone: dict[str, Client], car: Car
) -> None:
    driven(car)
    read(car, "front_left", BEFORE, "7.0")
    TreadReadingFactory(car=car, wheel="front_left", read_on=TODAY, inner="5.0", centre="5.4", outer="5.2")
    page = page_of(everyone["keeper"])
    assert "lowest of inner 5.0, centre 5.4, outer 5.2 on 16 March 2026" in page
    assert "<dt>3.0 mm, common practice</dt> <dd> In about 4,000 miles, about 2 October 2026 </dd>" in page
    assert "<dt>1.6 mm, the law</dt> <dd> In about 6,800 miles, about 19 February 2027 </dd>" in page
    assert "Wears 0.50 mm in 1,000 miles, by 2 readings from 28 August 2025 to 16 March 2026" in page
    assert "Days worked out from 4,000 miles in 200 days; odometer last read on 16 March 2026." in page


def test_where_only_the_lowest_was_read_no_other_depth_is_told(everyone: dict[str, Client], car: Car) -> None:
    TreadReadingFactory(car=car, wheel="front_left", read_on=TODAY, inner="5.3", centre="5.3", outer="5.3")
    page = page_of(everyone["keeper"])
    assert '<b class="fig mid">5.3 mm</b> on 16 March 2026.' in page
    assert "lowest of" not in page


def test_the_pictures_say_in_words_what_they_show(everyone: dict[str, Client], car: Car) -> None:
    driven(car)
    read(car, "rear_right", BEFORE, "7.0")
    read(car, "rear_right", TODAY, "5.0")
    page = page_of(everyone["keeper"])
    assert "Lowest: rear right, 5.0 mm</title>" in page
    assert "Front left not read, Front right not read, Rear left not read, Rear right 5.0 mm. Marked: 1.6 mm," in page
    assert "7.0 mm at 40,000 miles, 5.0 mm at 44,000 miles. The line through them falls." in page
    assert page.count("<circle") == 2
    assert '<th scope="row">28 August 2025, rear right</th>' in page


@pytest.mark.parametrize(
    ("wheels", "lowest"),
    [
        (("front_left", "rear_right"), "front left and rear right"),
        (("front_left", "front_right", "rear_left"), "front left, front right and rear left"),
        (("front_left", "front_right", "rear_left", "rear_right"), "all four"),
    ],
)
def test_wheels_that_are_equally_low_are_named_as_said_aloud(
    everyone: dict[str, Client], car: Car, wheels: tuple[str, ...], lowest: str
) -> None:
    for wheel in ("front_left", "front_right", "rear_left", "rear_right"):
        read(car, wheel, TODAY, "5.0" if wheel in wheels else "6.0")
    assert f"Lowest: {lowest}, 5.0 mm</title>" in page_of(everyone["keeper"])


def test_a_fitted_line_ends_where_no_tread_is_left(everyone: dict[str, Client], car: Car) -> None:
    # By its line bare long before today: the drawing ends there.
    driven(car)
    read(car, "front_left", BEFORE, "9.5")
    read(car, "front_left", date(2025, 10, 1), "1.6")
    page = everyone["keeper"].get(reverse("fleet:tread", args=["QA51ABC"]))
    chart = page.context["tyres"][0].chart
    start, end = chart.fitted
    assert (start, end.depth) == (chart.readings[0], pytest.approx(0, abs=0.01))
    assert chart.readings[1].miles < end.miles < 48_000
    assert [(wheel.words, wheel.depth) for wheel in page.context["now"].wheels] == [
        ("Front left", 1.6),
        ("Front right", None),
        ("Rear left", None),
        ("Rear right", None),
    ]
    assert page.context["now"].title == "Lowest: front left, 1.6 mm"


def test_readings_go_with_a_tyre_to_its_new_wheel(everyone: dict[str, Client], car: Car) -> None:
    driven(car)
    read(car, "rear_left", BEFORE, "7.0")
    read(car, "front_left", TODAY, "5.0")
    for wheel, came_from in (("front_left", "rear_left"), ("rear_left", "front_left")):
        TyreMoveFactory(car=car, moved_on=date(2025, 12, 1), wheel=wheel, came_from=came_from)
    page = page_of(everyone["keeper"])
    assert "Wears 0.50 mm in 1,000 miles" in page
    assert "28 August 2025, rear left" in page
    assert "Front left: the tyre from rear left" in page


def test_a_new_tyre_says_since_when_and_that_it_is_not_read(everyone: dict[str, Client], car: Car) -> None:
    read(car, "front_left", BEFORE, "2.0")
    read(car, "front_right", BEFORE, "2.0")
    TyreMoveFactory(car=car, moved_on=date(2026, 3, 2))
    page = page_of(everyone["keeper"])
    assert "No forecast, as its tread has not been read." in page
    assert "Fitted new on 2 March 2026." in page
    assert "Front left: a new tyre" in page


@pytest.mark.parametrize(
    ("treads", "why"),
    [
        (["5.0"], "it has been read only once, and wear shows between two readings"),
        (["5.0", "5.2"], "its readings do not fall: a different tyre, or a slip"),
        (["5.0", "8.0"], "its tread rose by more than 0.5 mm between readings: a different tyre, or a slip"),
    ],
)
def test_without_a_forecast_it_says_why(everyone: dict[str, Client], car: Car, treads: list[str], why: str) -> None:
    driven(car)
    for day, mm in zip((BEFORE, TODAY), treads, strict=False):
        read(car, "front_left", day, mm)
    assert f"No forecast, as {why}." in page_of(everyone["keeper"])


def test_readings_without_miles_are_told(everyone: dict[str, Client], car: Car) -> None:
    read(car, "front_left", BEFORE, "7.0")
    page = page_of(everyone["keeper"])
    assert "1 reading counts for no forecast: the mileage on that day is not known." in page
    read(car, "front_left", TODAY, "5.0")
    page = page_of(everyone["keeper"])
    assert "2 readings count for no forecast" in page
    assert "No forecast, as fewer than two of its readings lie between readings of the odometer." in page
    assert "not known</td>" in page


def test_below_common_practice_is_a_caution_and_not_off_the_road(everyone: dict[str, Client], car: Car) -> None:
    read(car, "front_left", TODAY, "2.9")
    page = page_of(everyone["keeper"])
    assert "Down to 3.0 mm" in page
    assert "3.0 mm is common practice, not law: below it, wet grip is poorer." in page
    [due] = due_report(TODAY, cars=[car]).cars
    assert not due.off_the_road


def test_a_tyre_by_its_wear_unlawful_since_it_was_read_is_to_be_read_again(
    everyone: dict[str, Client], car: Car
) -> None:
    driven(car)
    read(car, "front_left", BEFORE, "4.0")
    read(car, "front_left", date(2025, 12, 16), "2.0")
    page = page_of(everyone["keeper"])
    assert "By its wear it may be unlawful by now: measure it before you drive." in page
    assert "<dt>1.6 mm, the law</dt> <dd> At its rate of wear, reached by now </dd>" in page


def test_below_the_law_the_car_is_off_the_road_until_a_new_tyre_is_recorded(
    everyone: dict[str, Client], car: Car
) -> None:
    read(car, "front_left", TODAY, "1.5")
    page = page_of(everyone["keeper"])
    assert "Below 1.6 mm</span>" in page
    assert "No lesson may be given in QA51 ABC" in page
    [due] = due_report(TODAY, cars=[car]).cars
    assert [(reason.name, reason.about, reason.since) for reason in due.reasons] == [("tread", "front_left", TODAY)]
    car_page = page_of(everyone["keeper"], "car")
    assert "Front left tyre: less than 1.6 mm of tread</a> <span>read on" in car_page
    TyreMoveFactory(car=car, moved_on=TODAY)
    # A reading of the day of fitting is of the new tyre; only one of before it is left behind.
    assert due_report(TODAY, cars=[car]).cars[0].off_the_road
    car.tread_readings.update(read_on=date(2026, 3, 15))
    assert not due_report(TODAY, cars=[car]).cars[0].off_the_road


def test_the_cars_page_shows_the_tyre_that_stands_worst(everyone: dict[str, Client], car: Car) -> None:
    assert "No tread is in the book, so nothing is known about the tyres." in page_of(everyone["keeper"], "car")
    driven(car)
    for wheel, before, now in (("front_left", "7.0", "5.0"), ("rear_right", "4.5", "4.0"), ("rear_left", "6.0", "4.0")):
        read(car, wheel, BEFORE, before)
        read(car, wheel, TODAY, now)
    page = page_of(everyone["coordinator"], "car")
    assert '<b>Rear left: above 3.0 mm</b> <span class="small">The worst, 4.0 mm on 16 March 2026</span>' in page
    assert "<dt>3.0 mm, common practice</dt> <dd> In about 2,000 miles, about 24 June 2026 </dd>" in page
    assert "5.0 mm" not in page


def test_what_a_tyre_needs_beyond_its_tread_is_said_with_the_sources(everyone: dict[str, Client], car: Car) -> None:
    page = page_of(everyone["keeper"])
    assert "over the central three quarters of the tread" in page
    assert "ask a qualified tyre fitter" in page
    assert "regulation 27" in page
    assert "safe " not in page.lower()


def test_later_readings_and_moves_do_not_change_an_earlier_day(car: Car) -> None:
    read(car, "front_left", BEFORE, "5.0")
    read(car, "front_left", TODAY, "1.0")
    TyreMoveFactory(car=car, moved_on=date(2026, 3, 2))
    report = tread_report(car, date(2025, 12, 1))
    assert report.worst is not None
    assert (report.worst.latest.read_on, report.moves) == (BEFORE, ())


def test_no_money_is_on_the_page(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, category="tyres")
    assert "86.40" not in page_of(everyone["coordinator"])


def test_the_number_of_queries_does_not_grow_with_the_readings(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries
) -> None:
    driven(car)
    for wheel in ("front_left", "front_right", "rear_left", "rear_right"):
        for month in range(1, 13):
            read(car, wheel, date(2025, month, 2), f"{8 - month / 4:.1f}")
    with django_assert_max_num_queries(18):
        page_of(everyone["keeper"])
