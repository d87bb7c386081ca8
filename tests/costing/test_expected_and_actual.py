"""The page that holds what was expected of an offer against what its car really cost."""

from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Offer
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import (
    AgreementFactory,
    ComparisonFactory,
    CostEntryFactory,
    FillFactory,
    OdometerReadingFactory,
    OfferFactory,
    TeachingRecordFactory,
)

TERMS = {"payment": "480.00", "payments": 24, "frequency": "month", "includes": ["insurance", "tyres"]}
RUNNING = {"fuel_pence_per_mile": "12", "repairs_per_year": "240.00", "insurance": ["900.00"], "fit_out": "400.00"}

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def offer(keeper: Member, car: Car) -> Offer:
    """Contract hire of £480 a month from 1 December 2025: three months of it are closed on 16 March 2026."""
    comparison = ComparisonFactory(member=keeper, running=RUNNING)
    AgreementFactory(
        car=car, starts_on="2025-12-01", kind="contract_hire", price=None, deposit=None, payment="480.00", payments=24
    )
    return OfferFactory(
        comparison=comparison, kind="contract_hire", name="Hire", terms=TERMS, car=car, chosen_on="2025-12-01"
    )


def page_of(offer: Offer) -> str:
    return reverse("costing:expected-and-actual", args=[offer.pk])


def pay(car: Car, category: str, amount: str, paid_on: str = "2026-01-05") -> None:
    CostEntryFactory(car=car, category=category, amount=amount, paid_on=paid_on)


def test_each_part_is_held_against_what_was_expected(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    for day in ("2025-12-31", "2026-01-31", "2026-02-28"):
        pay(car, "rental", "480.00", day)
    pay(car, "repairs", "95.00")
    pay(car, "fit_out", "380.00", "2025-12-01")
    page = shown(everyone["keeper"], page_of(offer))
    assert "1 December 2025 to 28 February 2026, 3 months" in page
    assert "The car itself £1,440.00 expected. As expected. £1,440.00" in page
    # A quarter of £240, and of 24,000 miles at 12p.
    assert "Repairs £60.00 expected. £35.00 more than expected. £95.00" in page
    assert "Fit-out for tuition £400.00 expected. £20.00 less than expected. £380.00" in page
    assert "Fuel £720.00 expected. Nothing logged. not known" in page
    assert "Paid out £2,620.00 £1,915.00" in page
    assert "£705.00 less than expected. But nothing is logged yet for parts expected to cost £720.00" in page


def test_what_the_offer_includes_is_expected_to_cost_nothing_besides(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    assert "Insurance" not in shown(everyone["keeper"], page_of(offer)).split("True cost over that time")[0]
    pay(car, "insurance", "60.00")
    assert "Insurance £0.00 expected. £60.00 more than expected. £60.00" in shown(everyone["keeper"], page_of(offer))


def test_what_was_not_compared_has_a_line_of_its_own(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    pay(car, "parking_tolls", "14.00")
    pay(car, "cleaning", "6.00")
    page = shown(everyone["keeper"], page_of(offer))
    assert "Cleaning, not in the comparison £0.00 expected. £6.00 more" in page
    assert "Parking and tolls, not in the comparison £0.00 expected. £14.00 more" in page


def test_only_what_was_paid_in_those_months_counts(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    for day in ("2025-11-30", "2026-03-01"):
        pay(car, "repairs", "95.00", day)
        FillFactory(car=car, filled_on=day)
    page = shown(everyone["keeper"], page_of(offer))
    assert "Repairs £60.00 expected. Nothing logged. not known" in page
    assert "Fuel £720.00 expected. Nothing logged. not known" in page


def test_miles_and_lesson_hours_stand_beside_what_was_planned(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    assert "Miles the odometer readings don’t cover all of it 6,000 not known" in page
    assert "Lesson hours no lessons logged 299 not known" in page
    OdometerReadingFactory(car=car, read_on="2025-11-30", miles=40_000)
    OdometerReadingFactory(car=car, read_on="2026-02-28", miles=45_500)
    TeachingRecordFactory(car=car, from_on="2025-12-01", to_on="2026-02-28", minutes=280 * 60)
    page = shown(everyone["keeper"], page_of(offer))
    assert "Miles 6,000 5,500" in page
    assert "Lesson hours 299 280" in page


def test_the_true_cost_says_what_it_lacks(everyone: dict[str, Client], offer: Offer) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    assert "True cost £1,440.00" in page
    assert "No fuel or charge logged" in page


def test_what_only_the_end_brings_is_left_out(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    comparison = ComparisonFactory(member=keeper, running={})
    comparison.use = comparison.use | {"months": 3}
    comparison.save()
    AgreementFactory(car=car, starts_on="2025-06-01", kind="owned", price="9500.00", deposit=None)
    offer = OfferFactory(comparison=comparison, car=car, chosen_on="2025-06-01")
    page = shown(everyone["keeper"], page_of(offer))
    assert "1 June 2025 to 31 August 2025, 3 months" in page
    assert "The car itself £9,500.00 expected. As expected. £9,500.00" in page


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"car": None, "chosen_on": None}, "You haven’t accepted this offer"),
        ({"kind": "owned"}, "no longer has an agreement of this kind (Owned outright)"),
        ({"is_complete": False}, "can no longer be worked out"),
    ],
)
def test_where_nothing_can_be_held_against_it_that_is_said(
    everyone: dict[str, Client], offer: Offer, changes: dict[str, Any], words: str
) -> None:
    if changes.get("kind") == "owned":
        changes = changes | {"terms": {"price": "9500.00", "value_at_horizon": "6200.00"}}
    Offer.objects.filter(pk=offer.pk).update(**changes)
    assert words in shown(everyone["keeper"], page_of(offer))


def test_an_offer_no_longer_complete_beside_one_that_is_says_so(everyone: dict[str, Client], offer: Offer) -> None:
    OfferFactory(comparison=offer.comparison)
    Offer.objects.filter(pk=offer.pk).update(is_complete=False)
    assert "Something is missing from this offer" in shown(everyone["keeper"], page_of(offer))


def test_before_the_first_month_is_over_the_day_to_look_again_is_named(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    agreement = car.agreement_set.get()
    agreement.starts_on = date(2026, 2, 10)
    agreement.save()
    page = shown(everyone["keeper"], page_of(offer))
    assert "The agreement began on 10 February 2026." in page
    assert "once March 2026 is over" in page


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_anothers_offer_is_not_there(everyone: dict[str, Client], offer: Offer, who: str) -> None:
    assert everyone[who].get(page_of(offer)).status_code == 404


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], offer: Offer) -> None:
    assert everyone["anonymous"].get(page_of(offer)).url.startswith(reverse("account_login"))
