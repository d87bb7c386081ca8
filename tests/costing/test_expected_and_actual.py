"""What was expected of an accepted offer, beside what its car really cost, from the first week."""

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
    KeeperTimeFactory,
    OdometerReadingFactory,
    OfferFactory,
    TeachingRecordFactory,
)

TERMS = {"payment": "480.00", "payments": 24, "frequency": "month", "includes": ["insurance", "tyres"]}
RUNNING = {"fuel_pence_per_mile": "12", "repairs_per_year": "240.00", "insurance": ["900.00"], "fit_out": "400.00"}

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def offer(keeper: Member, car: Car) -> Offer:
    """Contract hire of £480 a month from 1 December 2025: on 16 March 2026 three months and 15 days of it are over."""
    comparison = ComparisonFactory.create(member=keeper, running=RUNNING)
    AgreementFactory.create(
        car=car, starts_on="2025-12-01", kind="contract_hire", price=None, deposit=None, payment="480.00", payments=24
    )
    return OfferFactory.create(
        comparison=comparison, kind="contract_hire", name="Hire", terms=TERMS, car=car, chosen_on="2025-12-01"
    )


def page_of(offer: Offer) -> str:
    return reverse("costing:expected-and-actual", args=[offer.pk])


def pay(car: Car, category: str, amount: str, paid_on: str = "2026-01-05") -> None:
    CostEntryFactory.create(car=car, category=category, amount=amount, paid_on=paid_on)


