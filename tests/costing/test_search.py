"""Searching the entries: by words, category, sum, month or days, car and kind, with what each month comes to."""

import re
from contextlib import suppress
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from config.quantities import Wrong
from costing.actions import void_entry
from costing.core.money import to_pence
from costing.forms.search import read_sums
from costing.models import CostEntry
from costing.queries.listing import entries_of
from costing.queries.search import Search, Sums
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import CarFactory, CostEntryFactory, FillFactory, TeachingRecordFactory

ENTRIES = reverse("costing:entries")

pytestmark = pytest.mark.usefixtures("today")


def found(client: Client, **asked: Any) -> list[str]:
    """The entries that a search finds, by kind and key, newest first."""
    page = client.get(ENTRIES, asked).content.decode()
    return re.findall(r'href="/entries/(\w+/\d+)/"', page)


def of(*costs: Any) -> list[str]:
    return [f"cost/{cost.pk}" for cost in costs]


@pytest.mark.parametrize(
    "words",
    [
        "workshop",
        "WORKSHOP",
        "corner work",
        "work corner",
        "50 %",
        "łąka",
        "ŁĄKA",
        "repair",
        "qa51 abc",
        "QA51ABC",
        "cost",
    ],
)
def test_words_are_found_in_any_case_and_anywhere(everyone: dict[str, Client], car: Car, words: str) -> None:
    cost = CostEntryFactory(car=car, supplier="Corner Workshop Łąka", note="50 % off_season", category="repairs")
    FillFactory(car=CarFactory(keeper=car.keeper, registration="QB52DEF"))
    assert found(everyone["keeper"], q=words) == of(cost)


@pytest.mark.parametrize("words", ["corner%shop", "c_rner", ".*", "workshop\\\\", "-", "(", "garage"])
def test_every_character_stands_for_itself(everyone: dict[str, Client], car: Car, words: str) -> None:
    CostEntryFactory(car=car, supplier="Corner Workshop")
    assert found(everyone["keeper"], q=words) == []
    odd = CostEntryFactory(car=car, supplier=f"At {words}", category="other")
    assert found(everyone["keeper"], q=words) == of(odd)


