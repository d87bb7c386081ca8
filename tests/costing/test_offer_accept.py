"""The page on which the chosen offer becomes the car."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.choosing.core.case import Offer as Terms
from costing.choosing.services.accepting import accept_offer
from costing.choosing.services.stored import offer_of
from costing.models import Agreement, CostEntry, Offer
from fleet.models import Car, DueItem
from instructors.models import Member
from tests.costing.pages import input_value, shown, text_of
from tests.factories import AgreementFactory, DueItemFactory, OfferFactory
from tests.fleet.keepers import pass_on

TYPED = {
    "starts_on": "2026-03-02",
    "car": "new",
    "registration": "QC03 DEF",
    "description": "Red hatchback",
    "fuel": "petrol",
    "transmission": "manual",
    "first_registered": "2022-05-09",
    "odometer": "31,250",
    "mot": "2026-05-08",
    "vehicle_tax": "2027-02-28",
    "dual_controls_cost": "340",
    "plates_cost": "12.50",
}
PCP: Mapping[str, Any] = {
    "price": "11800.00",
    "deposit": "1200.00",
    "payment": "189.00",
    "payments": 36,
    "frequency": "month",
    "final_payment": "5400.00",
    "quoted_apr": "11.9",
    "value_at_horizon": "6900.00",
    "mileage_allowance": "10000",
    "excess_pence_per_mile": "9.0",
    "first_registered": "2024-01-10",
}

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def offer(stranger: Member) -> Offer:
    """A PCP of a member who has no car yet."""
    return OfferFactory(comparison__member=stranger, kind="pcp", name="Small estate on PCP", terms=PCP)


def page_of(offer: Offer) -> str:
    return reverse("costing:offer-accept", args=[offer.pk])


def test_a_new_car_comes_into_the_book_with_all_that_is_known_of_it(
    everyone: dict[str, Client], offer: Offer, stranger: Member
) -> None:
    response = everyone["stranger"].post(page_of(offer), TYPED)
    assert (response.status_code, response.url) == (303, page_of(offer))
    car = Car.objects.get()
    assert (car.registration, car.keeper, car.in_service_from) == ("QC03DEF", stranger, date(2026, 3, 2))
    offer.refresh_from_db()
    assert (offer.car, offer.chosen_on) == (car, date(2026, 3, 16))
    due = {item.kind: item.due_on for item in DueItem.objects.filter(car=car)}
    assert due == {"mot": date(2026, 5, 8), "vehicle_tax": date(2027, 2, 28)}


def test_the_terms_become_its_agreement(everyone: dict[str, Client], offer: Offer, stranger: Member) -> None:
    everyone["stranger"].post(page_of(offer), TYPED)
    agreement = Agreement.objects.get()
    assert (agreement.member, agreement.kind, agreement.starts_on) == (stranger, "pcp", date(2026, 3, 2))
    assert (agreement.price, agreement.deposit, agreement.payment) == (11_800, 1_200, 189)
    assert (agreement.payments, agreement.frequency, agreement.final_payment) == (36, "month", 5_400)
    assert agreement.fees is None
    assert (agreement.quoted_apr, agreement.mileage_allowance) == (Decimal("11.90"), 10_000)
    assert agreement.excess_pence_per_mile == 9


def test_what_fitting_it_out_cost_is_logged(everyone: dict[str, Client], offer: Offer) -> None:
    everyone["stranger"].post(page_of(offer), TYPED)
    costs = CostEntry.objects.order_by("-amount").values_list("note", "amount", "category", "paid_on")
    assert list(costs) == [
        ("Dual controls", Decimal("340.00"), "fit_out", date(2026, 3, 2)),
        ("Plates", Decimal("12.50"), "fit_out", date(2026, 3, 2)),
    ]
    page = shown(everyone["stranger"], page_of(offer))
    assert "Total £352.50" in page
    assert "You accepted it on 16 March 2026" in page


def test_a_car_bought_outright_has_its_price_alone(everyone: dict[str, Client], stranger: Member) -> None:
    offer = OfferFactory(comparison__member=stranger)
    everyone["stranger"].post(page_of(offer), TYPED)
    agreement = Agreement.objects.get()
    assert (agreement.kind, agreement.price, agreement.payments) == ("owned", 9_500, None)
    assert (agreement.frequency, agreement.excess_pence_per_mile) == ("", None)


def test_what_is_not_entered_stays_unknown(everyone: dict[str, Client], offer: Offer) -> None:
    everyone["stranger"].post(page_of(offer), TYPED | {"mot": "", "vehicle_tax": "", "odometer": ""})
    assert not DueItem.objects.exists()
    page = shown(everyone["stranger"], reverse("fleet:car", args=["QC03DEF"]))
    assert "Insurance" in page
    assert "Not known" in page


def test_one_s_own_car_can_be_the_one(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    offer = OfferFactory(comparison__member=keeper, kind="pcp", terms=PCP)
    everyone["keeper"].post(page_of(offer), TYPED | {"car": "QA51ABC", "registration": ""})
    assert Car.objects.get() == car
    assert Agreement.objects.get().car == car
    offer.refresh_from_db()
    assert offer.car == car


def test_taken_twice_it_changes_nothing(everyone: dict[str, Client], offer: Offer) -> None:
    for _ in range(2):
        assert everyone["stranger"].post(page_of(offer), TYPED).status_code == 303
    assert (Car.objects.count(), Agreement.objects.count(), CostEntry.objects.count()) == (1, 1, 2)
    assert Car.objects.get().history.count() == 1


def test_a_second_tap_at_once_gives_back_the_first_car(offer: Offer, stranger: Member) -> None:
    new = {"registration": "QC03DEF", "fuel": "petrol"}
    terms = {"terms": offer_of(offer), "starts_on": date(2026, 3, 2)}
    first = accept_offer(by=stranger, offer=offer, car=new, **terms)
    # The second was asked for before the first was through: its row still has no car.
    second = accept_offer(by=stranger, offer=offer, car=new, **terms)
    assert first == (Car.objects.get(), True)
    assert second == (Car.objects.get(), False)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"registration": ""}, "registration", "Write it as on the number plate"),
        ({"registration": "Q"}, "registration", "as in QA51 ABC"),
        ({"fuel": ""}, "fuel", "Choose one."),
        ({"starts_on": "2022-05-08"}, "first_registered", "was in use from 8 May 2022"),
        ({"starts_on": ""}, "starts_on", "Give a day."),
        ({"plates_cost": "12,5"}, "plates_cost", "cannot be read"),
        ({"mot": "soon"}, "mot", "Write the day like"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_nothing_is_written(
    everyone: dict[str, Client], offer: Offer, car: Car, changes: dict[str, str], field: str, words: str
) -> None:
    response = everyone["stranger"].post(page_of(offer), TYPED | changes)
    page = response.content.decode()
    assert words in text_of(response)
    assert f'id="id_{field}_error"' in page
    assert input_value(page, "description") == "Red hatchback"
    assert not Car.objects.exclude(pk=car.pk).exists()
    assert not Agreement.objects.exists()


def test_a_car_of_somebody_else_cannot_be_chosen(
    everyone: dict[str, Client], keeper: Member, car: Car, colleague_car: Car
) -> None:
    offer = OfferFactory(comparison__member=keeper)
    response = everyone["keeper"].post(page_of(offer), TYPED | {"car": "QB02XYZ"})
    assert 'id="id_car_error"' in response.content.decode()
    assert not Agreement.objects.exists()


def test_a_refusal_half_way_leaves_nothing_behind(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    offer = OfferFactory(comparison__member=keeper)
    DueItemFactory(car=car, kind="vehicle_tax", due_on="2026-09-30")
    response = everyone["keeper"].post(page_of(offer), TYPED | {"car": "QA51ABC"})
    assert "Vehicle tax is in the book already: correct that one." in text_of(response)
    assert 'id="id_vehicle_tax_error"' in response.content.decode()
    assert not Agreement.objects.exists()
    assert not CostEntry.objects.exists()


def test_another_agreement_from_that_day_is_refused(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    AgreementFactory(car=car, starts_on="2026-03-02")
    offer = OfferFactory(comparison__member=keeper)
    response = everyone["keeper"].post(page_of(offer), TYPED | {"car": "QA51ABC", "mot": "", "vehicle_tax": ""})
    assert "An agreement already starts on 2 March 2026" in text_of(response)
    assert Agreement.objects.count() == 1


def test_a_car_that_another_offer_became_is_refused(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    OfferFactory(comparison__member=keeper, car=car, chosen_on="2026-03-01")
    offer = OfferFactory(comparison__member=keeper)
    response = everyone["keeper"].post(page_of(offer), TYPED | {"car": "QA51ABC"})
    assert "Another offer has already become this car." in text_of(response)


def test_a_mark_of_somebody_else_is_refused_without_a_name(
    everyone: dict[str, Client], offer: Offer, colleague_car: Car
) -> None:
    response = everyone["stranger"].post(page_of(offer), TYPED | {"registration": "QB02 XYZ"})
    assert "QB02 XYZ is in the book already" in text_of(response)
    assert colleague_car.keeper.name not in response.content.decode()


def test_an_offer_that_is_not_complete_cannot_be_taken(everyone: dict[str, Client], stranger: Member) -> None:
    offer = OfferFactory(comparison__member=stranger, terms={})
    assert "Something is still missing from this offer" in shown(everyone["stranger"], page_of(offer))
    with pytest.raises(ValidationError):
        accept_offer(by=stranger, offer=offer, car={}, starts_on=date(2026, 3, 2), terms=Terms("", "owned"))


def test_the_page_begins_with_what_the_offer_says(everyone: dict[str, Client], offer: Offer) -> None:
    page = everyone["stranger"].get(page_of(offer)).content.decode()
    assert input_value(page, "starts_on") == "2026-05-01"
    assert input_value(page, "description") == "Small estate on PCP"
    assert input_value(page, "first_registered") == "2024-01-10"


def test_it_begins_with_the_fuel_of_the_car_offered(everyone: dict[str, Client], offer: Offer) -> None:
    Offer.objects.filter(pk=offer.pk).update(burns="diesel")
    page = everyone["stranger"].get(page_of(offer)).content.decode()
    assert re.search(r'<option value="diesel"\s+selected>', page)


def test_a_car_may_be_first_registered_on_a_day_to_come(everyone: dict[str, Client], offer: Offer) -> None:
    Offer.objects.filter(pk=offer.pk).update(terms=dict(PCP) | {"first_registered": "2026-05-01"})
    page = everyone["stranger"].get(page_of(offer)).content.decode()
    assert input_value(page, "first_registered") == "2026-05-01"
    everyone["stranger"].post(page_of(offer), TYPED | {"starts_on": "2026-05-01", "first_registered": "2026-05-01"})
    assert Car.objects.get().first_registered == date(2026, 5, 1)


def test_of_a_range_the_likely_figure_is_agreed(everyone: dict[str, Client], offer: Offer) -> None:
    payment = {"low": "180.00", "likely": "189.00", "high": "205.00"}
    Offer.objects.filter(pk=offer.pk).update(terms=dict(PCP) | {"payment": payment})
    everyone["stranger"].post(page_of(offer), TYPED)
    assert Agreement.objects.get().payment == 189


def test_the_car_one_has_is_not_accepted(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    offer = OfferFactory.create(comparison__member=keeper, kept=car)
    assert everyone["keeper"].get(page_of(offer)).status_code == 404
    assert everyone["keeper"].post(page_of(offer), TYPED).status_code == 404
    assert not Agreement.objects.exists()


def test_afterwards_it_says_what_is_still_to_be_done(everyone: dict[str, Client], offer: Offer) -> None:
    everyone["stranger"].post(page_of(offer), TYPED)
    response = everyone["stranger"].get(page_of(offer))
    page = text_of(response)
    for point in ("The insurance covers driving tuition", "Dual controls fitted", "A second interior mirror for you"):
        assert point in page
    assert "A closed body" not in page
    for name in ("fleet:ready", "fleet:car"):
        assert reverse(name, args=["QC03DEF"]) in response.content.decode()
    assert reverse("costing:expected-and-actual", args=[offer.pk]) in response.content.decode()


def test_a_former_keeper_learns_nothing_of_the_car(
    everyone: dict[str, Client], offer: Offer, coordinator: Member, keeper: Member
) -> None:
    everyone["stranger"].post(page_of(offer), TYPED)
    pass_on(Car.objects.get(), keeper, coordinator)
    page = text_of(everyone["stranger"].get(page_of(offer)))
    assert "What fitting it out cost" in page
    for words in ("Before its first lesson", "The insurance covers driving tuition", "not met", "is left to do"):
        assert words not in page


def test_the_next_keeper_of_a_car_may_have_compared_offers_too(
    everyone: dict[str, Client], offer: Offer, coordinator: Member, keeper: Member
) -> None:
    everyone["stranger"].post(page_of(offer), TYPED)
    car = pass_on(Car.objects.get(), keeper, coordinator)
    bought = OfferFactory.create(
        comparison__member=keeper, kind="owned", terms={"price": "5000.00", "value_at_horizon": "3000.00"}
    )
    response = everyone["keeper"].post(page_of(bought), {"starts_on": "2026-03-17", "car": car.registration})
    assert response.status_code == 303
    assert {one.car for one in Offer.objects.all()} == {car}


@pytest.mark.parametrize("who", ["keeper", "colleague", "coordinator"])
def test_anothers_offer_is_not_there(everyone: dict[str, Client], offer: Offer, keeper: Member, who: str) -> None:
    assert everyone[who].get(page_of(offer)).status_code == 404
    assert everyone[who].post(page_of(offer), TYPED).status_code == 404
    with pytest.raises(PermissionError):
        accept_offer(by=keeper, offer=offer, car={}, starts_on=date(2026, 3, 2), terms=Terms("", "owned"))
    assert not Car.objects.exists()


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], offer: Offer) -> None:
    assert everyone["anonymous"].post(page_of(offer), TYPED).url.startswith(reverse("account_login"))


def test_no_terms_that_an_offer_may_have_are_too_large_for_the_book(
    everyone: dict[str, Client], stranger: Member
) -> None:
    largest = {"quoted_apr": "999", "excess_pence_per_mile": "1000", "mileage_allowance": "200000", "payments": 520}
    sums = {"price": "1000000.00", "payment": "1000000.00", "final_payment": "1000000.00", "fees": "1000000.00"}
    offer = OfferFactory(comparison__member=stranger, kind="pcp", terms=dict(PCP) | largest | sums)
    everyone["stranger"].post(page_of(offer), TYPED)
    agreement = Agreement.objects.get()
    assert (agreement.price, agreement.quoted_apr, agreement.excess_pence_per_mile) == (1_000_000, 999, 1_000)
