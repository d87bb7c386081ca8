"""A board of 500 cars: light, asked by as few queries as one of ten, and searched as a whole."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Car, DueItem
from instructors.models import Member
from tests.factories import KeeperTimeFactory
from tests.fleet.reminding import in_days

CARS = reverse("fleet:car-list")
MANY = 500
#: Bytes of HTML.
MOST = 60_000

pytestmark = pytest.mark.usefixtures("today")


def add_cars(numbers: range) -> list[Car]:
    """Cars of which nothing is recorded, which takes the most words, each with a keeper whose licence runs out."""
    keepers = Member.objects.bulk_create(
        Member(email=f"k{number}@cars.example", name=f"Hardly Ever Shorter {number:03}", joined_on=in_days(-200))
        for number in numbers
    )
    DueItem.objects.bulk_create(DueItem(member=one, kind="adi_registration", due_on=in_days(9)) for one in keepers)
    return Car.objects.bulk_create(
        Car(registration=f"QA{number:03}", keeper=keeper, fuel="petrol", in_service_from=in_days(-100))
        for number, keeper in zip(numbers, keepers, strict=True)
    )


def queries_of(client: Client) -> int:
    client.get(CARS)
    with CaptureQueriesContext(connection) as asked:
        client.get(CARS)
    return len(asked)


def test_every_page_of_500_cars_is_light_and_asks_no_more_than_one_of_ten(everyone: dict[str, Client]) -> None:
    coordinator = everyone["coordinator"]
    add_cars(range(10))
    of_ten = queries_of(coordinator)
    add_cars(range(10, MANY))
    assert queries_of(coordinator) == of_ten
    for asked in ({}, {"page": 2}, {"page": 42}, {"credentials": 3}, {"state": "unknown"}):
        response = coordinator.get(CARS, asked)
        assert len(response.content) < MOST, asked


def test_search_and_filters_reach_every_car_of_500(everyone: dict[str, Client]) -> None:
    add_cars(range(MANY))
    last = Car.objects.get(registration="QA499")

    def shown(**asked: Any) -> list[str]:
        response = everyone["coordinator"].get(CARS, asked)
        return [row.car.registration for row in response.context["report"].rows]

    assert shown(q="qa 499") == shown(q="ever shorter 499") == shown(kept_by=last.keeper_id) == ["QA499"]
    assert len(shown(state="unknown", page=42)) == MANY - 41 * 12


def test_among_many_keepers_one_searches_by_name(everyone: dict[str, Client]) -> None:
    """A choice of hundreds helps nobody, and would be a third of the page."""
    add_cars(range(60))
    assert b'name="kept_by"' in everyone["coordinator"].get(CARS).content
    add_cars(range(60, 61))
    assert b'name="kept_by"' not in everyone["coordinator"].get(CARS).content


def test_credentials_have_pages_of_their_own(everyone: dict[str, Client]) -> None:
    add_cars(range(13))
    first, second = (everyone["coordinator"].get(CARS, {"credentials": page}) for page in (1, 2))
    assert [len(one.context["credentials"].object_list) for one in (first, second)] == [12, 1]
    assert b'href="?credentials=2"' in first.content
    assert b'aria-label="Pages of credentials"' in first.content


def test_of_several_pages_a_phone_gets_each_car_and_no_list_by_obligation(everyone: dict[str, Client]) -> None:
    add_cars(range(12))
    assert b'id="by-1"' in everyone["coordinator"].get(CARS).content
    add_cars(range(12, 13))
    page = everyone["coordinator"].get(CARS).content
    assert b'id="by-1"' not in page
    assert b"<details open>" in page


def test_keepers_without_a_licence_are_named_up_to_twelve_and_counted_beyond(everyone: dict[str, Client]) -> None:
    add_cars(range(15))
    DueItem.objects.all().delete()
    page = " ".join(everyone["coordinator"].get(CARS).content.decode().split())
    assert "Hardly Ever Shorter 011 and 3 more. They enter it" in page


def test_lists_beside_the_board_have_pages_of_their_own(everyone: dict[str, Client]) -> None:
    for car in add_cars(range(13)):
        KeeperTimeFactory(car=car, keeper=car.keeper, from_on=in_days(-100), to_on=in_days(-1))
    Car.objects.bulk_create(
        Car(
            registration=f"QB{number:03}",
            keeper=car.keeper,
            fuel="petrol",
            in_service_from=in_days(-9),
            in_service_to=in_days(-2),
        )
        for number, car in enumerate(Car.objects.all())
    )
    for name, shown in (("keeperless", "keeperless"), ("out-of-service", "former")):
        first, second = (everyone["coordinator"].get(CARS, {name: page}) for page in (1, 2))
        assert [len(one.context[shown].object_list) for one in (first, second)] == [12, 1]
        assert f'href="?{name}=2"'.encode() in first.content


@pytest.mark.parametrize("is_stopped", [True, False])
def test_a_coordinators_home_is_light_with_500_cars(everyone: dict[str, Client], is_stopped: bool) -> None:
    cars = add_cars(range(MANY))
    items = [DueItem(car=car, kind="mot", due_on=in_days(-3)) for car in cars]
    DueItem.objects.bulk_create(items if is_stopped else items[:1])
    response = everyone["coordinator"].get(reverse("costing:home"))
    assert len(response.content) < MOST
    page = " ".join(response.content.decode().split())
    assert ("500 of 500 cars are off the road" in page) == ("All 500 off the road</a>" in page) == is_stopped
    assert ("and 487 more." in page) != is_stopped


def test_a_month_of_500_cars_is_light_though_every_day_is_full(everyone: dict[str, Client]) -> None:
    """Of most of what is recorded nobody knows the rest, and much ran out in the months before."""
    cars = add_cars(range(MANY))
    DueItem.objects.bulk_create(
        DueItem(car=car, kind="mot", due_on=in_days(number % 100 - 50), booked_for=in_days(number % 90 - 45))
        for number, car in enumerate(cars)
    )
    for number, item in enumerate(DueItem.objects.filter(car=None)):
        DueItem.objects.filter(pk=item.pk).update(due_on=in_days(number % 100 - 50))
    months = [reverse("fleet:month") + f"?month=2026-{month:02}" for month in (2, 3, 4)]
    for address in (*months, f"{months[1]}&earlier=2&unknown=9", reverse("fleet:due-day", args=["2026-03-20"])):
        response = everyone["coordinator"].get(address)
        assert len(response.content) < MOST, address
    march = everyone["coordinator"].get(months[1]).context
    assert all(day.more_count for day in march["days"] if day.is_in_month)
    assert [march[name].paginator.num_pages > 1 for name in ("earlier", "unknown")] == [True, True]
