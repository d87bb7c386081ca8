"""Odometers and tyres that were last read too long ago, as the pages ask for them. Today is 16 March 2026."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fleet.core.stale import Gauge, Stale
from fleet.models import Car
from fleet.queries import due_report, readings_of, stale_readings_of
from tests.costing.pages import shown
from tests.factories import CarFactory, FillFactory, OdometerReadingFactory, TreadReadingFactory, TyreMoveFactory

TODAY = date(2026, 3, 16)
HOME = reverse("costing:home")
CAR = reverse("fleet:car", args=["QA51ABC"])
ASKS = "Odometer read 41 days ago"

pytestmark = pytest.mark.usefixtures("today")


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def stale(car: Car) -> list[Stale]:
    [due] = due_report(TODAY, cars=[car], with_treads=True).cars
    return stale_readings_of([(due, readings_of([car.pk])[car.pk])], TODAY)[car.pk]


def test_the_home_page_asks_for_the_odometer_in_place_of_its_last_sentence(
    everyone: dict[str, Client], car: Car
) -> None:
    OdometerReadingFactory(car=car, read_on=ago(41), miles=48_000)
    page = everyone["keeper"].get(HOME).content.decode()
    assert f"{ASKS}." in page
    assert f'href="{reverse("fleet:odometer-add", args=["QA51ABC"])}"' in page
    assert "Nothing is logged yet" not in page
    FillFactory(car=car, filled_on=ago(30), odometer=48_200)
    page = shown(everyone["keeper"], HOME)
    assert "Logged up to 14 February." in page
    assert "Odometer" not in page


def test_two_taps_from_home_one_field_is_typed(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=ago(41), miles=48_000)
    page = everyone["keeper"].get(reverse("fleet:odometer-add", args=["QA51ABC"])).content.decode()
    assert page.count("autofocus") == 1
    typed = page[page.index('name="miles"') - 200 : page.index('name="miles"') + 200]
    assert "autofocus" in typed
    assert 'inputmode="numeric"' in typed
    assert "<small>48,000, 3 February</small>" in page
    assert page.index('name="miles"') < page.index("Save the reading") < page.index('name="read_on"')
    everyone["keeper"].post(
        reverse("fleet:odometer-add", args=["QA51ABC"]), {"miles": "49,000", "read_on": TODAY.isoformat()}
    )
    assert ASKS not in shown(everyone["keeper"], HOME)


def test_the_cars_page_asks_for_all_that_is_stale_and_others_are_not_asked_at_home(
    everyone: dict[str, Client], car: Car
) -> None:
    FillFactory(car=car, filled_on=ago(41), odometer=48_000)
    for wheel in ("front_left", "front_right", "rear_left", "rear_right"):
        TreadReadingFactory(car=car, wheel=wheel, read_on=ago(95))
    for who in ("keeper", "coordinator"):
        page = shown(everyone[who], CAR)
        assert f"{ASKS} Read it : odometer" in page
        assert "Tread read 95 days ago Read it : tread" in page
    assert ASKS not in shown(everyone["coordinator"], HOME)
    Car.objects.filter(pk=car.pk).update(in_service_to=ago(1))
    assert ASKS not in shown(everyone["keeper"], CAR)


def test_tread_is_asked_for_at_home_once_the_odometer_is_read(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=ago(1), miles=48_000)
    TreadReadingFactory(car=car, read_on=ago(91))
    page = everyone["keeper"].get(HOME).content.decode()
    assert "Tread read 91 days ago." in page
    assert f'href="{reverse("fleet:tread-add", args=["QA51ABC"])}"' in page


def test_of_two_cars_the_one_longest_unread_is_named(everyone: dict[str, Client], car: Car) -> None:
    other = CarFactory(keeper=car.keeper, registration="QA60XYZ")
    OdometerReadingFactory(car=car, read_on=ago(41), miles=48_000)
    OdometerReadingFactory(car=other, read_on=ago(52), miles=21_000)
    assert "QA60 XYZ: Odometer read 52 days ago" in shown(everyone["keeper"], HOME)


@pytest.mark.parametrize(
    ("reads", "moves", "days"),
    [
        # One wheel that was left out last time is as old as its own reading.
        ({"front_left": 10, "rear_left": 95}, {}, 95),
        ({"front_left": 95, "rear_left": 120}, {}, 120),
        # A new tyre is known from the day it was fitted; one that came from another wheel is not.
        ({"front_left": 10, "rear_left": 95}, {"rear_left": (20, "")}, None),
        ({"front_left": 10, "rear_left": 95}, {"rear_left": (20, "rear_right")}, 95),
        ({"front_left": 92}, {"rear_left": (91, "")}, 92),
        # A car whose tread nobody ever read is not asked for it here.
        ({}, {"rear_left": (200, "")}, None),
        ({"front_left": -1}, {}, None),
    ],
)
def test_tread_is_as_old_as_the_wheel_left_longest(
    car: Car, reads: dict[str, int], moves: dict[str, tuple[int, str]], days: int | None
) -> None:
    for wheel, age in reads.items():
        TreadReadingFactory(car=car, wheel=wheel, read_on=ago(age))
        TreadReadingFactory(car=car, wheel=wheel, read_on=ago(age + 60))
    for wheel, (age, came_from) in moves.items():
        TyreMoveFactory(car=car, wheel=wheel, moved_on=ago(age), came_from=came_from)
    TreadReadingFactory(car=CarFactory(registration="QA60XYZ"), wheel="front_left", read_on=ago(300))
    assert stale(car) == ([Stale(Gauge.TREAD, days)] if days else [])


def test_it_takes_no_query_beside_those_of_what_falls_due(car: Car, django_assert_num_queries: Any) -> None:
    cars = [car, *(CarFactory(keeper=car.keeper) for _ in range(3))]
    report = due_report(TODAY, cars=cars, nation="GB", with_treads=True)
    odometers = readings_of([each.pk for each in cars])
    with django_assert_num_queries(0):
        known = [(due, odometers[due.car.pk]) for due in report.cars]
        assert stale_readings_of(known, TODAY) == {each.pk: [] for each in cars}
    with django_assert_num_queries(2):
        due_report(TODAY, cars=cars, nation="GB", with_treads=True)
