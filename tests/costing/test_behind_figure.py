"""From a figure of the true cost to the entries behind it."""

import re
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, teach_february
from tests.factories import AgreementFactory, CarFactory, CostEntryFactory, FillFactory, KeeperTimeFactory

BEHIND = reverse("costing:behind-figure")
FEBRUARY = "first=2026-02-01&last=2026-02-28"

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def insured(car: Car) -> Car:
    """February is wholly known, and insured for a year at £911.37."""
    teach_february(car)
    year = {"category": "insurance", "covers_from": date(2025, 12, 8), "covers_to": date(2026, 12, 7)}
    CostEntryFactory(car=car, amount="911.37", paid_on="2025-12-01", **year)
    CostEntryFactory(car=car, amount="30.00", paid_on="2026-02-10", category="repairs", supplier="Corner Workshop")
    CostEntryFactory(car=car, amount="44.00", paid_on="2026-01-10", category="repairs")
    return car


def pence_in(text: str) -> list[int]:
    return [int(found.replace(",", "").replace(".", "")) for found in re.findall(r"£([\d,]+\.\d\d)", text)]


def test_each_category_leads_to_entries_that_add_up_to_it(everyone: dict[str, Client], insured: Car) -> None:
    page = shown(everyone["keeper"], f"{reverse('costing:statement')}?{FEBRUARY}&car=QA51ABC")
    for category, words in {
        "fuel": "Fuel, charge",
        "insurance": "Insurance",
        "repairs": "Repairs",
        "": "February 2026",
    }.items():
        [figure] = re.findall(rf"{words} ([\d,.]+) true cost", page)
        address = f"{BEHIND}?{FEBRUARY}&car=QA51ABC&category={category}"
        behind = everyone["keeper"].get(address).content.decode()
        assert f"add up to <b>£{figure}</b>, which is the figure." in behind
        parts = re.findall(r'<span class="num">(£[\d,.]+)</span>', behind)
        assert sum(pence_in(" ".join(parts))) == pence_in(f"£{figure}")[0]


def test_it_says_how_a_sum_is_spread_and_how_much_of_it_is_here(everyone: dict[str, Client], insured: Car) -> None:
    text = shown(everyone["keeper"], f"{BEHIND}?{FEBRUARY}&category=insurance&car=QA51ABC")
    assert "Insurance, February 2026" in text
    assert "1 December 2025, £911.37 over 365 days, 28 of them here £69.92" in text
    assert "Corner Workshop" not in text
    fuel = shown(everyone["keeper"], f"{BEHIND}?first=2026-02-15&last=2026-02-28&category=fuel")
    assert "£60.00 for the days since the fill before £30.00" in fuel


def test_what_was_left_when_a_cover_ended_is_said_to_be_so(everyone: dict[str, Client], car: Car) -> None:
    year = {"covers_from": date(2025, 12, 8), "covers_to": date(2026, 12, 7), "ended_on": date(2026, 2, 14)}
    CostEntryFactory(car=car, amount="365.00", paid_on="2025-12-01", category="insurance", **year)
    CostEntryFactory(car=car, amount="320.00", paid_on="2026-01-01", category="tyres", covers_miles=25_000)
    FillFactory(car=car, filled_on="2026-01-01", odometer=40_000)
    FillFactory(car=car, filled_on="2026-02-28", odometer=45_000)
    text = shown(everyone["keeper"], f"{BEHIND}?{FEBRUARY}")
    left = "£296.00 that was left of it when the policy ended on 14 February 2026"
    assert f"£365.00 over 365 days, 14 of them here and {left} £310.00" in text
    assert "£320.00 over 25,000 miles, for the miles driven in these days" in text


