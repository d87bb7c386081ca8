"""The page /rent-or-own/keep/: what was typed before signing in, and one key that keeps it."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from config.budgets import COMPARISONS
from costing.choosing.views.rent_or_own import COOKIE
from costing.models import Comparison
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import ComparisonFactory, CooperativeFactory

CARRY, KEEP = reverse("costing:rent-or-own-carry"), reverse("costing:rent-or-own-keep")
PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member
QUOTES = {
    "rent": "168",
    "price": "9000",
    "deposit": "1900",
    "payment": "218.50",
    "payments": "36",
    "final_payment": "0",
    "fees": "0",
    "includes_asked": "1",
    "includes": ["insurance", "tyres"],
}

pytestmark = pytest.mark.django_db


@pytest.fixture
def carried(client: Client) -> str:
    """What the cookie of a stranger holds."""
    return client.post(CARRY, QUOTES).cookies[COOKIE].value


def test_from_two_quotes_through_sign_in_to_a_comparison(client: Client, keeper: Member) -> None:
    keeper.set_password(PASSWORD)
    keeper.save()
    client.post(CARRY, QUOTES)
    to_sign_in = client.get(KEEP).url
    signed_in = client.post(to_sign_in, {"login": keeper.email, "password": PASSWORD, "next": KEEP})
    assert signed_in.url == KEEP
    page = text_of(client.get(KEEP))
    assert "Payment £218.50 a month" in page
    assert "The rent covers insurance and tyres only" in page
    kept = client.post(KEEP)
    comparison = Comparison.objects.get(member=keeper)
    assert kept.url == reverse("costing:comparison", args=[comparison.pk])
    assert kept.cookies[COOKIE].value == ""
    page = text_of(client.get(kept.url))
    assert "Your two offers are kept. For the answer we still need: miles a year in all, private miles" in page
    own, rent = comparison.offers.all()
    assert (own.kind, own.terms["payment"], own.terms["price"]) == ("hire_purchase", "218.50", "9000.00")
    assert rent.terms["includes"] == ["insurance", "tyres"]


def test_pressed_twice_it_makes_one(client_of: Callable[[Member], Client], keeper: Member, carried: str) -> None:
    for _ in range(2):
        member = client_of(keeper)
        member.cookies[COOKIE] = carried
        assert member.post(KEEP).status_code == 303
    assert Comparison.objects.count() == 1


@pytest.mark.parametrize("value", ["", "x", "eyJyZW50IjoiMSJ9:1vXY:forged"])
def test_nothing_but_what_the_book_signed_is_kept(
    client_of: Callable[[Member], Client], keeper: Member, value: str
) -> None:
    member = client_of(keeper)
    member.cookies[COOKIE] = value
    for response in (member.get(KEEP), member.post(KEEP)):
        assert "Nothing is waiting to be kept." in text_of(response)
    assert not Comparison.objects.exists()


def test_looking_keeps_nothing(client_of: Callable[[Member], Client], keeper: Member, carried: str) -> None:
    member = client_of(keeper)
    member.cookies[COOKIE] = carried
    assert "Your own car is cheaper" in text_of(member.get(KEEP))
    assert not Comparison.objects.exists()


def test_where_the_page_is_switched_off_there_is_nothing_to_keep(
    client_of: Callable[[Member], Client], keeper: Member, carried: str
) -> None:
    CooperativeFactory(rent_or_own_is_open=False)
    member = client_of(keeper)
    member.cookies[COOKIE] = carried
    assert member.get(KEEP).status_code == 404
    assert member.post(KEEP).status_code == 404


def test_once_there_are_as_many_as_may_be_the_page_says_so_and_holds_the_figures(
    client_of: Callable[[Member], Client], keeper: Member, carried: str
) -> None:
    ComparisonFactory.create_batch(COMPARISONS, member=keeper)
    member = client_of(keeper)
    member.cookies[COOKIE] = carried

    refused = member.post(KEEP)
    assert COOKIE not in refused.cookies
    assert "You have 50 comparisons, and no more can be kept. Remove one first." in text_of(refused)
    assert "Payment £218.50 a month" in text_of(refused)
    assert "You have 50 comparisons, and no more can be kept. Remove one first." in text_of(member.post(CARRY, QUOTES))
    assert Comparison.objects.count() == COMPARISONS
