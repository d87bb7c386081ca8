"""The page /due/day/...: all that is due or booked on one day."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car
from fleet.queries import due_report
from instructors.models import Member
from tests.conftest import TODAY
from tests.factories import CarFactory, DueItemFactory, OdometerReadingFactory

pytestmark = pytest.mark.usefixtures("today")

DAY = reverse("fleet:due-day", args=["2026-03-20"])


@pytest.mark.parametrize(
    ("who", "sees"),
    [
        ("keeper", {"QA51 ABC", ""}),
        ("colleague", {"QB02 XYZ"}),
        ("coordinator", {"QA51 ABC", "QB02 XYZ", ""}),
        ("stranger", set()),
    ],
)
def test_everybody_sees_what_they_may_see(
    everyone: dict[str, Client], car: Car, colleague_car: Car, keeper: Member, who: str, sees: set[str]
) -> None:
    for one in (car, colleague_car):
        DueItemFactory(car=one, due_on=date(2026, 3, 20))
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 3, 20))
    DueItemFactory(car=car, kind="service", due_on=date(2026, 3, 21))
    response = everyone[who].get(DAY)
    assert {event.item.mark for event in response.context["events"]} == sees
    assert "<h1>Friday 20 March 2026</h1>" in response.content.decode()
    names = {keeper.name, colleague_car.keeper.name} if who == "coordinator" else set()
    assert {event.item.of for event in response.context["events"]} - {""} == names
    assert all(f"</a> {name}" in response.content.decode() for name in names)
    assert (b"Nothing is due or booked on this day." in response.content) == (not sees)


def test_what_is_booked_for_it_is_there_too(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, due_on=date(2026, 3, 31), booked_for=date(2026, 3, 20))
    [event] = everyone["keeper"].get(DAY).context["events"]
    assert event.state_words == "Booked for this day"


def test_what_is_recorded_until_it_and_may_not_hold_is_there_too(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on=date(2026, 3, 20), is_confirmed=False)
    page = everyone["keeper"].get(DAY)
    [event] = page.context["events"]
    assert (event.item.title, event.state) == ("Insurance", "unknown")
    assert event.state_words.startswith("Recorded until 20 March 2026, but ")
    assert "Nothing is due" not in page.content.decode()
    assert everyone["keeper"].get(reverse("fleet:due-day", args=["2026-03-21"])).context["events"] == []


def test_a_day_that_is_a_forecast_says_so(everyone: dict[str, Client], car: Car) -> None:
    for on, miles in ((date(2026, 1, 1), 40000), (date(2026, 3, 16), 43000)):
        OdometerReadingFactory(car=car, read_on=on, miles=miles)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=43500)
    [line] = [one for one in due_report(TODAY, [car]).lines() if one.status.due_miles]
    page = everyone["keeper"].get(reverse("fleet:due-day", args=[line.status.forecast_on.isoformat()]))
    [event] = page.context["events"]
    assert event.state_words == f"Due in {line.status.days_left} days, by forecast"


def test_a_long_day_has_pages_and_leads_back_to_its_month(everyone: dict[str, Client]) -> None:
    for car in CarFactory.create_batch(13):
        DueItemFactory(car=car, due_on=date(2026, 3, 20))
    first, second = (everyone["coordinator"].get(DAY, {"page": page}) for page in (1, 2))
    assert [len(one.context["events"]) for one in (first, second)] == [12, 1]
    assert b'href="?page=2"' in first.content
    assert f'href="{reverse("fleet:month")}?month=2026-03"'.encode() in second.content


@pytest.mark.parametrize("on", ["2026-02-29", "2026-3-20", "1979-12-31", "today"])
def test_what_is_no_day_is_not_there(everyone: dict[str, Client], on: str) -> None:
    assert everyone["coordinator"].get(f"/due/day/{on}/").status_code == 404
