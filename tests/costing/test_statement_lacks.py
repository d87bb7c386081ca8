"""What a figure lacks is said once for each record, with the one tap that mends it. Today is Monday 16 March 2026."""

import json
import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from costing.models import Agreement, Fill, TeachingRecord
from fleet.models import Car
from tests.costing.pages import shown, teach_february, text_of
from tests.costing.statement_paper import words_of
from tests.factories import CarFactory, CostEntryFactory, FillFactory, TeachingRecordFactory

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
    assert "The private miles from 12 March 2026 were not entered. Correct that record" in words
    both = (
        "The lesson hours from 13 March 2026 were not entered. The private miles from 13 March 2026 were not entered."
    )
    assert f"{both} Correct that record" in words
    for record in untold:
        assert page.count(f'href="{link_to(record)}"') == 1
    assert ALL_IN not in words, "something is missing"
    assert ALL_IN not in words_of(everyone["keeper"].get(MARCH.replace("?", "pdf/?")).content)
    told = everyone["keeper"].get(link_to(untold[0]))
    assert told.status_code == 200


def test_home_says_the_reason_and_leads_to_the_record(
    everyone: dict[str, Client], untold: list[TeachingRecord]
) -> None:
    response = everyone["keeper"].get(HOME)
    words = text_of(response)
    assert "This month is known only" not in words
    why = "the private miles from 12 March 2026 were not entered"
    assert f"March 2026 so far: not known, {why}. Correct that record" in words
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
    to_held = f"{reverse('costing:car-cost', args=[car.registration])}#held"
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
    assert found.count("the private miles from 12 March 2026 were not entered") == 1
    assert "the lesson hours from 13 March 2026 were not entered" in found


