"""The page /cars/<mark>/tyres/read/: writing down tread."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.actions import record_tread
from fleet.models import Car, OdometerReading, TreadReading
from instructors.models import Member
from tests.asked import said_at
from tests.factories import OdometerReadingFactory
from tests.fleet.treads import page_of

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:tread-add", args=["QA51ABC"])
TYPED = {
    "read_on": "2026-03-16",
    "odometer": "48,300",
    "front_left_inner": "4.8",
    "front_left_centre": "5.1",
    "front_left_outer": "5",
    "rear_right_inner": "6.2",
}


def depths() -> dict[str, tuple[Decimal, ...]]:
    return {row.wheel: (row.inner, row.centre, row.outer) for row in TreadReading.objects.all()}


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_enters_tread(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, TYPED).status_code == status
    assert not TreadReading.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_enter_it_and_twice_is_once(everyone: dict[str, Client], car: Car, who: str) -> None:
    for _ in range(2):
        response = everyone[who].post(PAGE, TYPED, follow=True)
        assert response.redirect_chain == [("/cars/QA51ABC/tyres/", 303)]
        assert "Tread on 16 March 2026 is in the book: front left, rear right." in response.content.decode()
    assert depths() == {
        "front_left": (Decimal("4.8"), Decimal("5.1"), Decimal("5.0")),
        "rear_right": (Decimal("6.2"),) * 3,
    }
    reading = OdometerReading.objects.get()
    assert (reading.read_on, reading.miles) == (date(2026, 3, 16), 48_300)
    assert {row.by.email for row in TreadReading.objects.all()} == {f"{who}@book.example"}
    assert TreadReading.history.count() == 2


@pytest.mark.parametrize("part", ["inner", "centre", "outer"])
def test_one_figure_alone_counts_for_the_whole_width(everyone: dict[str, Client], car: Car, part: str) -> None:
    typed = {"read_on": "2026-03-16", f"rear_left_{part}": "0"}
    assert said_at(everyone["keeper"].post(PAGE, typed).context["form"], f"rear_left_{part}")
    everyone["keeper"].post(PAGE, typed | {"is_right": "tread_bald:0"})
    assert depths() == {"rear_left": (Decimal(0),) * 3}


def test_read_again_on_the_same_day_it_is_corrected(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, TYPED)
    everyone["coordinator"].post(PAGE, TYPED | {"front_left_inner": "4.6"})
    assert depths()["front_left"][0] == Decimal("4.6")
    row = TreadReading.objects.get(wheel="front_left")
    assert row.by.email == "coordinator@book.example"
    assert [was.inner for was in row.history.all()] == [Decimal("4.6"), Decimal("4.8")]


def test_the_wheels_lie_as_seen_from_above_and_today_is_proposed(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 2), miles=48_200)
    page = page_of(everyone["keeper"], "tread-add")
    places = [page.index(f'-words">{words}') for words in ("Front left", "Front right", "Rear left", "Rear right")]
    assert places == sorted(places)
    assert page.count('inputmode="decimal"') == 12
    assert 'value="2026-03-16"' in page
    assert "<small>48,200, 2 March</small>" in page
    assert "Without the mileage, wear cannot be worked out." in page


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"front_left_outer": ""}, "Enter all three, or only the lowest."),
        ({"front_left_inner": "48"}, "48 mm? A new tyre has about 8."),
        ({"front_left_inner": "-1"}, "This is less than 0: it must be between 0 and 15 mm."),
        ({"front_left_inner": "4.85"}, "This has more than one decimal place."),
        ({"front_left_inner": "4,8"}, "This cannot be read: put a point before the decimals, as in 4.8."),
        ({"front_left_inner": "deep"}, "This cannot be read: write it like 4.8."),
        ({"read_on": "2026-03-17"}, "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"odometer": "48.3"}, "This is not a whole number."),
        ({"odometer": "47,799"}, "On 1 March 2026 it showed 47,800 miles: it cannot have shown less on 16 March 2026."),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], car: Car, change: dict[str, str], why: str
) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 1), miles=47_800)
    form = everyone["keeper"].post(PAGE, TYPED | change).context["form"]
    [(field, typed)] = change.items()
    assert {name: said for name in form.fields if (said := said_at(form, name))} == {field: [why]}
    assert form[field].value() == typed
    assert form["rear_right_inner"].value() == "6.2"
    assert not TreadReading.objects.exists()
    assert OdometerReading.objects.count() == 1


def test_with_no_wheel_read_it_is_refused(everyone: dict[str, Client], car: Car) -> None:
    form = everyone["keeper"].post(PAGE, {"read_on": "2026-03-16", "odometer": "48,300"}).context["form"]
    assert form.non_field_errors() == ["Enter the tread of at least one wheel."]
    assert not OdometerReading.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"read_on": date(2026, 3, 17)}, "read_on"),
        ({"wheels": {}}, "wheels"),
        ({"wheels": {"front_left": (Decimal("15.1"), Decimal(5), Decimal(5))}}, "front_left"),
        ({"wheels": {"spare": (Decimal(5), Decimal(5), Decimal(5))}}, "spare"),
    ],
)
def test_the_book_itself_refuses_what_cannot_be(car: Car, keeper: Member, wrong: dict, field: str) -> None:
    right = {"read_on": date(2026, 3, 16), "wheels": {"front_left": (Decimal(5), Decimal(5), Decimal(5))}}
    with pytest.raises(ValidationError) as refusal:
        record_tread(by=keeper, car=car, odometer=48_300, **right | wrong)
    assert set(refusal.value.error_dict) == {field}
    assert not TreadReading.objects.exists()
    assert not OdometerReading.objects.exists()
