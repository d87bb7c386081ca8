"""A stored comparison as the document it stands for."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.choosing.core.case import EarlyExit, Running, Spread, Uncertain
from costing.choosing.document.checks import Unreadable
from costing.choosing.document.figures import Money
from costing.choosing.services.stored import (
    NewOffer,
    add_offer,
    case_of,
    offer_of,
    save_look_over,
    save_offer,
    stored_of,
    told_of,
)
from costing.models import Comparison, Offer
from fleet.models import Car
from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental
from tests.factories import CooperativeFactory, OfferFactory

ESTATE = NewOffer(
    "owned",
    "Estate",
    {
        "price": Spread(6_000_00, 6_350_00, 6_600_00),
        "first_registered": date(2019, 4, 30),
        "includes": frozenset({"mot"}),
        "running": {"insurance": (1_190_00, 990_00), "repairs_per_year": 640_00},
    },
    burns="diesel",
    sources={"repairs_per_year": "typed in"},
)


def broken_exit(comparison: Comparison) -> Offer:
    return rental(comparison, name="Half told", terms={"payment": "soon", "payments": 78, "early_exit": "?"})


def test_an_offer_is_stored_as_text_and_read_again_to_the_penny(keeper: Member) -> None:
    comparison = comparison_of(keeper)
    offer = add_offer(by=keeper, comparison=comparison, new=ESTATE)

    offer.refresh_from_db()
    assert offer.terms == {
        "first_registered": "2019-04-30",
        "price": {"low": "6000.00", "likely": "6350.00", "high": "6600.00"},
        "includes": ["mot"],
        "running": {"insurance": ["1190.00", "990.00"], "repairs_per_year": "640.00"},
    }
    assert (offer.burns, offer.sources) == ("diesel", {"repairs_per_year": "typed in"})
    assert told_of(offer) == ({"name": "Estate", "kind": "owned", **ESTATE.terms}, {})
    terms = offer_of(offer)
    assert (terms.price, terms.first_registered) == (6_350_00, date(2019, 4, 30))
    assert terms.running == Running(insurance=(1_190_00, 990_00), repairs_per_year=640_00)
    assert case_of(comparison).uncertain == (Uncertain("price", (ESTATE.terms["price"],), "Estate"),)


def test_the_same_offer_added_again_or_saved_under_a_new_name_stays_one(keeper: Member) -> None:
    row = {"input": "value_at_horizon", "offer": "Estate", "low": "1.00", "likely": "2.00", "high": "3.00"}
    comparison = comparison_of(keeper, uncertain=[row])
    offer = add_offer(by=keeper, comparison=comparison, new=ESTATE)

    assert add_offer(by=keeper, comparison=comparison, new=ESTATE) == offer
    save_offer(by=keeper, offer=offer, new=ESTATE._replace(name="Old estate", burns=""))
    comparison.refresh_from_db()
    assert [(one.name, one.burns) for one in comparison.offers.all()] == [("Old estate", "")]
    assert [one["offer"] for one in comparison.uncertain] == ["Old estate"]


def test_an_offer_may_be_the_car_one_has_and_be_looked_over(keeper: Member, car: Car) -> None:
    offer = add_offer(by=keeper, comparison=comparison_of(keeper), new=ESTATE._replace(kept=car))
    save_look_over(by=keeper, offer=offer, look_over={"seat": "fits"})

    offer.refresh_from_db()
    assert (offer.kept, offer.look_over) == (car, {"seat": "fits"})


def test_an_offer_with_a_fault_and_what_is_said_of_it_are_left_out(keeper: Member) -> None:
    row = {"input": "damage", "low": "0", "likely": "1", "high": "2.5"}
    comparison = comparison_of(
        keeper, uncertain=[row | {"offer": "Weekly rental"}, row | {"offer": "Half told"}, row | {"offer": "Gone"}]
    )
    rental(comparison)
    faulty = broken_exit(comparison)
    case = case_of(comparison)
    assert [offer.name for offer in case.offers] == ["Weekly rental"]
    assert case.uncertain == (
        Uncertain("damage", (Spread(Fraction(0), Fraction(1_00), Fraction(2_50)),), "Weekly rental"),
    )
    stored = stored_of(comparison)
    assert [offer.name for offer in stored.compared] == ["Weekly rental"]
    assert stored.left_out == {faulty.pk: told_of(faulty)[1]}
    assert stored.left_out[faulty.pk].keys() == {"payment", "early_exit"}
    with pytest.raises(Unreadable) as refused:
        offer_of(faulty)
    assert [fault.key for fault in refused.value.faults] == ["offer 2, payment", "offer 2, early_exit"]


def test_an_offer_that_leaves_no_car_over_the_months_compared_is_left_out(keeper: Member) -> None:
    comparison = comparison_of(keeper)
    terms = {"price": "9000.00", "payment": "400.00", "payments": 18, "final_payment": "2000.00", "at_end": "hand_back"}
    offer = OfferFactory.create(comparison=comparison, kind="pcp", terms=terms)
    assert "leaves no car for the rest of the 24 months" in stored_of(comparison).left_out[offer.pk]["at_end"]

    comparison.use = comparison.use | {"months": 18}
    comparison.save()
    assert stored_of(comparison).left_out == {}


def test_what_would_happen_after_the_horizon_is_left_out(keeper: Member) -> None:
    comparison = comparison_of(keeper)
    rental(comparison)
    comparison.what_ifs = [{"name": "In time", "leave_at_month": 24}, {"name": "Too late", "leave_at_month": 25}]
    comparison.save()
    assert [change.name for change in case_of(comparison).what_ifs] == ["In time"]


def test_a_text_that_is_no_number_or_day_is_a_fault_of_its_key(keeper: Member) -> None:
    comparison = comparison_of(keeper)
    comparison.use = comparison.use | {"starts_on": "soon", "miles_per_year": "many"}
    comparison.running = {"unheard_of": "1"}
    rental(comparison)
    with pytest.raises(Unreadable) as refused:
        case_of(comparison)
    assert [fault.place for fault in refused.value.faults] == [
        ("use", "starts_on"),
        ("use", "miles_per_year"),
        ("running", "unheard_of"),
    ]


@pytest.mark.parametrize(
    ("changes", "places"),
    [
        ({"use": {}}, [("use",)]),
        ({"use": {"months": 24}}, [("use", "starts_on"), ("use", "miles_per_year")]),
    ],
)
def test_what_is_still_missing_is_named(keeper: Member, changes: dict[str, Any], places: list[tuple[str, ...]]) -> None:
    comparison = comparison_of(keeper, **changes)
    with pytest.raises(Unreadable) as refused:
        case_of(comparison)
    found = [fault.place for fault in refused.value.faults]
    assert found[: len(places)] == places
    assert found[-1] == ("offer",)


def test_the_case_knows_the_nation(keeper: Member) -> None:
    CooperativeFactory.create(nation="NI")
    comparison = comparison_of(keeper)
    rental(comparison, terms={"payment": "136.00", "payments": 78, "early_exit": {"kind": "weeks", "value": "8"}})
    case = case_of(comparison)
    assert case.use.nation == "NI"
    assert case.offers[0].early_exit == EarlyExit("weeks", Fraction(8))


@pytest.mark.parametrize(
    "address", ["/next-car/{comparison}/", "/next-car/offers/{offer}/", "/next-car/{comparison}/file/"]
)
def test_a_page_reads_a_payment_once(
    client: Client, keeper: Member, monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    offer = rental(comparison_of(keeper))
    read: list[Any] = []
    take_one = Money.take_one

    def counted(self: Money, value: Any) -> int:
        read.append(value)
        return take_one(self, value)

    monkeypatch.setattr(Money, "take_one", counted)
    client.force_login(keeper)
    assert client.get(address.format(comparison=offer.comparison_id, offer=offer.pk)).status_code == 200
    assert read.count(Decimal(offer.terms["payment"])) == 1


@pytest.mark.parametrize("damaged", ["x", 3, True, ["x"], [None]])
def test_a_column_that_holds_no_table_is_a_fault_and_keeps_no_page_shut(
    everyone: dict[str, Client], keeper: Member, damaged: Any
) -> None:
    for column in ("use", "running", "what_ifs", "uncertain"):
        Comparison.objects.filter(pk=comparison_of(keeper).pk).update(**{column: damaged})
    comparison = comparison_of(keeper)
    offer = rental(comparison, name="Damaged")
    Offer.objects.filter(pk=offer.pk).update(terms=damaged)
    assert {*stored_of(comparison).left_out} == {offer.pk}
    assert everyone["keeper"].get(reverse("costing:comparison-list")).status_code == 200
    for one in Comparison.objects.all():
        assert everyone["keeper"].get(reverse("costing:comparison", args=[one.pk])).status_code == 200


@pytest.mark.parametrize(
    "damaged", ["x", 3, True, ["x"], [None], {"insurance": 3, "answers": 3, "tests": [3], "work": 3}]
)
def test_damaged_sources_keep_no_page_shut(everyone: dict[str, Client], keeper: Member, damaged: Any) -> None:
    comparison = comparison_of(keeper)
    offer = OfferFactory.create(comparison=comparison)
    offer.terms |= {"running": {"insurance": ["900.00"]}}
    offer.save()
    Comparison.objects.update(sources=damaged)
    Offer.objects.update(sources=damaged)
    for page, pk in {"comparison": comparison.pk, "comparison-running": comparison.pk, "offer-terms": offer.pk}.items():
        assert everyone["keeper"].get(reverse(f"costing:{page}", args=[pk])).status_code == 200, page


_TEST = {"on": "2025-03-01", "passed": True, "miles": 40_000, "advisories": ["A tyre"]}


@pytest.mark.parametrize(
    "damaged",
    [
        *("x", 3, True, ["x"], [None]),
        *({"answers": told, "keepers": told, "tests": told, "work": told} for told in ("x", 3, True, ["x"], [None])),
        {"answers": {"gearbox": "no", "unheard of": True}, "tests": [{**_TEST, "on": "2025-02-30"}]},
        {"tests": [{**_TEST, "miles": "many"}, {**_TEST, "advisories": 3}], "work": [{"words": "Brakes"}]},
    ],
)
def test_a_damaged_look_over_keeps_no_page_shut(everyone: dict[str, Client], keeper: Member, damaged: Any) -> None:
    offer = OfferFactory.create(comparison__member=keeper, look_over=damaged)
    assert everyone["keeper"].get(reverse("costing:offer-check", args=[offer.pk])).status_code == 200
