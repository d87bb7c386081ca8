"""The page /entries/: what a member logged."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from costing.actions import void_entry
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import CarFactory, CostEntryFactory, FillFactory, TeachingRecordFactory

ENTRIES = reverse("costing:entries")
#: Session, member, cars and theirs, navigation; then the list: count, keys, a query a kind and its totals, receipts.
QUERIES = 17

pytestmark = pytest.mark.usefixtures("today")


def test_entries_of_all_kinds_stand_newest_first(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-03-02", supplier="Corner Workshop")
    TeachingRecordFactory(car=car, from_on="2026-03-02", to_on="2026-03-08")
    FillFactory(car=car, filled_on="2026-02-20", odometer=48_000)
    page = shown(everyone["keeper"], ENTRIES)
    assert re.search(r"March 2026 .*Lessons 2 to 8, .*Mon 2, Corner Workshop .*February 2026 .*Fill Fri 20, ", page)


def test_fills_of_one_day_stand_as_they_were_bought_whatever_was_logged_first(
    everyone: dict[str, Client], car: Car
) -> None:
    """By the odometer, and at one stop the fill that brimmed the tank comes last: newest first, it stands first."""
    day = date(2026, 3, 9)
    for odometer, brimmed, amount in ((48_300, True, "33"), (48_100, True, "11"), (48_300, False, "22")):
        FillFactory(car=car, filled_on=day, odometer=odometer, brimmed=brimmed, amount=amount)
    CostEntryFactory(car=car, paid_on=day, amount="44.00")
    CostEntryFactory(car=car, paid_on=date(2026, 3, 10), amount="55.00")
    for address in (ENTRIES, f"{ENTRIES}?kind=fill"):
        page = shown(everyone["keeper"], address)
        places = [page.index(pounds) for pounds in ("£33.00", "£22.00", "£11.00")]
        assert places == sorted(places)
    page = shown(everyone["keeper"], ENTRIES)
    assert page.index("£55.00") < page.index("£33.00") < page.index("£44.00")


def test_the_mark_is_said_only_with_several_cars(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    FillFactory(car=car)
    assert "QA51 ABC" not in shown(everyone["keeper"], ENTRIES)
    CarFactory(keeper=keeper, registration="QB52DEF")
    assert "QA51 ABC" in shown(everyone["keeper"], ENTRIES)


def test_without_a_car_the_first_step_is_the_car(everyone: dict[str, Client]) -> None:
    page = shown(everyone["colleague"], ENTRIES)
    assert "You have no car in the book" in page
    assert "Log a fill" not in page


@pytest.mark.parametrize(
    ("kind", "kept", "left_out"),
    [("fill", "48,000 miles", "Corner"), ("cost", "Corner", "48,000"), ("lessons", "26 hours", "Corner")],
)
def test_a_kind_is_shown_by_itself(everyone: dict[str, Client], car: Car, kind: str, kept: str, left_out: str) -> None:
    CostEntryFactory(car=car, supplier="Corner Workshop")
    TeachingRecordFactory(car=car, minutes=26 * 60)
    FillFactory(car=car, odometer=48_000)
    page = shown(everyone["keeper"], f"{ENTRIES}?kind={kind}")
    assert kept in page
    assert left_out not in page


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_sees_the_entries_of_another(everyone: dict[str, Client], car: Car, who: str) -> None:
    CostEntryFactory(car=car, supplier="Corner Workshop")
    page = shown(everyone[who], f"{ENTRIES}?voided=1")
    assert "Corner Workshop" not in page
    assert "You have no car in the book" in page


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(ENTRIES).url.startswith(reverse("account_login"))


def test_a_voided_entry_is_shown_on_request_and_named_so(everyone: dict[str, Client], keeper: Member, car: Car) -> None:
    entry = CostEntryFactory(car=car, supplier="Corner Workshop")
    void_entry(by=keeper, entry=entry, reason="logged twice")
    assert "Corner Workshop" not in shown(everyone["keeper"], ENTRIES)
    assert re.search(r"Corner Workshop.*Voided £86.40", shown(everyone["keeper"], f"{ENTRIES}?voided=1"))


def test_an_entry_stays_with_whoever_logged_it_when_the_keeper_changes(
    everyone: dict[str, Client], colleague: Member, car: Car
) -> None:
    CostEntryFactory(car=car, supplier="Corner Workshop")
    car.keeper = colleague
    car.save()
    assert "Corner Workshop" in shown(everyone["keeper"], ENTRIES)
    assert "Corner Workshop" not in shown(everyone["colleague"], ENTRIES)


def test_pages_hold_twenty_five_and_each_entry_once(everyone: dict[str, Client], car: Car) -> None:
    for number in range(27):
        CostEntryFactory(car=car, paid_on=date(2026, 1, 1) + timedelta(days=number // 3), note=f"n{number}")
    first = everyone["keeper"].get(ENTRIES).content.decode()
    second = everyone["keeper"].get(f"{ENTRIES}?page=2").content.decode()
    links = [re.findall(r'href="(/entries/cost/\d+/)"', page) for page in (first, second)]
    assert [len(found) for found in links] == [25, 2]
    assert len(set(links[0] + links[1])) == 27
    assert "Page 2 of 2" in second


def test_the_number_of_queries_does_not_grow_with_the_entries(
    everyone: dict[str, Client], car: Car, django_assert_num_queries: object
) -> None:
    for number in range(12):
        CostEntryFactory(car=car)
        FillFactory(car=car, odometer=48_000 + number)
        TeachingRecordFactory(car=car)
    with django_assert_num_queries(QUERIES):  # type: ignore[operator]
        everyone["keeper"].get(ENTRIES)


@pytest.mark.parametrize("address", ["?kind=receipts", "?kind=Fill"])
def test_a_kind_that_is_none_is_said_to_be_so(everyone: dict[str, Client], car: Car, address: str) -> None:
    CostEntryFactory(car=car, supplier="Corner Workshop")
    page = shown(everyone["keeper"], ENTRIES + address)
    assert "There are fills, costs and lessons: choose one of them." in page
    assert "Corner Workshop" not in page
