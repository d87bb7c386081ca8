"""The page /me/: a member's own page."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.factories import CompletionFactory, DueItemFactory

pytestmark = pytest.mark.usefixtures("today")

ME = reverse("fleet:profile")


@pytest.mark.parametrize("who", ["keeper", "colleague", "coordinator", "stranger"])
def test_everybody_sees_their_own_page_and_nobody_elses(everyone: dict[str, Client], who: str) -> None:
    page = everyone[who].get(ME).content.decode()
    for other in everyone:
        assert (f"{other}@book.example" in page) == (other == who)


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(ME).url.startswith(reverse("account_login"))


def test_own_credentials_are_shown_with_the_ways_to_deal_with_them(everyone: dict[str, Client], keeper: Member) -> None:
    item = DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 3, 31))
    CompletionFactory(due_item=item, done_on=date(2022, 3, 20), was_due_on=date(2022, 3, 31))
    page = everyone["keeper"].get(ME).content.decode()
    assert "31 March 2026, in 15 days" in page
    assert "20 March 2022" in page
    assert "Road Traffic Act 1988 s.123 (official)" in page
    for name in ("due-item-complete", "due-item-correct"):
        assert reverse(f"fleet:{name}", args=[item.pk]) in page
    assert "31 March 2026" not in everyone["colleague"].get(ME).content.decode()


@pytest.mark.parametrize(
    ("who", "asked", "not_asked"),
    [("keeper", "adi_registration", "pdi_licence"), ("colleague", "pdi_licence", "adi_registration")],
)
def test_what_is_not_in_the_book_is_asked_for_by_grade(
    everyone: dict[str, Client], who: str, asked: str, not_asked: str
) -> None:
    page = everyone[who].get(ME).content.decode()
    assert f"?kind={asked}" in page
    assert "?kind=driving_licence" in page
    assert f"?kind={not_asked}" not in page


def test_the_page_leads_to_password_and_records(everyone: dict[str, Client]) -> None:
    page = everyone["keeper"].get(ME).content.decode()
    assert reverse("account_change_password") in page
    assert reverse("costing:export") in page
