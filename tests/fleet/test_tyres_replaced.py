"""The page /cars/<mark>/tyres/new/: new tyres were fitted."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.actions import replace_tyres
from fleet.models import Car, TyreMove
from fleet.queries import tread_report
from instructors.models import Member
from tests.factories import TyreMoveFactory
from tests.fleet.treads import driven, read

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:tyres-replaced", args=["QA51ABC"])
TYPED = {"moved_on": "2026-03-02", "wheels": ["front_left", "front_right"]}


def moves() -> dict[str, str]:
    return {row.wheel: row.came_from for row in TyreMove.objects.all()}


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_enters_new_tyres(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, TYPED).status_code == status
    assert not TyreMove.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_enter_them_and_twice_is_once(everyone: dict[str, Client], car: Car, who: str) -> None:
    for _ in range(2):
        response = everyone[who].post(PAGE, TYPED, follow=True)
        assert response.redirect_chain == [("/cars/QA51ABC/tyres/", 303)]
        assert "New tyres on 2 March 2026 are in the book." in response.content.decode()
    assert moves() == {"front_left": "", "front_right": ""}
    assert {(row.moved_on, row.by.email) for row in TyreMove.objects.all()} == {
        (date(2026, 3, 2), f"{who}@book.example")
    }
    assert TyreMove.history.count() == 2


def test_today_is_proposed_and_every_wheel_can_be_ticked(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get(PAGE).content.decode()
    assert 'value="2026-03-16"' in page
    assert page.count('type="checkbox"') == 4


def test_wear_is_counted_from_the_new_tyre(car: Car, keeper: Member) -> None:
    driven(car)
    read(car, "front_left", date(2025, 8, 28), "2.0")
    read(car, "front_left", date(2025, 12, 6), "8.0")
    read(car, "front_left", date(2026, 3, 16), "7.0")
    replace_tyres(by=keeper, car=car, moved_on=date(2025, 12, 6), wheels=["front_left"])
    [tyre, *_] = tread_report(car, date(2026, 3, 16)).wheels
    assert (tyre.fitted_on, len(tyre.readings), tyre.rate) == (date(2025, 12, 6), 2, pytest.approx(0.5))


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"wheels": []}, "Choose the wheels that got new tyres."),
        ({"wheels": ["spare"]}, "Select a valid choice. spare is not one of the available choices."),
        ({"moved_on": "2026-03-17"}, "17 March 2026 has not come yet: today is 16 March 2026."),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], car: Car, change: dict[str, str], why: str
) -> None:
    form = everyone["keeper"].post(PAGE, TYPED | change).context["form"]
    [(field, typed)] = change.items()
    assert form.errors == {field: [why]}
    assert form[field].value() == typed
    assert not TyreMove.objects.exists()


def test_new_where_a_tyre_was_moved_from_that_day_stands_beside_the_move(car: Car, keeper: Member) -> None:
    for wheel, came_from in (("front_left", "rear_left"), ("rear_left", "front_left")):
        TyreMoveFactory(car=car, moved_on=date(2026, 3, 2), wheel=wheel, came_from=came_from)
    replace_tyres(by=keeper, car=car, moved_on=date(2026, 3, 2), wheels=["rear_left"])
    assert moves() == {"front_left": "rear_left", "rear_left": ""}


@pytest.mark.parametrize(
    ("wrong", "field"), [({"moved_on": date(2026, 3, 17)}, "moved_on"), ({"wheels": []}, "wheels")]
)
def test_the_book_itself_refuses_what_cannot_be(car: Car, keeper: Member, wrong: dict, field: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        replace_tyres(by=keeper, car=car, **{"moved_on": date(2026, 3, 2), "wheels": ["front_left"]} | wrong)
    assert set(refusal.value.error_dict) == {field}
