"""Adding an offer: one page for all that a quote says."""

import pytest
from django.test import Client
from django.urls import reverse

from config import budgets
from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.models import Comparison, Offer
from fleet.models import Car
from instructors.models import Member
from tests.costing.comparison_pages import PCP, RENTAL, USE, comparison_of, rental
from tests.costing.pages import HTMX, input_value, shown, text_of
from tests.factories import CarFactory, CostEntryFactory, GroupFigureFactory

QUOTE = """Cash price: £12,640.00
Customer deposit £1,850.00
41 monthly payments of £214.37
Optional final payment £4,975.00
7.4% APR representative
14,000 miles a year, then 8.5p a mile"""
FOUND = ("price", "deposit", "payment", "frequency", "payments", "final_payment", "quoted_apr", "mileage_allowance")

pytestmark = pytest.mark.usefixtures("today")


def address(comparison: Comparison) -> str:
    return reverse("costing:offer-add", args=[comparison.pk])


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    return comparison_of(keeper, running={})


def test_one_page_keeps_all_that_a_quote_says(everyone: dict[str, Client], comparison: Comparison) -> None:
    rental(comparison, position=4)
    response = everyone["keeper"].post(address(comparison), PCP)
    assert (response.status_code, response.url) == (303, reverse("costing:comparison", args=[comparison.pk]))
    offer = Offer.objects.get(name="Small estate on PCP")
    assert (offer.kind, offer.position, offer.burns, offer.sources) == ("pcp", 5, "", {})
    assert offer.terms == {
        "price": "12640.00",
        "deposit": "1850.00",
        "payment": "214.37",
        "payments": 41,
        "frequency": "month",
        "final_payment": "4975.00",
        "quoted_apr": "7.4",
        "mileage_allowance": 14000,
        "excess_pence_per_mile": "8.5",
        "on_leaving": "cheapest",
    }


@pytest.mark.parametrize("kind", AGREEMENT_KINDS)
def test_the_fuel_is_asked_with_what_the_quote_says(
    everyone: dict[str, Client], comparison: Comparison, kind: str
) -> None:
    """What the book proposes rests on it, so that it stands in no fold."""
    form = everyone["keeper"].get(address(comparison), {"kind": kind}).context["form"]
    assert form.as_quoted[-1].name == "burns"
    assert "burns" not in [row.name for fold in form.folds for row in fold.fields]


def test_the_rest_is_on_the_same_page(everyone: dict[str, Client], comparison: Comparison) -> None:
    told = {
        "burns": "hybrid",
        "first_registered": "2026-09-01",  # a car that is still to be built
        "value_now": "11,500",
        "value_at_horizon": "6,900",
        "value_at_horizon_low": "5,200",
        "value_at_horizon_high": "7,800",
        "at_end": "sell",
        "half_rule": "no",
        "damage": "150",
        "includes": ["breakdown"],
        "mpg": "58",
        "pence_per_litre": "148.9",
        "insurance_1": "1140",
        "insurance_2": "985",
        "insurance_given_back": "50",
        "tyre_set": "320",
        "tyre_set_miles": "25,000",
        "proposed_for": "hybrid",
    }
    response = everyone["keeper"].post(address(comparison), PCP | told)
    assert response.status_code == 303
    offer = Offer.objects.get()
    assert offer.burns == "hybrid"
    told_besides = {key: offer.terms[key] for key in offer.terms.keys() - {*PCP}}
    assert told_besides == {
        "first_registered": "2026-09-01",
        "value_now": "11500.00",
        "value_at_horizon": {"low": "5200.00", "likely": "6900.00", "high": "7800.00"},
        "at_end": "sell",
        "half_rule": False,
        "damage": "150.00",
        "includes": ["breakdown"],
        "running": {
            "fuel": {"mpg": 58, "pence_per_litre": "148.9"},
            "insurance": ["1140.00", "985.00"],
            "insurance_given_back": "0.5",
            "tyre_set": "320.00",
            "tyre_set_miles": 25000,
        },
    }
    assert offer.sources == dict.fromkeys(offer.terms["running"], "typed in")


