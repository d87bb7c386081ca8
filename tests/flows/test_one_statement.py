"""Page, file and command carry the same figures of a member to the penny, whatever the book holds."""

import csv
import json
import re
from datetime import date, timedelta
from decimal import Decimal
from io import StringIO
from random import Random
from typing import Any

import pytest
from django.core.management import call_command
from django.db.models import Max
from django.test import Client
from django.urls import reverse

from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CATEGORIES
from costing.models import Fill
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import (
    AgreementFactory,
    CarFactory,
    CostEntryFactory,
    FillFactory,
    KeeperTimeFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

pytestmark = pytest.mark.usefixtures("today")

#: All days of a random book lie from here to the day of the tests, 16 March 2026.
BEGINS, DAYS = date(2025, 9, 1), 197


def days_of(random: Random) -> tuple[date, date]:
    first, last = sorted(random.randrange(DAYS) for _ in range(2))
    return BEGINS + timedelta(first), BEGINS + timedelta(last)


def fill_book(random: Random, car: Car, member: Member) -> None:
    """Log costs with every cover, refunds, fills, lessons and values, any of which a book may lack."""
    for _ in range(random.randrange(12)):
        first, last = days_of(random)
        cover = random.choice(
            [{}, {"covers_from": first, "covers_to": last}, {"covers_miles": random.randrange(1, 9_000)}]
        )
        ended = {"ended_on": days_of(random)[0]} if cover and random.random() < 0.3 else {}
        CostEntryFactory(
            car=car,
            member=member,
            paid_on=days_of(random)[0],
            category=random.choice(ENTRY_CATEGORIES).name,
            amount=Decimal(random.randrange(-20_000, 90_000)) / 100,
            **cover,
            **ended,
        )
    odometer = 20_000
    if random.random() < 0.8:
        OdometerReadingFactory(car=car, read_on=BEGINS, miles=odometer)
    day = BEGINS
    while random.random() < 0.9 and day < BEGINS + timedelta(DAYS - 30):
        day += timedelta(random.randrange(1, 30))
        odometer += random.randrange(900)
        amount = Decimal(random.randrange(1_000, 9_000)) / 100
        FillFactory(car=car, member=member, filled_on=day, odometer=odometer, amount=amount, quantity="31.25")
    for _ in range(random.randrange(5)):
        first, last = days_of(random)
        told = {"lesson_count": random.choice([None, 0, 12]), "minutes": random.choice([None, 0, 725])}
        TeachingRecordFactory(
            car=car, member=member, from_on=first, to_on=last, private_miles=random.choice([None, 0, 33]), **told
        )
    if random.random() < 0.5:
        AgreementFactory(car=car, member=member, starts_on=BEGINS - timedelta(random.randrange(90)))
    if random.random() < 0.7:
        ValuationFactory(car=car, member=member, valued_on=days_of(random)[0], value=random.randrange(4_000, 9_000))


@pytest.fixture(params=range(16))
def random_book(request: pytest.FixtureRequest, keeper: Member, colleague: Member, car: Car) -> Random:
    """A book of two cars, of which one is handed over, on loan or for good, or is kept all the time."""
    random = Random(request.param)  # noqa: S311 - the same books every time
    fill_book(random, car, keeper)
    if random.random() < 0.7:
        another = CarFactory(keeper=keeper, registration="QB52DEF", in_service_from=days_of(random)[0])
        fill_book(random, another, keeper)
    first, last = days_of(random)
    if random.random() < 0.6:
        KeeperTimeFactory(car=car, keeper=keeper, from_on="2024-01-08", to_on=first)
        KeeperTimeFactory(car=car, keeper=colleague, from_on=first + timedelta(1), to_on=last)
        if random.random() < 0.5:
            KeeperTimeFactory(car=car, keeper=keeper, from_on=last + timedelta(1))
        shown = Fill.objects.filter(car=car, filled_on__lte=last).aggregate(most=Max("odometer"))["most"]
        FillFactory(car=car, member=colleague, filled_on=last, odometer=shown or 20_000, amount="91.11")
    return random


def told_by_command(first: date, last: date, *more: str) -> dict[str, Any]:
    out = StringIO()
    asked = ("--from", str(first), "--to", str(last), "--member", "keeper@book.example")
    call_command("running_cost", *asked, *more, "--json", stdout=out)
    return json.loads(out.getvalue())


def in_words(pounds: str | None) -> str:
    return "–" if not Decimal(pounds or 0) else f"{Decimal(pounds or 0):,.2f}".replace("-", "−")


def check_file(answer: str, told: dict[str, Any]) -> dict[str, Decimal]:
    """The file has what the command tells; it returns the money out by category."""
    rows = list(csv.DictReader(answer.splitlines()))
    values = {row["name"]: row["value"] for row in rows if row["row"] == "figure"}
    for name in ("miles", "private_miles", "business_share", "lessons", "lesson_hours", "known_until"):
        assert values[name] == ("" if told[name] is None else str(told[name])), name
    for name in ("cost_per_mile", "cost_per_lesson_hour", "cost_per_lesson", "mpg", "miles_per_kwh"):
        assert values[name] == ("" if told[name] is None else str(told[name])), name
    assert values["estimated"].split() == told["estimated"]
    assert [row["words"] for row in rows if row["row"] == "missing"] == told["missing"]
    lines = {row["name"]: row for row in rows if row["row"] == "line"}
    assert {name: row["true_cost"] for name, row in lines.items() if row["true_cost"] != "0.00"} == told["by_category"]
    [total] = [row for row in rows if row["row"] == "total"]
    assert (total["true_cost"], total["money_out"]) == (told["true_cost"], told["money_out"])
    assert sum(Decimal(row["money_out"]) for row in lines.values()) == Decimal(told["money_out"])
    for name, line in lines.items():
        entries = [row for row in rows if row["row"] == "entry" and row["name"] == name]
        assert sum(Decimal(row["money_out"]) for row in entries) == Decimal(line["money_out"])
        if COST_CATEGORIES[name].is_entry and not COST_CATEGORIES[name].is_instalment:
            assert sum(Decimal(row["true_cost"]) for row in entries) == Decimal(line["true_cost"])
    return {name: Decimal(row["money_out"]) for name, row in lines.items()}


def check_page(page: str, told: dict[str, Any], money_out: dict[str, Decimal]) -> None:
    """The page has what the command tells, each figure in its place."""
    figure = told["cost_per_lesson_hour"]
    assert ("Not known a lesson hour" if figure is None else f"{in_words(figure)} a lesson hour".lstrip()) in page
    whole = f"{in_words(told['true_cost'])} true cost, {in_words(told['money_out'])} money out"
    assert (whole if money_out or Decimal(told["true_cost"]) else "Nothing is in the book for these days") in page
    for name, paid in money_out.items():
        category = COST_CATEGORIES[name]
        shares_tone = sum(row.group is category.group for row in COST_CATEGORIES.values()) > 1
        words = category.label if shares_tone else category.group.words
        sums = f"{in_words(told['by_category'].get(name))} true cost, {in_words(str(paid))} money out"
        assert re.search(rf"{re.escape(words)} +{re.escape(sums)}", page), (words, sums)
    for words, name in {"Miles": "miles", "Private miles": "private_miles", "Lessons": "lessons"}.items():
        shown = re.search(rf"\b{words} ([\d,]+|not known|not entered) ", page)
        assert shown
        # Where nothing is logged, a file and the command have a nought, of which the page says that it is not known.
        assert shown[1].replace(",", "") == str(told[name]) or (shown[1].startswith("not") and not told[name]), words
        assert shown[1].startswith("not") or told[name] is not None, words
    for reason in told["missing"]:
        assert reason[:1].upper() + reason[1:] in page


def test_page_file_and_command_carry_the_same_figures(
    everyone: dict[str, Client], random_book: Random, keeper: Member
) -> None:
    for _ in range(3):
        first, last = days_of(random_book)
        of_all = told_by_command(first, last)
        asked = f"first={first}&last={last}"
        told_of = {"": of_all["together"]} | {f"&car={each['registration']}": each for each in of_all["cars"]}
        for of_car, told in told_of.items():
            if told is None:
                continue
            page = text_of(everyone["keeper"].get(f"{reverse('costing:statement')}?{asked}{of_car}"))
            file = everyone["keeper"].get(f"{reverse('costing:statement-csv')}?{asked}{of_car}").content.decode()
            money_out = check_file(file, told)
            if "No figure for these days" not in page:
                check_page(page, told, money_out)
