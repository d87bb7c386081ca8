"""What a figure lacks is said once for each record, with the one tap that mends it. Today is Monday 16 March 2026."""

import json
import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from costing.models import Agreement, TeachingRecord
from fleet.models import Car
from tests.costing.pages import shown, teach_february, text_of
from tests.costing.statement_paper import words_of
from tests.factories import CarFactory, FillFactory, TeachingRecordFactory

HOME = reverse("costing:home")
STATEMENT = reverse("costing:statement")
MARCH = f"{STATEMENT}?first=2026-03-01&last=2026-03-16"
ALL_IN = "are all in until"

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def untold(car: Car) -> list[TeachingRecord]:
    """March is known to its 16th but for what two records of one week leave untold."""
    teach_february(car)
    FillFactory(car=car, filled_on="2026-03-16", odometer=48_000)
    TeachingRecordFactory(car=car, from_on="2026-03-01", to_on="2026-03-11", private_miles=0)
    return [
        TeachingRecordFactory(car=car, from_on="2026-03-12", to_on="2026-03-12", private_miles=None),
        TeachingRecordFactory(car=car, from_on="2026-03-13", to_on="2026-03-16", private_miles=None, minutes=None),
    ]


def link_to(record: TeachingRecord) -> str:
    return reverse("costing:entry-correct", args=["lessons", record.pk])


def test_what_a_record_does_not_tell_has_a_line_with_a_link_to_it(
    everyone: dict[str, Client], untold: list[TeachingRecord]
) -> None:
    response = everyone["keeper"].get(MARCH)
    page, words = response.content.decode(), text_of(response)
    assert "The private miles from 12 March 2026 are not told. Correct that record" in words
    both = "The lesson hours from 13 March 2026 are not told. The private miles from 13 March 2026 are not told."
    assert f"{both} Correct that record" in words
    for record in untold:
        assert page.count(f'href="{link_to(record)}"') == 1
    assert ALL_IN not in words, "something is missing"
    assert ALL_IN not in words_of(everyone["keeper"].get(MARCH.replace("?", "pdf/?")).content)
    told = everyone["keeper"].get(link_to(untold[0]))
    assert told.status_code == 200


def test_home_says_the_reason_and_leads_to_the_record(everyone: dict[str, Client], untold: list[TeachingRecord]) -> None:
    response = everyone["keeper"].get(HOME)
    words = text_of(response)
    assert "This month is known only" not in words
    assert "March 2026 so far: not known, the private miles from 12 March 2026 are not told. Correct that record" in words
    assert f'href="{link_to(untold[0])}"' in response.content.decode()


def test_a_month_whose_entries_are_still_to_come_is_known_only_up_to_a_day(
    everyone: dict[str, Client], car: Car
) -> None:
    teach_february(car)
    assert "This month is known only up to 28 February 2026. Read the odometer" in shown(everyone["keeper"], HOME)


def test_a_hire_without_its_number_of_payments_leads_to_the_agreement(
    everyone: dict[str, Client], untold: list[TeachingRecord], car: Car
) -> None:
    TeachingRecord.objects.update(private_miles=0, minutes=600)
    Agreement.objects.update(payments=None, payment="100.00")
    to_held = f'{reverse("costing:car-cost", args=[car.registration])}#held'
    home = everyone["keeper"].get(HOME)
    assert "has no number of payments, so its rental is left out. See the agreement" in text_of(home)
    assert "This month is known only" not in text_of(home)
    for response in (home, everyone["keeper"].get(MARCH)):
        assert f'href="{to_held}"' in response.content.decode()
        assert ALL_IN not in text_of(response)


def test_the_command_names_a_reason_once_though_two_records_have_it(car: Car, untold: list[TeachingRecord]) -> None:
    TeachingRecordFactory(car=car, from_on="2026-03-12", to_on="2026-03-12", private_miles=None)
    out = StringIO()
    asked = ("--from", "2026-03-01", "--to", "2026-03-16", "--member", "keeper@book.example", "--json")
    call_command("running_cost", *asked, stdout=out)
    found = json.loads(out.getvalue())["together"]["missing"]
    assert found.count("the private miles from 12 March 2026 are not told") == 1
    assert "the lesson hours from 13 March 2026 are not told" in found


def test_each_cars_own_lacks_lead_to_its_own_page(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    other = CarFactory(keeper=car.keeper, registration="QB52DEF", in_service_from="2026-02-01")
    page = everyone["keeper"].get(f"{STATEMENT}?first=2026-02-01&last=2026-02-28").content.decode()
    to_hold = reverse("costing:agreement-add", args=[other.registration])
    assert re.search(rf'href="{to_hold}">\s*Say how you hold it', page)
