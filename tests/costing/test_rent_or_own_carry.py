"""The address /rent-or-own/carry/: a stranger's figures go through sign-in in a cookie, a member's are kept at once."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.choosing.views.rent_or_own import COOKIE
from costing.models import Comparison
from instructors.models import Member
from tests.costing.pages import input_value, text_of
from tests.factories import GroupFigureFactory

CARRY, KEEP = reverse("costing:rent-or-own-carry"), reverse("costing:rent-or-own-keep")
QUOTES = {"rent": "168", "price": "9000", "months": "36", "insurance": "900"}

pytestmark = pytest.mark.django_db


def test_a_strangers_figures_go_to_one_address_in_a_cookie_that_no_script_reads(client: Client) -> None:
    response = client.post(CARRY, QUOTES)
    assert (response.status_code, response.url) == (303, KEEP)
    cookie = response.cookies[COOKIE]
    assert (cookie["path"], cookie["max-age"], cookie["samesite"]) == (KEEP, 900, "Lax")
    assert cookie["httponly"]
    assert not cookie["secure"], "this site is served without https"
    assert len(cookie.value) < 1000
    assert client.get(KEEP).url == f"{reverse('account_login')}?next={KEEP}"
    assert not Comparison.objects.exists()


def test_over_https_the_cookie_is_never_sent_in_clear(client: Client, settings: Any) -> None:
    settings.SESSION_COOKIE_SECURE = True
    assert client.post(CARRY, QUOTES, secure=True).cookies[COOKIE]["secure"]


def test_a_members_figures_are_kept_at_once_and_once(everyone: dict[str, Client], keeper: Member) -> None:
    for _ in range(2):
        response = everyone["keeper"].post(CARRY, QUOTES)
        comparison = Comparison.objects.get()
        assert response.url == reverse("costing:comparison", args=[comparison.pk])
    assert COOKIE not in response.cookies
    assert comparison.member == keeper
    assert comparison.use["months"] == 36
    assert comparison.running == {"insurance": "900.00"}
    assert [(offer.name, offer.kind) for offer in comparison.offers.all()] == [
        ("Your own car", "owned"),
        ("Rented car", "weekly_rental"),
    ]


def test_a_median_that_was_taken_is_kept_as_the_groups(client: Client, everyone: dict[str, Client]) -> None:
    GroupFigureFactory(span="year", insurance="950.00", repairs_per_year="400.00", servicing_per_year="260.00")
    page = everyone["keeper"].post(reverse("costing:rent-or-own"), {**QUOTES, "insurance": "", "take_medians": "1"})
    taken = {"insurance": "950.00", "repairs_per_year": "150", "servicing_per_year": "260.00"}
    assert input_value(page.content.decode(), "insurance") == "950.00"
    assert "medians of March 2025 to February 2026 where nothing is typed" in page.content.decode()
    everyone["keeper"].post(CARRY, {**QUOTES, **taken})
    assert Comparison.objects.get().sources == {
        "insurance": "the group’s rounded median, March 2025 to February 2026",
        "repairs_per_year": "typed in",
        "servicing_per_year": "the group’s rounded median, March 2025 to February 2026",
    }


def test_what_a_stranger_typed_is_no_median(
    client: Client, client_of: Callable[[Member], Client], keeper: Member
) -> None:
    GroupFigureFactory(span="year", insurance="900.00")
    member = client_of(keeper)
    member.cookies[COOKIE] = client.post(CARRY, QUOTES).cookies[COOKIE].value
    member.post(KEEP)
    assert Comparison.objects.get().sources == {"insurance": "typed in"}


def test_a_credit_without_its_price_is_asked_for_it_first(client: Client) -> None:
    response = client.post(CARRY, {"rent": "168", "payment": "218", "payments": "36"})
    assert response.status_code == 200
    assert COOKIE not in response.cookies
    row = response.content.decode().split('id="id_price_words"')[1].split("</div>")[0]
    assert "To keep it, type the cash price too" in row


def test_nothing_is_carried_of_what_cannot_be_counted(client: Client) -> None:
    for typed in ({}, {"rent": "168"}, {**QUOTES, "rent": "1e9"}):
        response = client.post(CARRY, typed)
        assert response.status_code == 200
        assert COOKIE not in response.cookies


def test_after_a_quarter_of_an_hour_nothing_is_waiting(
    client: Client, client_of: Callable[[Member], Client], keeper: Member
) -> None:
    carried = client.post(CARRY, QUOTES).cookies[COOKIE].value
    member = client_of(keeper)
    member.cookies[COOKIE] = carried
    assert "Price £9,000" in text_of(member.get(KEEP))
    with time_machine.travel(timezone.now() + timedelta(minutes=16)):
        assert "Nothing is waiting to be kept." in text_of(member.get(KEEP))


def test_it_is_no_page_to_look_at(client: Client) -> None:
    assert client.get(CARRY).status_code == 405


@pytest.mark.parametrize("left_empty", ["deposit", "final_payment", "fees"])
def test_a_sum_of_the_credit_left_empty_is_asked_for_before_it_is_kept(client: Client, left_empty: str) -> None:
    credit = {**QUOTES, "deposit": "1900", "payment": "260", "payments": "36", "final_payment": "0", "fees": "0"}
    page = client.post(CARRY, {**credit, left_empty: ""})
    row = page.content.decode().split(f'id="id_{left_empty}_words"')[1].split("</div>")[0]
    assert "To keep it, type 0 here if there is none" in row
    assert client.post(CARRY, credit).status_code == 303