def test_each_cars_own_lacks_lead_to_its_own_page(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    other = CarFactory(keeper=car.keeper, registration="QB52DEF", in_service_from="2026-02-01")
    page = everyone["keeper"].get(f"{STATEMENT}?first=2026-02-01&last=2026-02-28").content.decode()
    to_hold = reverse("costing:agreement-add", args=[other.registration])
    assert re.search(rf'href="{to_hold}">\s*Say how you hold it', page)


def test_every_line_is_a_sentence_and_has_its_tap_in_one_place(everyone: dict[str, Client], car: Car) -> None:
    CostEntryFactory(car=car, paid_on="2026-03-10")
    response = everyone["keeper"].get(MARCH)
    [rows] = re.findall(r'<ul class="rows">(.+?)</ul>', response.content.decode(), re.DOTALL)
    lines = re.findall(r"<li>(.+?)</li>", rows, re.DOTALL)
    told = [re.search(r"<span>(.+?)</span>", line)[1] for line in lines]  # type: ignore[index]
    assert len(told) > 3
    assert all(re.fullmatch("[A-Z].+[.]", sentence) for sentence in told), told
    taps = [re.findall(r'<a class="(key low|link)"\s+href="[^"]+">(.+?)</a>', line) for line in lines]
    # One key, the thing to do first; what nothing mends comes last.
    assert [kind for [(kind, _)] in filter(None, taps)] == ["key low", *["link"] * (len(list(filter(None, taps))) - 1)]
    assert taps == sorted(taps, key=lambda found: not found)
    assert ("link", "Log your first fill") in [tap for [tap] in filter(None, taps)]
    assert "Log the last fill" not in rows


def test_once_a_fill_is_logged_the_last_one_is_asked_for(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    page = shown(everyone["keeper"], f"{STATEMENT}?first=2026-02-01&last=2026-03-16")
    assert "No fuel or charge logged after 28 February 2026. Log the last fill" in page


def test_on_paper_it_is_said_once_that_the_loss_of_value_is_left_out(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    Agreement.objects.all().delete()
    paper = words_of(everyone["keeper"].get(f"{STATEMENT}pdf/?first=2026-02-01&last=2026-02-28").content)
    assert paper.lower().count("loss of value is left out") == 1


@pytest.mark.parametrize(
    ("of_car", "words"),
    [("", "you had no car in service then"), ("&car=QA51ABC", "you did not have this car in service then")],
)
def test_it_is_said_in_one_way_that_there_was_no_car(
    everyone: dict[str, Client], car: Car, of_car: str, words: str
) -> None:
    teach_february(car)
    before = f"first=2023-11-01&last=2023-11-30{of_car}"
    assert f"{words[0].upper()}{words[1:]}." in shown(everyone["keeper"], f"{STATEMENT}?{before}")
    than = f"first=2026-02-01&last=2026-02-28&than_first=2023-11-01&than_last=2023-11-30{of_car}"
    page = shown(everyone["keeper"], f"{STATEMENT}?{than}")
    assert f"A lesson hour in November 2023 is not known: {words}." in page


# --- Nothing, and a part --------------------------------------------------------------------------------------


def test_a_month_of_which_nothing_is_in_the_book_has_no_nought_on_paper(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on="2026-03-10", odometer=48_000, amount="48.00")
    february = f"{STATEMENT}?first=2026-02-01&last=2026-02-28"
    assert "Nothing is in the book for these days" in shown(everyone["keeper"], february)
    paper = words_of(everyone["keeper"].get(february.replace("?", "pdf/?")).content)
    assert "£0.00" not in paper
    assert "Nothing is in the book for these days." in paper


def test_without_a_record_of_lessons_their_figures_are_not_known(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on="2026-03-10", odometer=48_000, amount="48.00")
    page = shown(everyone["keeper"], MARCH)
    assert "Private miles not known Business share not known Lessons not known Hours taught not known" in page
    assert "Lessons, hours and private miles are not known: no lessons logged." in page


def test_on_paper_each_reason_of_two_cars_stands_once(everyone: dict[str, Client], car: Car) -> None:
    for each in (car, CarFactory(keeper=car.keeper, registration="QB52DEF", in_service_from="2025-02-01")):
        FillFactory(car=each, filled_on="2026-03-10", odometer=48_000, amount="48.00")
    paper = words_of(everyone["keeper"].get(MARCH.replace("?", "pdf/?")).content)
    for mark in ("QA51 ABC", "QB52 DEF"):
        assert paper.count(f"{mark}: no agreement and no valuation") == 1
    assert "Why it moved" not in paper


def test_each_pound_says_that_it_is_of_what_is_known_where_something_is_left_out(
    everyone: dict[str, Client], car: Car
) -> None:
    FillFactory(car=car, filled_on="2026-03-10", odometer=48_000, amount="48.00")
    page = shown(everyone["keeper"], MARCH)
    assert "Each pound of what is known Fuel took all of each pound of what is known." in page
    assert "What is known of 1 to 16 March 2026 48.00 true cost" in page
    paper = words_of(everyone["keeper"].get(MARCH.replace("?", "pdf/?")).content)
    assert "Each pound of what is known" in paper
    assert paper.count("What is known of 1 to 16 March 2026 48.00 48.00") == 2
    assert "true cost as far as it is known, £48.00 money out" in paper


@pytest.mark.parametrize(
    ("fuel", "unit", "words"),
    [("petrol", "litre", "Fuel"), ("electric", "kwh", "Charge"), ("plugin_hybrid", "litre", "Fuel and charge")],
)
def test_each_pound_says_of_what_it_is_and_what_the_car_burns(
    everyone: dict[str, Client], car: Car, fuel: str, unit: str, words: str
) -> None:
    teach_february(car)
    Fill.objects.filter(car=car).update(unit=unit)
    type(car).objects.update(fuel=fuel)
    page = shown(everyone["keeper"], f"{STATEMENT}?first=2026-02-01&last=2026-02-28")
    assert f"Each pound of what the car cost {words} took all of each pound." in page


def test_fills_of_one_price_have_an_axis_without_fine_steps(everyone: dict[str, Client], car: Car) -> None:
    for odometer, day in ((48_000, "2026-03-10"), (48_300, "2026-03-14")):
        FillFactory(car=car, filled_on=day, odometer=odometer, amount="48.00", quantity="34.53", unit="litre")
    response = everyone["keeper"].get(MARCH)
    page = text_of(response)
    assert "A litre cost 139.0p at the last of these fills" in page
    assert "138.9 " not in page
    assert all(f">{level}<" in response.content.decode() for level in (130, 140, 150))