def test_what_rests_on_no_entry_is_said_to_be_so(everyone: dict[str, Client], insured: Car) -> None:
    AgreementFactory(car=insured, starts_on="2026-02-01", kind="weekly_rental", payment="70.00", payments=52)
    text = shown(everyone["keeper"], f"{BEHIND}?{FEBRUARY}&car=QA51ABC")
    assert re.search(r"These entries add up to £159\.92 \.", text)
    assert re.search(r"The other £[\d.]+ come from how you hold the car and what it is worth", text)
    held = reverse("costing:car-cost", args=["QA51ABC"])
    assert f'href="{held}#held"' in everyone["keeper"].get(f"{BEHIND}?{FEBRUARY}&car=QA51ABC").content.decode()
    assert 'id="held"' in everyone["keeper"].get(held).content.decode()


def test_it_leads_to_what_was_paid_then(everyone: dict[str, Client], insured: Car) -> None:
    page = everyone["keeper"].get(f"{BEHIND}?{FEBRUARY}&car=QA51ABC").content.decode()
    [address] = re.findall(r'href="([^"]+)">What was paid in these days instead<', page)
    text = shown(everyone["keeper"], address.replace("&amp;", "&"))
    assert "£60.00 in fills, £30.00 in costs" in text
    assert "£90.00 together" in text


def test_a_lesson_hour_leads_to_the_entries_of_its_days(everyone: dict[str, Client], insured: Car) -> None:
    text = shown(everyone["keeper"], f"{BEHIND}?{FEBRUARY}")
    assert "A lesson hour cost £4.44: the share of the true cost that was not private, over 36 hours taught." in text


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("first=2026-02-10&last=2026-02-09", "before the first"),
        ("", "Give a day."),
        (f"{FEBRUARY}&category=finance", "Choose one of the categories."),
        (f"{FEBRUARY}&car=QB02XYZ", "Choose one of your own cars."),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(
    everyone: dict[str, Client], insured: Car, colleague_car: Car, asked: str, words: str
) -> None:
    text = shown(everyone["keeper"], f"{BEHIND}?{asked}")
    assert words in text
    assert "Corner Workshop" not in text


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_sees_what_is_behind_the_figures_of_another(everyone: dict[str, Client], insured: Car, who: str) -> None:
    for asked in (FEBRUARY, f"{FEBRUARY}&car=QA51ABC", f"{FEBRUARY}&category=repairs"):
        text = shown(everyone[who], f"{BEHIND}?{asked}")
        assert "Corner Workshop" not in text
        assert "911.37" not in text


def test_a_taker_sees_nothing_of_the_former_keeper(
    everyone: dict[str, Client], insured: Car, colleague: Member
) -> None:
    KeeperTimeFactory(car=insured, to_on="2026-02-10")
    KeeperTimeFactory(car=insured, keeper=colleague, from_on="2026-02-11")
    insured.keeper = colleague
    insured.save()
    CostEntryFactory(car=insured, member=colleague, paid_on="2026-02-12", amount="7.00", supplier="Elsewhere")
    own = shown(everyone["colleague"], f"{BEHIND}?{FEBRUARY}&car=QA51ABC")
    assert "These entries add up to £7.00 , which is the figure." in own
    assert "Elsewhere" not in shown(everyone["keeper"], f"{BEHIND}?{FEBRUARY}&car=QA51ABC")


def test_the_number_of_queries_does_not_grow_with_the_entries(
    everyone: dict[str, Client], keeper: Member, car: Car, django_assert_max_num_queries: Any
) -> None:
    CostEntryFactory(car=car, paid_on="2026-02-10")
    FillFactory(car=car, filled_on="2026-02-10", odometer=47_900)
    everyone["keeper"].get(f"{BEHIND}?{FEBRUARY}")  # the first one reads what is kept from then on
    with CaptureQueriesContext(connection) as few:
        everyone["keeper"].get(f"{BEHIND}?{FEBRUARY}")
    for mark in ("QB52DEF", "QC53GHJ"):
        another = CarFactory(keeper=keeper, registration=mark)
        for number in range(30):
            CostEntryFactory(car=another, paid_on="2026-02-10", amount="1.00")
            FillFactory(car=another, filled_on="2026-02-10", odometer=48_000 + number)
    # One fewer where the first page happens to have costs alone.
    with django_assert_max_num_queries(len(few)):
        everyone["keeper"].get(f"{BEHIND}?{FEBRUARY}")
