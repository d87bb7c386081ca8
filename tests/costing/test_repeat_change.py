"""The page that changes the sum of what repeats, from one of its days on."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from costing.actions import change_repeat, make_due
from costing.models import CostEntry, Repeat
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown, text_of
from tests.factories import RepeatFactory

TODAY, MARCH, APRIL = date(2026, 3, 16), date(2026, 3, 31), date(2026, 4, 30)

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def repeat(car: Car) -> Repeat:
    """Made for January and February."""
    repeat = RepeatFactory.create(car=car)
    make_due(repeat.pk, TODAY)
    repeat.refresh_from_db()
    return repeat


def send(client: Client, repeat: Repeat, **typed: str) -> str:
    response = client.post(reverse("costing:repeat-change", args=[repeat.pk]), typed, follow=True)
    repeat.refresh_from_db()
    return text_of(response)


def amounts() -> list[Decimal]:
    return list(CostEntry.objects.order_by("paid_on").values_list("amount", flat=True))


def test_it_offers_the_days_to_come(everyone: dict[str, Client], repeat: Repeat) -> None:
    page = shown(everyone["keeper"], reverse("costing:repeat-change", args=[repeat.pk]))
    assert "31 March 2026 30 April 2026 31 May 2026" in page
    assert "28 February 2026" not in page


def test_from_the_next_on_it_is_the_new_sum_and_what_was_made_stays(
    everyone: dict[str, Client], repeat: Repeat
) -> None:
    page = send(everyone["keeper"], repeat, amount="13.10", from_on="2026-03-31")
    assert "Changed: £13.10 from 31 March 2026 on." in page
    assert (repeat.amount, repeat.next_amount) == (Decimal("13.10"), None)
    make_due(repeat.pk, APRIL)
    assert amounts() == [Decimal("12.40")] * 2 + [Decimal("13.10")] * 2


def test_from_a_later_day_on_the_old_sum_is_made_until_then(everyone: dict[str, Client], repeat: Repeat) -> None:
    send(everyone["keeper"], repeat, amount="13.10", from_on="2026-04-30")
    assert (repeat.amount, repeat.next_amount, repeat.next_amount_from) == (Decimal("12.40"), Decimal("13.10"), APRIL)
    make_due(repeat.pk, date(2026, 5, 31))
    assert amounts() == [Decimal("12.40")] * 3 + [Decimal("13.10")] * 2


def test_changing_one_s_mind_counts(everyone: dict[str, Client], repeat: Repeat) -> None:
    send(everyone["keeper"], repeat, amount="13.10", from_on="2026-04-30")
    send(everyone["keeper"], repeat, amount="14.00", from_on="2026-03-31")
    assert (repeat.amount, repeat.next_amount, repeat.next_amount_from) == (14, None, None)


def test_a_change_to_come_is_said_to_be_replaced_by_another(everyone: dict[str, Client], repeat: Repeat) -> None:
    address = reverse("costing:repeat-change", args=[repeat.pk])
    words = "From 30 April 2026 on it is to be £13.10: what you say here takes the place of that."
    assert "takes the place" not in shown(everyone["keeper"], address)
    send(everyone["keeper"], repeat, amount="13.10", from_on="2026-04-30")
    assert words in shown(everyone["keeper"], address)


def test_a_month_that_was_missed_keeps_its_sum(car: Car, keeper: Member) -> None:
    repeat = RepeatFactory.create(car=car)
    change_repeat(by=keeper, repeat=repeat, amount=Decimal("13.10"), from_on=MARCH)
    make_due(repeat.pk, MARCH)
    assert amounts() == [Decimal("12.40"), Decimal("12.40"), Decimal("13.10")]


def test_a_change_that_has_come_stays_when_the_next_is_made(car: Car, keeper: Member) -> None:
    repeat = RepeatFactory.create(car=car, next_amount=20, next_amount_from=date(2026, 2, 28), made_until="2026-01-31")
    change_repeat(by=keeper, repeat=repeat, amount=Decimal(30), from_on=MARCH)
    make_due(repeat.pk, MARCH)
    assert amounts() == [20, 30]


@pytest.mark.parametrize("day", ["2026-02-28", "2026-04-01", "2036-03-31", ""])
def test_another_day_is_refused(everyone: dict[str, Client], repeat: Repeat, day: str) -> None:
    before = repeat.history.count()
    send(everyone["keeper"], repeat, amount="13.10", from_on=day)
    assert repeat.history.count() == before


@pytest.mark.parametrize("from_on", [date(2026, 2, 28), date(2026, 4, 1)])
def test_the_action_refuses_a_day_that_is_over_or_never_due(keeper: Member, repeat: Repeat, from_on: date) -> None:
    with pytest.raises(ValidationError, match="Choose one of the days"):
        change_repeat(by=keeper, repeat=repeat, amount=Decimal(1), from_on=from_on)


def test_once_all_is_paid_there_is_no_day_to_choose(car: Car, keeper: Member) -> None:
    repeat = RepeatFactory.create(car=car, payments=1, made_until=date(2026, 1, 31))
    with pytest.raises(ValidationError, match="Choose one of the days"):
        change_repeat(by=keeper, repeat=repeat, amount=Decimal(1), from_on=MARCH)


def test_only_its_member_changes_it(colleague: Member, repeat: Repeat) -> None:
    with pytest.raises(PermissionError):
        change_repeat(by=colleague, repeat=repeat, amount=Decimal(1), from_on=MARCH)