def test_a_rental_without_a_term_includes_all_but_fuel(everyone: dict[str, Client], comparison: Comparison) -> None:
    rules = {"early_exit_kind": "weeks", "early_exit_value": "4", "deposit_comes_back": "on", "deposit": "200"}
    everyone["keeper"].post(address(comparison), RENTAL | rules | {"then": "rolls"})
    terms = Offer.objects.get().terms
    assert "fuel" not in terms["includes"]
    assert len(terms["includes"]) == 8
    assert terms["early_exit"] == {"kind": "weeks", "value": 4}
    assert (terms["deposit_comes_back"], terms["then"], terms["payments"]) == (True, "rolls", 1)


@pytest.mark.parametrize(
    ("kind", "asked", "not_asked"),
    [
        ("owned", "price", "payment"),
        ("hire_purchase", "final_payment", "at_end"),
        ("pcp", "half_rule", "early_exit_kind"),
        ("contract_hire", "deposit_comes_back", "price"),
        ("weekly_rental", "then", "quoted_apr"),
    ],
)
def test_the_kind_decides_what_is_asked(
    everyone: dict[str, Client], comparison: Comparison, kind: str, asked: str, not_asked: str
) -> None:
    page = everyone["keeper"].get(f"{address(comparison)}?kind={kind}").content.decode()
    assert f'name="{asked}"' in page
    assert f'name="{not_asked}"' not in page


def test_another_kind_keeps_what_was_typed_with_and_without_script(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    for headers in ({}, HTMX):
        typed = PCP | {"as_kind": "weekly_rental"}
        page = everyone["keeper"].post(address(comparison), typed, headers=headers).content.decode()
        assert input_value(page, "payment") == "214.37"
        assert input_value(page, "price") == "12,640"
        assert 'type="hidden" name="price"' in page
        back = {name: input_value(page, name) for name in ("name", "price", "payment", "final_payment")}
        again = everyone["keeper"].post(address(comparison), back | {"as_kind": "pcp"}, headers=headers)
        assert input_value(again.content.decode(), "final_payment") == "4,975"
        assert ("<html" in page) == (not headers)
    assert not Offer.objects.exists()


def test_one_more_may_follow_at_once(everyone: dict[str, Client], comparison: Comparison) -> None:
    response = everyone["keeper"].post(address(comparison), PCP | {"then_another": "1"})
    assert response.url == address(comparison)


def test_an_unfinished_offer_is_kept_and_says_what_is_missing(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    typed = PCP | {"payments": "", "final_payment": ""}
    response = everyone["keeper"].post(address(comparison), typed, follow=True)
    offer = Offer.objects.get()
    assert response.redirect_chain == [(reverse("costing:offer-terms", args=[offer.pk]), 303)]
    text = text_of(response)
    assert "Saved. To compare it, still fill in: number of payments, final payment." in text
    assert text.count("Without it this offer can’t be compared yet.") == 2
    assert offer.terms["deposit"] == "1850.00"


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"name": ""}, "name", "Fill this in."),
        ({"payment": "two hundred"}, "payment", "cannot be read"),
        ({"deposit": "12,640"}, "deposit", "leaves nothing to borrow"),
        ({"payment": "20"}, "payment", "less than the £10,790.00 that is lent"),
        ({"payments": "521"}, "payments", "This is more than 520: it must be between 1 and 520."),
        ({"at_end": "hand_back", "payments": "12", "payment": "800"}, "at_end", "leaves no car for the rest"),
        ({"half_rule": "no", "on_leaving": "half_rule"}, "on_leaving", "the agreement gives no such right"),
        ({"damage_low": "50"}, "damage", "A range needs all three figures"),
        ({"mpg": "50"}, "pence_per_litre", "Fill in both"),
        ({"insurance_2": "700"}, "insurance_1", "Fill in this year too."),
        ({"kind": "weekly_rental", "early_exit_kind": "weeks"}, "early_exit_value", "Fill in how many."),
        ({"first_registered": "2101-01-01"}, "first_registered", "Check the year"),
        ({"quote": "x" * (budgets.QUOTE_CHARACTERS + 1)}, "quote", "Use at most 20000 characters."),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_stays(
    everyone: dict[str, Client], comparison: Comparison, typed: dict[str, str], field: str, words: str
) -> None:
    response = everyone["keeper"].post(address(comparison), PCP | typed)
    assert words in text_of(response)
    page = response.content.decode()
    assert f'id="id_{field}_error"' in page
    assert input_value(page, "payment") == (PCP | typed)["payment"]
    assert not Offer.objects.exists()


