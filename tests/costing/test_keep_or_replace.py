"""The page that puts the car one has beside the offers, as one of them."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.choosing.core.case import Spread
from costing.choosing.core.figures import figures
from costing.choosing.pictures.kept import kept_facts
from costing.choosing.pictures.sheet import sheet_of
from costing.choosing.report import OffersReport
from costing.choosing.services.stored import case_of, offer_of
from costing.models import Comparison, Offer
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import input_value, shown, teach_february, text_of
from tests.factories import (
    AgreementFactory,
    CarFactory,
    ComparisonFactory,
    CostEntryFactory,
    KeeperTimeFactory,
    OfferFactory,
    ValuationFactory,
)

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    """Starting 1 May 2026, over 24 months, with one used hatchback."""
    comparison = ComparisonFactory.create(member=keeper)
    OfferFactory.create(comparison=comparison, name="Used hatchback")
    return comparison


def page_of(comparison: Comparison, car: Car | None = None) -> str:
    address = reverse("costing:keep-or-replace", args=[comparison.pk])
    return f"{address}?car={car.registration}" if car else address


def kept_offer(comparison: Comparison) -> Offer:
    return comparison.offers.get(kept__isnull=False)


def keep(client: Client, comparison: Comparison, car: Car, **typed: str) -> Any:
    return client.post(page_of(comparison, car), {"value_now": "5000"} | typed)


def test_the_car_becomes_an_offer_like_any_other(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    response = keep(everyone["keeper"], comparison, car, value_at_horizon="3200")
    assert (response.status_code, response.url) == (303, reverse("costing:comparison", args=[comparison.pk]))
    offer = kept_offer(comparison)
    assert (offer.kind, offer.name, offer.kept, offer.burns) == ("owned", "Keep QA51 ABC", car, car.fuel)
    terms = offer_of(offer)
    assert (terms.price, terms.value_now, terms.value_at_horizon) == (5_000_00, 5_000_00, 3_200_00)
    assert terms.first_registered == car.first_registered
    assert terms.includes == frozenset({"fit_out"})
    assert [one.name for one in case_of(comparison).offers] == ["Used hatchback", "Keep QA51 ABC"]


def test_the_same_car_kept_or_bought_at_its_value_costs_the_same(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    comparison.use = comparison.use | {"discount_rate": "0.07"}
    comparison.save()
    keep(everyone["keeper"], comparison, car, value_at_horizon="3200")
    terms = {"price": "5000.00", "value_at_horizon": "3200.00", "includes": ["fit_out"]}
    if car.first_registered:
        terms["first_registered"] = car.first_registered.isoformat()
    OfferFactory.create(comparison=comparison, name="The same, bought", terms=terms)
    case = case_of(comparison)
    kept, bought = (figures(case, offer) for offer in case.offers[1:])
    assert kept.flow == bought.flow
    assert kept.present_value == bought.present_value


def test_a_second_tap_makes_no_second_offer(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    for _ in range(2):
        keep(everyone["keeper"], comparison, car)
    assert comparison.offers.count() == 2
    page = shown(everyone["keeper"], page_of(comparison, car))
    assert "Keep QA51 ABC stands beside the offers" in page


def test_its_value_comes_from_the_last_one_known_and_the_co_ops_rate(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory.create(car=car, valued_on="2025-05-01", value="8000.00")
    page = everyone["keeper"].get(page_of(comparison, car)).content.decode()
    # 15% in a year; after two more, with a leap day between them, 6,800 x 0.85 ^ (731 / 365) = 4,911.
    assert input_value(page, "value_now") == "6800.00"
    assert input_value(page, "value_at_horizon") == "4910.00"
    text = shown(everyone["keeper"], page_of(comparison, car))
    assert "Put in: £8,000.00 on 1 May 2025, less the co-op’s yearly rate up to 1 May 2026." in text
    assert "that value, less the co-op’s yearly rate up to 1 May 2028." in text


def test_a_value_of_that_very_day_is_put_in_to_the_penny(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory.create(car=car, valued_on="2026-03-16", value="5123.45")
    comparison.use = comparison.use | {"starts_on": "2026-03-01"}
    comparison.save()
    page = everyone["keeper"].get(page_of(comparison, car)).content.decode()
    assert input_value(page, "value_now") == "5123.45"


def test_without_any_value_it_is_asked(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    page = shown(everyone["keeper"], page_of(comparison, car))
    assert "The book has no value for it." in page
    response = keep(everyone["keeper"], comparison, car, value_now="")
    assert 'id="id_value_now_error"' in response.content.decode()
    assert comparison.offers.count() == 1


def test_what_it_may_fetch_may_be_left_untold_and_is_then_not_told(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    keep(everyone["keeper"], comparison, car)
    case = case_of(comparison)
    assert "value" in figures(case, case.offers[1]).not_told


def test_its_running_costs_are_those_of_ones_own_records(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    teach_february(car)
    CostEntryFactory.create(car=car, category="insurance", amount="780.00", paid_on="2025-06-01")
    CostEntryFactory.create(car=car, category="repairs", amount="310.00", paid_on="2025-09-01")
    # The factory's agreement is a hire that ran from its first day; the member has since bought the car.
    AgreementFactory.create(car=car, starts_on="2026-02-01", kind="owned", price="6000.00", deposit=None)
    page = shown(everyone["keeper"], page_of(comparison, car))
    assert "March 2025 to February 2026" in page
    assert "Insurance £780" in page
    assert "fitting it out costs nothing" in page
    keep(everyone["keeper"], comparison, car, repairs_per_year="310.00")
    offer = kept_offer(comparison)
    running = offer_of(offer).running
    assert (running.insurance, running.repairs_per_year) == ((780_00,), 310_00)
    assert running.fuel
    assert running.servicing_per_year is None
    source = "your own records, March 2025 to February 2026"
    assert offer.sources["insurance"] == source
    assert offer.sources["repairs_per_year"] == source
    assert offer.sources["value_now"] == "typed in"


def test_three_years_of_repairs_tell_how_far_they_go(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    three_years_of_repairs(car)
    page = everyone["keeper"].get(page_of(comparison, car)).content.decode()
    assert [input_value(page, f"repairs_per_year{end}") for end in ("_low", "", "_high")] == [
        "200.00",
        "400.00",
        "600.00",
    ]
    assert "your repairs of the last 3 years" in page
    typed = {"repairs_per_year_low": "200", "repairs_per_year": "400", "repairs_per_year_high": "600"}
    keep(everyone["keeper"], comparison, car, **typed)
    (range_told,) = case_of(comparison).uncertain
    assert (range_told.input, range_told.offer) == ("repairs_per_year", "Keep QA51 ABC")
    assert range_told.spreads == (Spread(200_00, 400_00, 600_00),)


def three_years_of_repairs(car: Car) -> None:
    """£200, £400 and £600 in three years, the last of them ending with February 2026."""
    Car.objects.filter(pk=car.pk).update(in_service_from=date(2023, 3, 1))
    AgreementFactory.create(car=car, starts_on="2023-03-01", kind="owned", price="9000.00", deposit=None)
    for index, day in enumerate(["2023-09-01", "2024-09-01", "2025-09-01"]):
        CostEntryFactory.create(car=car, paid_on=day, amount=Decimal(200 * (index + 1)))


def test_the_repairs_of_an_earlier_keeper_are_not_ones_own(
    everyone: dict[str, Client], comparison: Comparison, colleague: Member, car: Car
) -> None:
    three_years_of_repairs(car)
    for rows in (car.costentry_set, car.agreement_set):
        rows.update(member=colleague)
    KeeperTimeFactory.create(car=car, keeper=colleague, from_on="2023-03-01", to_on="2025-02-28")
    KeeperTimeFactory.create(car=car, keeper=car.keeper, from_on="2025-03-01")
    CostEntryFactory.create(car=car, paid_on="2025-10-01", amount=Decimal("310.00"))
    page = everyone["keeper"].get(page_of(comparison, car)).content.decode()
    assert input_value(page, "repairs_per_year") == "310.00"
    assert not input_value(page, "repairs_per_year_high")


def test_what_is_still_owed_on_credit_is_left_out_and_said(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    credit = {"price": "9000.00", "deposit": "500.00", "payment": "200.00", "payments": 48, "final_payment": "10.00"}
    AgreementFactory.create(car=car, starts_on="2025-05-01", kind="hire_purchase", frequency="month", **credit)
    # Twelve payments fall due by 1 May 2026.
    page = shown(everyone["keeper"], page_of(comparison, car))
    assert "It is on credit, and 36 payments are still to come. You owe that whichever car you take" in page
    assert "Ask the lender for this figure in writing." in page
    keep(everyone["keeper"], comparison, car, settlement="6500")
    offer = kept_offer(comparison)
    assert (offer.kind, offer_of(offer).price) == ("owned", 5_000_00)
    # 36 x 200 + 10 are 7,210.
    assert "Settling it takes £6,500.00, whichever car you take, and going on paying £710.00 more" in noted(offer)


def test_without_the_settlement_figure_what_is_owed_is_said(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    AgreementFactory.create(
        car=car, starts_on="2025-05-01", kind="pcp", price="9000.00", payment="200.00", payments=13, frequency="month"
    )
    assert "1 payment is still to come" in shown(everyone["keeper"], page_of(comparison, car))
    keep(everyone["keeper"], comparison, car)
    assert noted(kept_offer(comparison)).startswith(
        "Its price is not paid: it is what the car would fetch today. "
        "£200.00 is still to pay on it, whichever car you take: ask what settling it takes."
    )


def test_credit_that_is_paid_off_leaves_the_car_ones_own(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    AgreementFactory.create(
        car=car, starts_on="2024-05-01", kind="hire_purchase", price="9000.00", payment="400.00", payments=24
    )
    page = shown(everyone["keeper"], page_of(comparison, car))
    assert "It is your own, and nothing is owed on it." in page
    assert "settling" not in page


def test_a_hired_car_goes_on_by_the_payments_left(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    AgreementFactory.create(
        car=car,
        starts_on="2025-05-01",
        kind="contract_hire",
        price=None,
        payment="310.00",
        payments=36,
        frequency="month",
        mileage_allowance=18_000,
        excess_pence_per_mile="8.50",
    )
    page = shown(everyone["keeper"], page_of(comparison, car))
    assert "It is hired, and 24 payments are still to come. Only these payments count." in page
    assert "What it would fetch today" not in page
    response = keep(everyone["keeper"], comparison, car)
    offer = kept_offer(comparison)
    assert response.url == reverse("costing:offer-terms", args=[offer.pk])
    terms = offer_of(offer)
    assert (offer.kind, terms.payment, terms.payments, terms.deposit) == ("contract_hire", 310_00, 24, 0)
    assert (terms.mileage_allowance, terms.excess_pence_per_mile) == (18_000, Decimal("8.5"))
    assert terms.price is None
    assert {"damage"} <= set(figures(case_of(comparison), terms).not_told)
    assert noted(offer) == "You hire it already: only the payments still to come count."


def test_a_hire_past_its_term_goes_on_by_the_week(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    AgreementFactory.create(
        car=car,
        starts_on="2025-05-01",
        kind="weekly_rental",
        price=None,
        payment="130.00",
        payments=26,
        frequency="week",
    )
    assert "its term is over: the payments go on" in shown(everyone["keeper"], page_of(comparison, car))
    keep(everyone["keeper"], comparison, car)
    terms = offer_of(kept_offer(comparison))
    assert (terms.payments, terms.then, terms.frequency) == (1, "rolls", "week")
    case = case_of(comparison)
    # 104 weeks at £130, and nothing for leaving early.
    assert figures(case, case.offers[1]).flow.parts["payments"] == 104 * 130_00
    assert "early_exit" not in figures(case, case.offers[1], months=9).not_told


def test_an_agreement_without_its_payments_is_put_right_first(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    AgreementFactory.create(car=car, starts_on="2025-05-01", kind="hire_purchase", price="9000.00", payments=None)
    page = shown(everyone["keeper"], page_of(comparison, car))
    assert "Its agreement doesn’t say how many payments there are" in page
    assert "Put it beside the offers" not in page


def test_one_of_several_cars_is_chosen(
    everyone: dict[str, Client], comparison: Comparison, car: Car, keeper: Member
) -> None:
    second = CarFactory.create(registration="QC03DEF", keeper=keeper)
    page = everyone["keeper"].get(page_of(comparison, second)).content.decode()
    assert '<a href="?car=QC03DEF" aria-current="page">' in page
    for one in (car, second):
        keep(everyone["keeper"], comparison, one)
    assert set(comparison.offers.values_list("name", flat=True)) == {
        "Used hatchback",
        "Keep QA51 ABC",
        "Keep QC03 DEF",
    }


def test_a_car_that_one_does_not_keep_is_not_put_in(
    everyone: dict[str, Client], comparison: Comparison, car: Car, colleague_car: Car
) -> None:
    keep(everyone["keeper"], comparison, colleague_car)
    assert kept_offer(comparison).kept == car


def test_whoever_keeps_no_car_has_nothing_to_keep(everyone: dict[str, Client], stranger: Member) -> None:
    comparison = ComparisonFactory.create(member=stranger)
    assert "You keep no car yet" in shown(everyone["stranger"], page_of(comparison))


def test_it_is_asked_first_how_the_car_is_used(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    comparison.use = {"miles_per_year": "24000"}
    comparison.save()
    assert "Say first how you would use the car" in shown(everyone["keeper"], page_of(comparison, car))


def test_what_cannot_be_is_said_beside_its_field(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    response = keep(everyone["keeper"], comparison, car, value_at_horizon="lots", repairs_per_year_low="500")
    page = response.content.decode()
    assert 'id="id_value_at_horizon_error"' in page
    assert "A range needs all three figures" in text_of(response)
    assert comparison.offers.count() == 1


def test_beside_eight_offers_there_is_no_room(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    for number in range(7):
        OfferFactory.create(comparison=comparison, name=f"Offer {number}")
    response = keep(everyone["keeper"], comparison, car)
    assert "offers can be compared at once" in text_of(response)


def test_beside_the_offers_it_says_that_its_price_is_not_paid(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory.create(car=car, valued_on="2025-05-01", value="8000.00")
    keep(everyone["keeper"], comparison, car, value_now="6800.00", value_at_horizon="4910")
    page = shown(everyone["keeper"], reverse("costing:comparison", args=[comparison.pk]))
    assert "Its price is not paid: it is what the car would fetch today (£8,000.00 on 1 May 2025, less" in page
    assert "Keeping this car takes no price out of it." in page
    other, kept = comparison.offers.order_by("position")
    assert (noted(other), len(kept_facts(kept))) == ("", 2)


def test_on_paper_too_and_once(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    keep(everyone["keeper"], comparison, car, value_now="6800.00", value_at_horizon="4910")
    _, note = sheet_of(comparison, OffersReport(case_of(comparison)))["notes"]
    assert " ".join(note.facts).count("Its price is not paid") == 1


def test_the_purse_is_not_shown_emptier_than_it_is_beside_the_car_one_has(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    comparison.use |= {"cash_in_hand": "3000.00", "put_by_per_month": "900.00"}
    comparison.save()
    keep(everyone["keeper"], comparison, car, value_now="5200.00", value_at_horizon="4910")
    address = reverse("costing:comparison", args=[comparison.pk])
    page = shown(everyone["keeper"], address)
    assert (
        "B is the car you have. The £5,200 it would fetch stand in “Before lesson one”, although you don’t pay them. "
        "Kept or sold, they leave every purse here £5,200 fuller than shown." in page
    )
    # With its price paid, its purse would fall below nothing; with that price in hand, A's falls £2,440 below it.
    affordable = shown(everyone["keeper"], f"{address}?purse=above")
    assert "B is the car you have" in affordable
    assert "Left out, because the purse falls below nothing: A." in affordable
    comparison.use = {key: value for key, value in comparison.use.items() if key != "cash_in_hand"}
    comparison.save()
    assert "although you don’t pay them. Kept" not in shown(everyone["keeper"], address)
    kept_offer(comparison).delete()
    assert "is the car you have" not in shown(everyone["keeper"], address)


def noted(offer: Offer) -> str:
    return " ".join(fact.words for fact in kept_facts(offer))


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_anothers_comparison_is_not_there(
    everyone: dict[str, Client], comparison: Comparison, car: Car, who: str
) -> None:
    assert everyone[who].get(page_of(comparison, car)).status_code == 404
    assert keep(everyone[who], comparison, car).status_code == 404


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], comparison: Comparison) -> None:
    assert everyone["anonymous"].get(page_of(comparison)).url.startswith(reverse("account_login"))
