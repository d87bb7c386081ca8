"""The page /cars/<mark>/readings/: what was written down of a car's odometer."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from tests.costing.pages import text_of
from tests.factories import FillFactory, OdometerReadingFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
PAGE = reverse("fleet:readings", args=["QA51ABC"])


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_keeper_and_coordinator_see_it(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status


def test_fills_stay_private(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 1), miles=47_000)
    FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=48_213)
    for who in ("keeper", "coordinator"):
        page = text_of(everyone[who].get(PAGE))
        assert "1 March 2026 47,000 miles" in page
        assert "48,213" not in page


def test_newest_first_page_by_page(everyone: dict[str, Client], car: Car) -> None:
    for number in range(30):
        OdometerReadingFactory(car=car, read_on=date(2026, 1, 1) + timedelta(days=number), miles=40_000 + number)
    first, second = (text_of(everyone["keeper"].get(f"{PAGE}?page={page}")) for page in (1, 2))
    assert first.index("30 January 2026") < first.index("29 January 2026")
    assert "5 January 2026" in second
    assert "6 January 2026" not in second.replace("16 January", "")


def test_an_empty_list_says_so_and_where_to_enter_one(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(PAGE).content.decode()
    assert "No reading has been written down." in page
    assert reverse("fleet:odometer-add", args=["QA51ABC"]) in page
