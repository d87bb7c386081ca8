"""The fragment that says what a lesson costs now, which a log page asks for after its answer."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Car
from tests.costing.pages import HTMX, cost_data, fill_data, teaching_data, text_of
from tests.factories import CostEntryFactory, FillFactory, HireFactory, TeachingRecordFactory

COST_CARD = reverse("costing:cost-card")
pytestmark = pytest.mark.usefixtures("today")


def test_it_says_what_the_month_so_far_and_the_one_before_cost(everyone: dict[str, Client], car: Car) -> None:
    for day, odometer in ((date(2026, 1, 31), 10_000), (date(2026, 2, 28), 11_000)):
        FillFactory(car=car, filled_on=day, odometer=odometer, amount=0)
    CostEntryFactory(car=car, paid_on=date(2026, 2, 10), amount=Decimal(300))
    HireFactory(car=car)
    TeachingRecordFactory(
        car=car, from_on=date(2026, 2, 1), to_on=date(2026, 2, 28), lesson_count=50, minutes=6_000, private_miles=0
    )
    response = everyone["keeper"].get(COST_CARD, headers=HTMX)
    words = text_of(response)
    assert "<html" not in response.content.decode()
    assert "February 2026 £3.00" in words
    assert "March 2026 so far not known after 28 February 2026: no odometer reading after 28 February 2026;" in words
    assert "Read the odometer" in words


def test_it_brings_the_banner_of_a_car_off_the_road_anew(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(COST_CARD, headers=HTMX).content.decode()
    assert 'id="standing"' in page
    assert 'hx-swap-oob="true"' in page


def test_it_is_for_members(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(COST_CARD).url.startswith(reverse("account_login"))


def test_the_answer_to_a_log_asks_for_nothing_that_the_card_shows(everyone: dict[str, Client], car: Car) -> None:
    """What was logged is there at once, on however bad a line; what it comes to is worked out after that."""
    with CaptureQueriesContext(connection) as captured:
        everyone["keeper"].post(reverse("costing:fill-log"), fill_data(car), headers=HTMX)
    asked = " ".join(query["sql"] for query in captured)
    for table in ("costing_costentry", "costing_teachingrecord", "costing_groupfigure", "fleet_dueitem"):
        assert table not in asked


@pytest.mark.parametrize(
    ("page", "data", "count"),
    [("fill-log", fill_data, 12), ("cost-log", cost_data, 13), ("teaching-log", teaching_data, 10)],
)
def test_the_answer_to_a_log_takes_few_statements(
    everyone: dict[str, Client], car: Car, page: str, data: Callable[[Car], dict[str, Any]], count: int
) -> None:
    """It asks for session, member and cars, locks the car, looks for the reference, and writes entry and history.

    That takes nine statements with the transaction. A fill asks three more: who kept the car, its readings, its fills.
    Lessons ask one more: whether the week has any.
    A cost takes two more transactions, for it may answer what a policy covers. A session's first request is left out.
    """
    client, address = everyone["keeper"], reverse(f"costing:{page}")
    client.get(address)
    with CaptureQueriesContext(connection) as captured:
        client.post(address, data(car), headers=HTMX)
    assert len(captured) == count
