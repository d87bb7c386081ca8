"""The list of what repeats."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import make_due
from fleet.models import Car
from tests.costing.pages import shown
from tests.factories import CarFactory, RepeatFactory

LIST = reverse("costing:repeat-list")

pytestmark = pytest.mark.usefixtures("today")


def test_it_says_what_comes_when_and_how_many_were_made(everyone: dict[str, Client], car: Car) -> None:
    repeat = RepeatFactory.create(car=car)
    RepeatFactory.create(car=car, category="insurance", amount="42.10", starts_on=date(2026, 3, 20))
    RepeatFactory.create(car=car, category="cleaning", stopped_on=date(2026, 2, 1))
    make_due(repeat.pk, date(2026, 3, 16))
    page = shown(everyone["keeper"], LIST)
    assert "Breakdown cover Next on 31 March 2026 Every month, two made so far £12.40" in page
    assert "Insurance Next on 20 March 2026 Every month, none made yet £42.10" in page
    assert page.index("Insurance Next") < page.index("Cleaning Nothing after 1 February 2026")


def test_with_several_cars_each_names_its_own(everyone: dict[str, Client], car: Car) -> None:
    other = CarFactory.create(registration="QA52ABC", keeper=car.keeper)
    RepeatFactory.create(car=car)
    RepeatFactory.create(car=other)
    page = shown(everyone["keeper"], LIST)
    assert "QA51 ABC, none made yet" in page
    assert "QA52 ABC, none made yet" in page


def test_it_is_reached_from_more_and_from_the_entries(everyone: dict[str, Client], car: Car) -> None:
    for page in ("more", "entries"):
        assert f'href="{LIST}"' in everyone["keeper"].get(reverse(f"costing:{page}")).content.decode()


def test_it_shows_ones_own_alone(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    RepeatFactory.create(car=car)
    for who in ("colleague", "coordinator"):
        assert "Breakdown cover" not in everyone[who].get(LIST).content.decode()
    assert "Nothing repeats yet" in shown(everyone["colleague"], LIST)


def test_ten_cost_no_more_queries_than_one(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries: object
) -> None:
    RepeatFactory.create_batch(10, car=car)
    with django_assert_max_num_queries(45):  # type: ignore[operator]
        everyone["keeper"].get(LIST)