def test_a_category_and_a_car_are_found_alone(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    other_car = CarFactory(keeper=keeper, registration="QB52DEF")
    repairs, tyres = CostEntryFactory(car=car, category="repairs"), CostEntryFactory(car=other_car, category="tyres")
    fill = FillFactory(car=other_car)
    TeachingRecordFactory(car=car)
    assert found(everyone["keeper"], category="repairs") == of(repairs)
    assert found(everyone["keeper"], category="fuel") == [f"fill/{fill.pk}"]
    assert sorted(found(everyone["keeper"], car="QB52DEF")) == sorted([*of(tyres), f"fill/{fill.pk}"])
    assert found(everyone["keeper"], car="QB52DEF", category="repairs") == []
    assert found(everyone["keeper"], category="repairs", kind="fill") == []


@pytest.mark.parametrize(
    ("typed", "amounts"),
    [
        ("15.90", ["15.90", "-15.90"]),
        ("£15.90", ["15.90", "-15.90"]),
        ("-15.90", ["-15.90"]),
        ("10-20", ["15.90", "-15.90", "10.00"]),
        ("£10 to £20", ["15.90", "-15.90", "10.00"]),
        ("between 20 and 10", ["15.90", "-15.90", "10.00"]),
        ("over 500", ["1500.00"]),
        ("more than £1,499.99", ["1500.00"]),
        ("500+", ["500.00", "1500.00"]),
        ("at least 500", ["500.00", "1500.00"]),
        ("under 10.01", ["10.00"]),
        ("from 10 to 20", ["15.90", "-15.90", "10.00"]),
        ("up to 10", ["10.00"]),
        ("over 900000", []),
        ("under 0", ["-15.90"]),
    ],
)
def test_sums_are_understood_as_they_are_said(
    everyone: dict[str, Client], car: Car, typed: str, amounts: list[str]
) -> None:
    costs = {text: CostEntryFactory(car=car, amount=text) for text in ("15.90", "-15.90", "10.00", "500.00", "1500.00")}
    TeachingRecordFactory(car=car)
    assert sorted(found(everyone["keeper"], sum=typed)) == sorted(of(*(costs[text] for text in amounts)))


@given(one=st.integers(0, 9_999_999), other=st.integers(0, 9_999_999), amount=st.integers(-9_999_999, 9_999_999))
def test_a_range_that_is_typed_is_the_range_that_is_read(one: int, other: int, amount: int) -> None:
    least, most = sorted((one, other))
    read = read_sums(f"£{one / 100:,.2f} - {other / 100:.2f}")
    assert read == Sums(Decimal(least) / 100, Decimal(most) / 100)
    assert read_sums(f"{amount / 100:.2f}") == Sums(Decimal(amount) / 100, Decimal(amount) / 100)


@given(st.text(max_size=60))
def test_whatever_is_typed_as_a_sum_is_read_or_refused(text: str) -> None:
    with suppress(Wrong):
        assert read_sums(text) != Sums(None, None)


@pytest.mark.parametrize("month", ["2026-02", "February 2026", "Feb 2026", "02/2026"])
def test_a_month_has_the_entries_of_its_days(everyone: dict[str, Client], car: Car, month: str) -> None:
    days = ["2026-01-31", "2026-02-01", "2026-02-28", "2026-03-01"]
    _, first, last, _ = [CostEntryFactory(car=car, paid_on=day) for day in days]
    assert found(everyone["keeper"], month=month) == of(last, first)
    assert found(everyone["keeper"], first="2026-02-01", last="2026-02-28") == of(last, first)
    assert len(found(everyone["keeper"], first="2026-02-02")) == 2


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("sum=x", "This cannot be read: write it like 15.90, 10-20 or over 500."),
        ("sum=1,5", "put a point before the decimals, as in 15.90"),
        ("month=x", "Write the month like March 2026."),
        ("month=2026-02&first=2026-02-01", "Give either a month or days, not both."),
        ("first=2026-02-10&last=2026-02-09", "The last day is before the first."),
        ("first=x", "Write the day like"),
        ("category=sweets", "Choose one of the categories."),
        ("car=QB52DEF", "Choose one of your own cars."),
        ("batch=x", "This link is not whole"),
        (f"q={'x' * 121}", "Use at most 120 characters."),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_nothing_is_listed(
    everyone: dict[str, Client], car: Car, asked: str, words: str
) -> None:
    CostEntryFactory(car=car, supplier="Corner Workshop")
    page = shown(everyone["keeper"], f"{ENTRIES}?{asked}")
    assert words in page
    assert "Corner Workshop" not in page
    assert "Nothing is searched until that is put right." in page


def test_each_month_says_what_all_of_it_comes_to_and_the_search_what_it_comes_to(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    for number in range(26):
        CostEntryFactory(car=car, paid_on="2026-03-10", amount="0.10", supplier="Corner Workshop", note=f"n{number}")
    FillFactory(car=car, filled_on="2026-03-02", amount="47.92")
    CostEntryFactory(car=car, paid_on="2026-02-10", amount="7.00", supplier="Corner Workshop")
    TeachingRecordFactory(car=car, from_on="2026-03-02", to_on="2026-03-08", lesson_count=24, minutes=36 * 60)
    TeachingRecordFactory(car=car, from_on="2026-03-09", to_on="2026-03-09", lesson_count=None, minutes=None)
    void_entry(by=keeper, entry=CostEntryFactory(car=car, paid_on="2026-03-10", amount="99.00"), reason="twice")
    for address in (f"{ENTRIES}?voided=1", f"{ENTRIES}?page=2"):
        page = shown(everyone["keeper"], address)
        assert (
            "March 2026 £47.92 in fills, £2.60 in costs, 24 lessons, 36 hours, some lessons or hours not entered"
            in page
        )
    page = shown(everyone["keeper"], f"{ENTRIES}?q=corner")
    assert "March 2026 £2.60 in costs" in page
    assert "Found for “corner”: £9.60 in costs ." in page
    assert 'href="?q=corner&amp;page=2"' in everyone["keeper"].get(f"{ENTRIES}?q=corner").content.decode()


@given(st.lists(st.integers(-99_999_99, 99_999_99), max_size=12))
@pytest.mark.django_db
def test_totals_are_to_the_penny(amounts: list[int]) -> None:
    CostEntry.objects.all().delete()
    car = Car.objects.first() or CarFactory.create()
    CostEntry.objects.bulk_create(
        CostEntryFactory.build(car=car, member=car.keeper, ref=f"r{index}", amount=Decimal(pence) / 100)
        for index, pence in enumerate(amounts)
    )
    listing = entries_of(car.keeper, Search(kind="cost"))
    assert listing.total.costs == (sum(amounts) if amounts else None)
    assert sorted(to_pence(row.entries[0].amount) for row in listing.rows) == sorted(amounts)  # type: ignore[attr-defined]


def test_nothing_found_says_what_was_asked_for(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car)
    page = shown(everyone["keeper"], f"{ENTRIES}?q=garage&month=2026-02&sum=over+5&category=mot")
    assert "No entry of yours is like that: “garage”, at least £5.01, February 2026, MOT." in page
    assert "Voided entries were not searched." in page


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_finds_the_entries_of_another(everyone: dict[str, Client], car: Car, who: str) -> None:
    CostEntryFactory(car=car, supplier="Corner Workshop", amount="86.40", paid_on=date(2026, 3, 2))
    for asked in ({"q": "corner"}, {"sum": "86.40"}, {"month": "2026-03"}, {"category": "repairs"}, {"voided": "1"}):
        assert found(everyone[who], **asked) == []


def test_chips_keep_what_else_is_asked_for(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(f"{ENTRIES}?q=a+b&kind=fill").content.decode()
    assert 'href="?q=a+b&amp;kind=cost"' in page
    assert 'href="?q=a+b"' in page
    assert 'href="?q=a+b&amp;kind=fill&amp;voided=1"' in page