def test_each_part_is_held_against_what_was_expected(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    for day in ("2025-12-31", "2026-01-31", "2026-02-28"):
        pay(car, "rental", "480.00", day)
    pay(car, "repairs", "95.00")
    pay(car, "fit_out", "380.00", "2025-12-01")
    page = shown(everyone["keeper"], page_of(offer))
    assert "1 December 2025 to 16 March 2026" in page
    assert "Payments £1,440 expected. As expected. £1,440.00" in page
    # Three months at £20, and 15 of March's 31 days: £69.67. Fuel is 2,000 miles a month at 12p: £836.12.
    assert "Repairs £70 expected. £25 more than expected. £95.00" in page
    assert "Fit-out for tuition £400 expected. £20 less than expected. £380.00" in page
    assert "Fuel £836 expected. Nothing logged. not known" in page
    # Only what is known of both: 1,440 + 69.67 + 400 against 1,440 + 95 + 380.
    assert "£5 more than expected." in page
    assert "Paid out, where both are known £1,910 £1,915.00" in page
    assert "Nothing is logged yet for fuel. Log what you have paid." in page


def test_what_the_offer_did_not_tell_is_named_and_never_nothing(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    assert "Servicing Not told in the offer. Nothing logged. not known" in page
    assert (
        "The offer did not tell vehicle tax, breakdown cover, MOT and servicing, so nothing was expected there." in page
    )
    pay(car, "servicing", "180.00")
    page = shown(everyone["keeper"], page_of(offer))
    assert "Servicing Not told in the offer. £180.00" in page
    assert "£0" not in page.split("True cost over that time")[0]


def test_from_the_first_day_what_is_paid_at_the_start_is_expected(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    begin(car, date(2026, 3, 16))
    page = shown(everyone["keeper"], page_of(offer))
    assert "16 March 2026 to 16 March 2026" in page
    assert "Fit-out for tuition £400 expected. Nothing logged. not known" in page
    assert "Payments" not in page.split("True cost over that time")[0].split("What both cover")[0]
    assert "Nothing is logged yet that can be held against what was expected." in page


def test_after_a_week_a_week_of_fuel_is_expected(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    begin(car, date(2026, 3, 9))
    # 7 of 31 days of £240.
    assert "Fuel £54 expected." in shown(everyone["keeper"], page_of(offer))


def begin(car: Car, on: date) -> None:
    agreement = car.agreement_set.get()
    agreement.starts_on = on
    agreement.save()


def test_a_range_that_was_told_is_shown_and_what_lies_within_is_expected(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    comparison = offer.comparison
    comparison.running = RUNNING | {"repairs_per_year": {"low": "120.00", "likely": "240.00", "high": "960.00"}}
    comparison.use = comparison.use | {"starts_on": "2025-12-01"}
    comparison.uncertain = [{"input": "miles_per_year", "low": "20000", "likely": "24000", "high": "30000"}]
    comparison.save()
    pay(car, "repairs", "95.00")
    page = shown(everyone["keeper"], page_of(offer))
    # A month at £10, £20 and £80, three of them and 15 days of 31.
    assert "Repairs £35 to £279 expected. Within what was expected. £95.00" in page
    assert "Miles" in page
    assert "5,806 to 8,709" in page
    pay(car, "repairs", "300.00")
    assert "Repairs £35 to £279 expected. £116 more than expected. £395.00" in shown(everyone["keeper"], page_of(offer))


def test_what_the_offer_includes_is_expected_to_cost_nothing_besides(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    assert "Insurance" not in shown(everyone["keeper"], page_of(offer)).split("True cost over that time")[0]
    pay(car, "insurance", "60.00")
    assert "Insurance £0 expected. £60 more than expected. £60.00" in shown(everyone["keeper"], page_of(offer))


def test_what_was_not_compared_has_a_line_of_its_own(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    pay(car, "parking_tolls", "14.00")
    pay(car, "cleaning", "6.00")
    page = shown(everyone["keeper"], page_of(offer))
    assert "Cleaning, not in the comparison £0 expected. £6 more" in page
    assert "Parking and tolls, not in the comparison £0 expected. £14 more" in page


def test_only_what_was_paid_in_that_time_counts(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    pay(car, "repairs", "95.00", "2025-11-30")
    FillFactory.create(car=car, filled_on="2025-11-30")
    page = shown(everyone["keeper"], page_of(offer))
    assert "Repairs £70 expected. Nothing logged. not known" in page
    assert "Fuel £836 expected. Nothing logged. not known" in page


def test_miles_and_lesson_hours_stand_beside_what_was_planned(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    # 2,000 miles and 26 x 46 / 12 hours a month, three of them and 15 days of 31.
    assert "Miles the odometer readings don’t cover all of it 6,967 not known" in page
    assert "Lesson hours no lessons logged 347 not known" in page
    OdometerReadingFactory.create(car=car, read_on="2025-11-30", miles=40_000)
    OdometerReadingFactory.create(car=car, read_on="2026-03-16", miles=46_500)
    TeachingRecordFactory.create(car=car, from_on="2025-12-01", to_on="2026-03-16", minutes=320 * 60)
    page = shown(everyone["keeper"], page_of(offer))
    assert "Miles 6,967 6,500" in page
    assert "Lesson hours 347 320" in page


def test_the_true_cost_says_what_it_lacks(everyone: dict[str, Client], offer: Offer) -> None:
    page = shown(everyone["keeper"], page_of(offer))
    assert "No fuel or charge logged" in page


def test_it_ends_with_the_time_compared_and_leaves_the_way_out_aside(
    everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    comparison = ComparisonFactory.create(member=keeper, running={})
    comparison.use = comparison.use | {"months": 3}
    comparison.save()
    AgreementFactory.create(car=car, starts_on="2025-06-01", kind="owned", price="9500.00", deposit=None)
    offer = OfferFactory.create(comparison=comparison, car=car, chosen_on="2025-06-01")
    page = shown(everyone["keeper"], page_of(offer))
    assert "1 June 2025 to 31 August 2025" in page
    assert "Price £9,500 expected. As expected. As its agreement says. £9,500.00" in page
    assert "6,200" not in page


def test_no_more_is_expected_once_the_car_has_gone_to_somebody_else(
    everyone: dict[str, Client], offer: Offer, car: Car, keeper: Member, colleague: Member
) -> None:
    pay(car, "rental", "480.00", "2025-12-31")
    pay(car, "repairs", "95.00", "2026-02-20")
    KeeperTimeFactory.create(car=car, keeper=keeper, from_on=car.in_service_from, to_on=date(2026, 1, 15))
    KeeperTimeFactory.create(car=car, keeper=colleague, from_on=date(2026, 1, 16))
    Car.objects.filter(pk=car.pk).update(keeper=colleague)
    page = shown(everyone["keeper"], page_of(offer))
    assert "1 December 2025 to 15 January 2026" in page
    assert "Payments £480 expected. As expected. £480.00" in page
    # A month at £20 and 14 of 31 days; the bill that came late is still the former keeper's.
    assert "Repairs £29 expected. £66 more than expected. £95.00" in page


def test_no_more_is_expected_once_the_car_is_out_of_service(
    everyone: dict[str, Client], offer: Offer, car: Car
) -> None:
    Car.objects.filter(pk=car.pk).update(in_service_to=date(2026, 1, 15))
    assert "1 December 2025 to 15 January 2026" in shown(everyone["keeper"], page_of(offer))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"car": None, "chosen_on": None}, "You haven’t accepted this offer"),
        ({"kind": "owned"}, "no longer has an agreement of this kind (Owned outright)"),
        ({"terms": {}}, "can no longer be worked out"),
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
    OfferFactory.create(comparison=offer.comparison)
    Offer.objects.filter(pk=offer.pk).update(terms={})
    assert "Something is missing from this offer" in shown(everyone["keeper"], page_of(offer))


def test_before_the_first_day_it_says_when_to_look_again(everyone: dict[str, Client], offer: Offer, car: Car) -> None:
    begin(car, date(2026, 3, 17))
    page = shown(everyone["keeper"], page_of(offer))
    assert "The agreement begins on 17 March 2026. Look again a week later." in page


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_anothers_offer_is_not_there(everyone: dict[str, Client], offer: Offer, who: str) -> None:
    assert everyone[who].get(page_of(offer)).status_code == 404


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], offer: Offer) -> None:
    assert everyone["anonymous"].get(page_of(offer)).url.startswith(reverse("account_login"))