def test_sent_twice_it_is_one_offer(everyone: dict[str, Client], comparison: Comparison) -> None:
    for _ in range(2):
        assert everyone["keeper"].post(address(comparison), PCP).status_code == 303
    assert Offer.objects.count() == 1


def test_a_name_is_taken_once(everyone: dict[str, Client], comparison: Comparison) -> None:
    rental(comparison, name=PCP["name"])
    assert "You have another offer of this name here." in text_of(everyone["keeper"].post(address(comparison), PCP))
    assert Offer.objects.count() == 1


def test_the_ninth_offer_ever_takes_the_letter_of_one_that_is_gone(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    for position in (0, 1, 3, 7):
        rental(comparison, name=f"At {position}", position=position)
    everyone["keeper"].post(address(comparison), PCP)
    assert Offer.objects.get(name=PCP["name"]).letter == "C"


def test_no_more_than_eight_can_be_compared(everyone: dict[str, Client], comparison: Comparison) -> None:
    for number in range(8):
        rental(comparison, name=f"Rental {number}")
    assert "At most 8 offers" in text_of(everyone["keeper"].post(address(comparison), PCP))
    assert Offer.objects.count() == 8


def test_four_offers_take_five_form_pages_of_the_eight_allowed(everyone: dict[str, Client], keeper: Member) -> None:
    client, pages = everyone["keeper"], []
    pages.append(client.post(reverse("costing:comparison-start")).url)
    pages.append(client.post(pages[-1], USE).url)
    for number in range(1, 5):
        another = {"then_another": "1"} if number < 4 else {}
        url = client.post(pages[-1], RENTAL | another | {"name": f"Rental {number}"}).url
        pages.append(url)
    assert Offer.objects.count() == 4
    comparison = Comparison.objects.get(member=keeper)
    assert pages.pop() == reverse("costing:comparison", args=[comparison.pk])
    assert len(pages) == 5
    assert set(pages[1:]) == {address(comparison)}


# --- A quote that is pasted -----------------------------------------------------------------------------------------


def test_what_is_found_in_a_quote_is_filled_in_as_a_question(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    for headers in ({}, HTMX):
        typed = {"kind": "pcp", "name": "", "quote": QUOTE, "read_quote": "1"}
        response = everyone["keeper"].post(address(comparison), typed, headers=headers)
        page, text = response.content.decode(), text_of(response)
        assert [input_value(page, name) for name in ("price", "payment", "payments")] == ["12640.00", "214.37", "41"]
        assert "The quote says “41 monthly payments of £214.37”." in text
        assert "Nine found and filled in. Confirm each below; the text isn’t kept." in text
        assert 'name="payment_is_right"' in page
    assert not Offer.objects.exists()


def test_nothing_found_is_saved_without_a_tick_or_a_correction(
    everyone: dict[str, Client], comparison: Comparison
) -> None:
    found = PCP | {"quote": QUOTE}
    response = everyone["keeper"].post(address(comparison), found)
    assert text_of(response).count("Tick that the quote says so, or correct it.") >= 9
    assert not Offer.objects.exists()

    ticks = {f"{name}_is_right": "1" for name in (*FOUND, "excess_pence_per_mile")}
    ticks.pop("payment_is_right")
    response = everyone["keeper"].post(address(comparison), found | ticks)
    assert 'id="id_payment_error"' in response.content.decode()
    assert 'name="price_is_right"' in response.content.decode()

    everyone["keeper"].post(address(comparison), found | ticks | {"payment": "219.37"})
    offer = Offer.objects.get()
    assert offer.terms["payment"] == "219.37"
    assert "monthly payments" not in str(offer.__dict__)


def test_what_was_typed_stays_beside_what_the_quote_says(everyone: dict[str, Client], comparison: Comparison) -> None:
    typed = {"kind": "pcp", "deposit": "2,000", "quote": QUOTE, "read_quote": "1"}
    response = everyone["keeper"].post(address(comparison), typed)
    assert input_value(response.content.decode(), "deposit") == "2,000"
    assert "The quote says “Customer deposit £1,850.00”. You have something else here." in text_of(response)


@pytest.mark.parametrize(
    ("quote", "field", "words"),
    [
        ("Customer deposit £1,000. Total deposit £1,500.", "deposit", "Type the one that is meant here."),
        ("Monthly rental £232.00 + VAT", "payment", "Type it with VAT."),
        ("Initial rental £900, rental £300 a month, term 36 months", "payments", "after the initial one"),
        ("£136 a week for 18 months", "payments", "Type how many payments that makes."),
    ],
)
def test_what_could_be_read_in_two_ways_is_asked(
    everyone: dict[str, Client], comparison: Comparison, quote: str, field: str, words: str
) -> None:
    typed = {"kind": "contract_hire", "quote": quote, "read_quote": "1"}
    response = everyone["keeper"].post(address(comparison), typed)
    assert words in text_of(response)
    assert not input_value(response.content.decode(), field)


def test_a_text_without_figures_says_so(everyone: dict[str, Client], comparison: Comparison) -> None:
    response = everyone["keeper"].post(address(comparison), {"kind": "pcp", "quote": "Hello", "read_quote": "1"})
    assert "Nothing was found that could be read without guessing." in text_of(response)


# --- What the book proposes for running it --------------------------------------------------------------------------

OWN = "your own records, March 2025 to February 2026"
MOT_SOURCE = "the most that an MOT of a car may cost (GOV.UK, MOT test fees)"


def own_electric_car(keeper: Member, car: Car) -> None:
    car.fuel = "electric"
    car.save()
    CostEntryFactory.create(car=car, category="repairs", amount="365.00", paid_on="2025-06-02")


def test_own_records_of_the_same_fuel_are_proposed_and_marked(
    everyone: dict[str, Client], comparison: Comparison, keeper: Member, car: Car
) -> None:
    own_electric_car(keeper, car)
    response = everyone["keeper"].post(address(comparison), PCP | {"burns": "electric"}, follow=False)
    offer = Offer.objects.get()
    assert offer.terms["running"] == {"mot": "54.85", "repairs_per_year": "365.00"}
    assert offer.sources == {"mot": MOT_SOURCE, "repairs_per_year": OWN}
    page = shown(everyone["keeper"], reverse("costing:offer-terms", args=[offer.pk]))
    assert f"{OWN[0].upper()}{OWN[1:]}." in page
    assert response.status_code == 303


def test_an_electric_cars_records_never_fill_in_for_petrol(
    everyone: dict[str, Client], comparison: Comparison, keeper: Member, car: Car
) -> None:
    own_electric_car(keeper, car)
    GroupFigureFactory.create(
        span="year",
        repairs_per_year="400.00",
        fuel_pence_per_mile_petrol="14.50",
        fuel_pence_per_mile_electric="6.00",
    )
    everyone["keeper"].post(address(comparison), PCP | {"burns": "petrol"})
    offer = Offer.objects.get()
    assert offer.terms["running"] == {
        "fuel_pence_per_mile": "14.5",
        "mot": "54.85",
        "repairs_per_year": "400.00",
    }
    assert offer.sources["fuel_pence_per_mile"] == "the group’s rounded median, March 2025 to February 2026"


def test_with_script_the_proposal_is_seen_first_and_what_is_cleared_stays_empty(
    everyone: dict[str, Client], comparison: Comparison, keeper: Member, car: Car
) -> None:
    own_electric_car(keeper, car)
    typed = PCP | {"burns": "electric", "servicing_per_year": "oops"}
    response = everyone["keeper"].post(f"{address(comparison)}?running", typed, headers=HTMX)
    page = response.content.decode()
    assert input_value(page, "repairs_per_year") == "365.00"
    assert input_value(page, "servicing_per_year") == "oops"
    assert input_value(page, "proposed_for") == "electric"
    assert 'name="mpg"' not in page
    assert "<html" not in page
    assert not Offer.objects.exists()

    seen = PCP | {"burns": "electric", "proposed_for": "electric", "mot": "", "repairs_per_year": "365"}
    everyone["keeper"].post(address(comparison), seen)
    offer = Offer.objects.get()
    assert offer.terms["running"] == {"repairs_per_year": "365.00"}
    assert offer.sources == {"repairs_per_year": OWN}


def test_another_fuel_takes_back_what_was_only_proposed(
    everyone: dict[str, Client], comparison: Comparison, keeper: Member, car: Car
) -> None:
    own_electric_car(keeper, car)
    CarFactory.create(keeper=keeper, fuel="petrol")
    typed = PCP | {
        "burns": "diesel",
        "proposed_for": "electric",
        "repairs_per_year": "365",  # as proposed
        "servicing_per_year": "280",  # typed
    }
    page = everyone["keeper"].post(f"{address(comparison)}?running", typed, headers=HTMX).content.decode()
    assert not input_value(page, "repairs_per_year")
    assert input_value(page, "servicing_per_year") == "280.00"


@pytest.mark.parametrize(
    ("half_told", "where"),
    [
        ({"mpg": "49"}, "pence_per_litre"),
        ({"pence_per_litre": "141.9", "pence_per_litre_low": "135"}, "pence_per_litre_high"),
        ({"mpg": "49", "pence_per_litre": "141.9", "miles_per_kwh": "3.6", "pence_per_kwh": "31"}, "fuel_share"),
    ],
)
def test_economy_of_a_fuel_the_car_does_not_burn_is_asked_to_be_whole(
    everyone: dict[str, Client], comparison: Comparison, half_told: dict[str, str], where: str
) -> None:
    electric = PCP | {"burns": "electric"} | half_told
    assert everyone["keeper"].post(f"{address(comparison)}?running", electric, headers=HTMX).status_code == 200
    page = everyone["keeper"].post(address(comparison), electric)
    assert page.status_code == 200
    assert page.context["form"].errors[where]
    assert not Offer.objects.exists()


def test_what_the_payments_include_is_not_proposed(
    everyone: dict[str, Client], comparison: Comparison, keeper: Member, car: Car
) -> None:
    own_electric_car(keeper, car)
    everyone["keeper"].post(address(comparison), RENTAL | {"burns": "electric"})
    assert "running" not in Offer.objects.get().terms


def test_fuel_told_by_economy_is_not_told_twice(everyone: dict[str, Client], comparison: Comparison) -> None:
    GroupFigureFactory.create(span="year", fuel_pence_per_mile_petrol="14.50")
    economy = {"burns": "petrol", "mpg": "52", "pence_per_litre": "141.9"}
    everyone["keeper"].post(address(comparison), PCP | economy)
    assert "fuel_pence_per_mile" not in Offer.objects.get().terms["running"]


def test_nobody_else_finds_the_comparison(everyone: dict[str, Client], comparison: Comparison) -> None:
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(address(comparison)).status_code == 404, who
        assert everyone[who].post(address(comparison), PCP).status_code == 404, who
    assert not Offer.objects.exists()
