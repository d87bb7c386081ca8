"""The page /cars/<mark>/odometer/: what the odometer shows."""

from datetime import date
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fleet.actions.odometer import DOES_NOT_FIT
from fleet.models import Car, DueItem, OdometerReading
from tests.asked import said_at
from tests.factories import DueItemFactory, FillFactory, OdometerReadingFactory
from tests.fleet.keepers import acts

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:odometer-add", args=["QA51ABC"])
TYPED = {"miles": "48,300", "read_on": "2026-03-16"}


@pytest.fixture
def mot(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind="mot", due_on=date(2026, 4, 2))


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_enters_a_reading(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, TYPED).status_code == status
    assert not OdometerReading.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_enter_one_and_twice_is_once(everyone: dict[str, Client], car: Car, who: str) -> None:
    for _ in range(2):
        assert everyone[who].post(PAGE, TYPED).url == "/cars/QA51ABC/"
    reading = OdometerReading.objects.get()
    assert (reading.car, reading.read_on, reading.miles) == (car, date(2026, 3, 16), 48_300)


def test_today_is_proposed_and_the_last_reading_is_shown(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=48_200)
    page = everyone["keeper"].get(PAGE).content.decode()
    assert 'value="2026-03-16"' in page
    assert "<small>48,200, 2 March</small>" in page


def test_a_reading_that_falls_is_refused_naming_its_neighbour(everyone: dict[str, Client], car: Car) -> None:
    FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=48_400)
    response = everyone["keeper"].post(PAGE, TYPED)
    [why] = said_at(response.context["form"], "miles")
    assert "On 2 March 2026 it showed 48,400 miles" in why
    assert 'value="48,300"' in response.content.decode()
    assert not OdometerReading.objects.exists()


def test_an_older_reading_may_not_exceed_a_newer_one(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 10), miles=48_000)
    response = everyone["keeper"].post(PAGE, TYPED | {"read_on": "2026-03-09"})
    assert "On 10 March 2026 it showed 48,000 miles" in said_at(response.context["form"], "miles")[0]


def test_a_reading_of_the_same_day_is_corrected(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, TYPED | {"miles": "84,300"})
    everyone["keeper"].post(PAGE, TYPED)
    assert OdometerReading.objects.get().miles == 48_300


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"miles": ""}, "Fill this in."),
        ({"miles": "-5"}, "This is less than 0: it must be between 0 and 999,999 miles."),
        ({"miles": "48,30"}, "This cannot be read: write it like 48,210."),
        ({"miles": "48300.5"}, "This is not a whole number."),
        ({"miles": "٤٨٣٠٠"}, "This cannot be read: write it like 48,210."),
        ({"miles": "1000000"}, "This is more than 999,999: it must be between 0 and 999,999 miles."),
        ({"read_on": "2026-03-17"}, "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"read_on": "16th"}, "Write the day like 5 March 2027 or 05/03/2027."),
        ({"read_on": "1826-03-16"}, "Check the year: it must be from 1980 to 2100."),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], car: Car, change: dict[str, str], why: str
) -> None:
    form = everyone["keeper"].post(PAGE, TYPED | change).context["form"]
    [(field, typed)] = change.items()
    assert form.errors == {field: [why]}
    assert form[field].value() == typed
    assert not OdometerReading.objects.exists()


@pytest.mark.parametrize("typed", ["16 March 2026", "16 Mar 2026", "16/03/2026", "16/3/26", "2026-03-16"])
def test_a_day_is_understood_in_any_usual_british_way(everyone: dict[str, Client], car: Car, typed: str) -> None:
    everyone["keeper"].post(PAGE, TYPED | {"read_on": typed})
    assert OdometerReading.objects.get().read_on == date(2026, 3, 16)


def test_a_reading_that_a_coordinator_enters_is_told_with_what_stood_there(
    everyone: dict[str, Client], car: Car
) -> None:
    told = "Wren Applegarth is told by e-mail."
    assert told in everyone["coordinator"].get(PAGE).content.decode()
    assert told not in everyone["keeper"].get(PAGE).content.decode()
    everyone["keeper"].post(PAGE, TYPED | {"miles": "48,290"})
    for _ in range(2):
        everyone["coordinator"].post(PAGE, TYPED)
    assert acts() == [("Wren Applegarth", "reading:2026-03-16", "48290", "48300", True)]


def test_what_a_fill_shows_is_named_to_the_keeper_alone(everyone: dict[str, Client], car: Car, mot: DueItem) -> None:
    FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=48_400)
    depth = {"front_left_inner": "4.8", "read_on": "2026-03-16", "odometer": "0"}
    on_the_day = {"ref": str(uuid4()), "done_on": "2026-03-16", "tested_on": "2026-03-16", "odometer": "0"}
    forms = {
        PAGE: TYPED | {"miles": "0"},
        reverse("fleet:tread-add", args=["QA51ABC"]): depth,
        reverse("fleet:due-item-complete", args=[mot.pk]): on_the_day | {"next_due_on": "2027-03-15"},
        reverse("fleet:mot-fail", args=[mot.pk]): on_the_day | {"major": "Brake pipe corroded"},
    }
    for page, typed in forms.items():
        field = "miles" if page == PAGE else "odometer"
        refused = everyone["coordinator"].post(page, typed).context["form"].errors[field]
        assert refused == [DOES_NOT_FIT], page
        told = said_at(everyone["keeper"].post(page, typed).context["form"], field)
        assert "On 2 March 2026 it showed 48,400 miles" in told[0], page
    later = everyone["coordinator"].post(PAGE, {"miles": "99,999", "read_on": "2026-03-01"})
    assert later.context["form"].errors["miles"] == [DOES_NOT_FIT]


def test_what_stands_there_as_a_reading_is_named_to_a_coordinator_too(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 2), miles=48_400)
    [why] = said_at(everyone["coordinator"].post(PAGE, TYPED).context["form"], "miles")
    assert "On 2 March 2026 it showed 48,400 miles" in why
    # A fill of that day which shows more is what it cannot be squared with: of that nothing is told.
    FillFactory(car=car, filled_on=date(2026, 3, 2), odometer=48_500)
    assert said_at(everyone["coordinator"].post(PAGE, TYPED).context["form"], "miles") == [why]
