"""The page /pot/month/: all bills of a month that has too many for the page of the pot."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Repeat
from costing.planning.pictures.pot import pot_page
from costing.planning.report import pot_report
from fleet.models import Car
from tests.conftest import TODAY
from tests.costing.pages import text_of
from tests.factories import RepeatFactory

pytestmark = pytest.mark.usefixtures("today")

POT, MONTH = reverse("costing:pot"), reverse("costing:pot-month")


@pytest.fixture
def many(car: Car) -> Car:
    """A car with eight costs that repeat each week: more than 25 bills a month."""
    RepeatFactory.create_batch(8, car=car, interval="week", starts_on=TODAY + timedelta(days=1), category="cleaning")
    return car


def test_a_month_of_many_bills_is_a_page_of_its_own_and_has_them_all(everyone: dict[str, Client], many: Car) -> None:
    page = everyone["keeper"].get(POT).content.decode()
    first, second = pot_page(pot_report(many.keeper, TODAY)).months[:2]
    assert f'href="{MONTH}?month=1"' in page
    assert first.bills[0].when not in text_of(everyone["keeper"].get(POT)).replace(first.title, "")
    found = 0
    for number in range(1, len(second.bills) // 25 + 2):
        shown = everyone["keeper"].get(f"{MONTH}?month=2&page={number}")
        assert f"{second.title} " in text_of(shown)
        assert f"{second.number}: {second.total}".lower() in text_of(shown).lower()
        found += shown.content.decode().count("<li>\n") and len(shown.context["bills"].object_list)
    assert found == len(second.bills) > 25


def test_what_the_page_of_the_pot_weighs_does_not_grow_with_its_bills(everyone: dict[str, Client], many: Car) -> None:
    few = len(everyone["keeper"].get(POT).content)
    Repeat.objects.update(starts_on=TODAY + timedelta(days=2))
    RepeatFactory.create_batch(80, car=many, interval="week", starts_on=TODAY + timedelta(days=2), category="cleaning")
    assert len(everyone["keeper"].get(POT).content) < few + 5_000
    assert len(everyone["keeper"].get(f"{MONTH}?month=3").content) < few + 5_000


def test_a_month_of_few_stands_on_the_page_itself(everyone: dict[str, Client], car: Car) -> None:
    RepeatFactory.create(car=car, starts_on=TODAY)
    page = everyone["keeper"].get(POT).content.decode()
    assert MONTH not in page
    assert "16 March 2026" in page


@pytest.mark.parametrize("query", ["", "?month=nonsense", "?month=99&page=99"])
def test_any_address_shows_a_month_that_there_is(everyone: dict[str, Client], car: Car, query: str) -> None:
    RepeatFactory.create(car=car, starts_on=TODAY)
    assert everyone["keeper"].get(MONTH + query).context["month"].title


def test_without_a_bill_it_says_so(everyone: dict[str, Client]) -> None:
    assert "No bill is known yet." in text_of(everyone["stranger"].get(MONTH))
