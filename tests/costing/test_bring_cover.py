"""What a cost of a file covers when the file does not say: the same as the page of a cost proposes."""

from datetime import date
from html import unescape

import pytest
from django.test import Client

from costing.models import CostEntry
from fleet.models import Car
from tests.costing.bringing import ROWS, on, save, send
from tests.costing.pages import text_of

PREMIUM = "Date,Category,Supplier,Amount\n5/3/2026,Insurance,Cover Ltd,912.40\n"

pytestmark = pytest.mark.usefixtures("today")


def meant(page, words: str) -> str:
    key = page.content.decode().partition(f">{words}</button>")[0].rpartition('value="')[2]
    return unescape(key.partition('"')[0])


def test_a_premium_is_proposed_for_a_year_and_may_count_on_its_day(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], PREMIUM)
    assert "for 12 months from 5 March 2026" in text_of(page)
    no = {**on(page), "meant": meant(page, "No, all on the day it was paid")}
    other = everyone["keeper"].post(ROWS, no)
    assert "all on the day it was paid" in text_of(other)
    assert "put right" not in text_of(other)
    again = everyone["keeper"].post(ROWS, {**on(other), "meant": meant(other, "No, over the usual days")})
    assert "for 12 months from 5 March 2026" in text_of(again)
    save(everyone["keeper"], other)
    assert CostEntry.objects.get().covers_from is None


def test_each_year_follows_the_one_before(everyone: dict[str, Client], car: Car) -> None:
    save(everyone["keeper"], send(everyone["keeper"], f"{PREMIUM}10/3/2025,Insurance,Cover Ltd,890.00\n"))
    assert list(CostEntry.objects.order_by("paid_on").values_list("covers_from", "covers_to")) == [
        (date(2025, 3, 10), date(2026, 3, 9)),
        (date(2026, 3, 10), date(2027, 3, 9)),
    ]


def test_monthly_premiums_count_on_their_days(everyone: dict[str, Client], car: Car) -> None:
    rows = "".join(f"5/{month}/2025,Insurance,Cover Ltd,7{month}.40\n" for month in range(1, 7))
    page = send(everyone["keeper"], f"Date,Category,Supplier,Amount\n{rows}")
    assert "12 months" not in text_of(page)
    save(everyone["keeper"], page, row=[str(n) for n in range(6)])
    assert set(CostEntry.objects.values_list("covers_from", flat=True)) == {None}


def test_tyres_are_proposed_by_miles(everyone: dict[str, Client], car: Car) -> None:
    page = send(everyone["keeper"], "Date,Category,Amount\n5/3/2026,Tyres,240.00\n")
    assert "miles from then" in text_of(page)
    save(everyone["keeper"], page)
    assert CostEntry.objects.get().covers_miles
