"""The page /cars/<mark>/tyres/moved/: which tyre went where."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.actions import replace_tyres, rotate_tyres
from fleet.models import Car, TyreMove
from instructors.models import Member
from tests.factories import TyreMoveFactory

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:tyres-rotated", args=["QA51ABC"])
DAY = date(2026, 3, 2)
TYPED = {"moved_on": "2026-03-02", "pattern": "front_with_rear"}
STRAIGHT = {
    "front_left": "rear_left",
    "front_right": "rear_right",
    "rear_left": "front_left",
    "rear_right": "front_right",
}
CROSS = {
    "front_left": "rear_right",
    "front_right": "rear_left",
    "rear_left": "front_right",
    "rear_right": "front_left",
}


def moves() -> dict[str, str]:
    return {row.wheel: row.came_from for row in TyreMove.objects.all()}


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_enters_a_rotation(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, TYPED).status_code == status
    assert not TyreMove.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
@pytest.mark.parametrize(("pattern", "expected"), [("front_with_rear", STRAIGHT), ("crosswise", CROSS)])
def test_the_usual_patterns_are_one_choice_and_twice_is_once(
    everyone: dict[str, Client], car: Car, who: str, pattern: str, expected: dict[str, str]
) -> None:
    for _ in range(2):
        response = everyone[who].post(PAGE, TYPED | {"pattern": pattern}, follow=True)
        assert response.redirect_chain == [("/cars/QA51ABC/tyres/", 303)]
        assert "The tyre moves of 2 March 2026 are in the book." in response.content.decode()
    assert moves() == expected
    assert TyreMove.history.count() == 4


def test_each_wheel_says_where_its_tyre_came_from(everyone: dict[str, Client], car: Car) -> None:
    by_wheel = {"front_left": "rear_left", "rear_left": "new", "front_right": "stays"}
    everyone["keeper"].post(PAGE, TYPED | {"pattern": "each"} | by_wheel)
    assert moves() == {"front_left": "rear_left", "rear_left": ""}


def test_wheel_by_wheel_counts_only_where_it_is_chosen(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, TYPED | {"front_left": "new"})
    assert moves() == STRAIGHT


def test_entered_again_for_the_same_day_it_replaces_what_was_there(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(PAGE, TYPED)
    swap = {"pattern": "each", "front_left": "front_right", "front_right": "front_left"}
    everyone["keeper"].post(PAGE, TYPED | swap)
    assert moves() == {"front_left": "front_right", "front_right": "front_left"}
    taken_back = TyreMove.history.filter(history_type="-")
    assert {(was.wheel, was.history_user.email) for was in taken_back} == {
        ("rear_left", "keeper@book.example"),
        ("rear_right", "keeper@book.example"),
    }


def test_nothing_moved_takes_back_what_was_entered_for_that_day_only(everyone: dict[str, Client], car: Car) -> None:
    TyreMoveFactory(car=car, moved_on=date(2026, 3, 1))
    TyreMoveFactory(car=car, moved_on=DAY)
    everyone["keeper"].post(PAGE, TYPED | {"pattern": "each"})
    assert TyreMove.objects.get().moved_on == date(2026, 3, 1)


@pytest.mark.parametrize(
    ("by_wheel", "why"),
    [
        ({}, "No tyre was moved."),
        ({"front_left": "rear_left"}, "The tyre from rear left was moved: say what was fitted there instead."),
        (
            {"front_left": "rear_left", "front_right": "rear_left", "rear_left": "front_left"},
            "The tyre from rear left cannot have gone to two wheels.",
        ),
    ],
)
def test_what_four_tyres_cannot_have_done_is_refused_and_kept(
    everyone: dict[str, Client], car: Car, by_wheel: dict[str, str], why: str
) -> None:
    response = everyone["keeper"].post(PAGE, TYPED | {"pattern": "each"} | by_wheel)
    form = response.context["form"]
    assert form.non_field_errors() == [why]
    assert all(form[wheel].value() == chosen for wheel, chosen in by_wheel.items())
    assert "<details open>" in response.content.decode()
    assert not TyreMove.objects.exists()


def test_a_tyre_fitted_new_that_day_is_not_taken_for_a_moved_one(car: Car, keeper: Member) -> None:
    replace_tyres(by=keeper, car=car, moved_on=DAY, wheels=["rear_left"])
    with pytest.raises(ValidationError, match="A new tyre was fitted rear left on 2 March 2026"):
        rotate_tyres(by=keeper, car=car, moved_on=DAY, moves=STRAIGHT)
    assert moves() == {"rear_left": ""}
    rotate_tyres(by=keeper, car=car, moved_on=DAY, moves={"front_left": "rear_left", "rear_left": ""})
    assert moves() == {"front_left": "rear_left", "rear_left": ""}


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"pattern": ""}, "Choose how they were moved."),
        ({"pattern": "round"}, "Select a valid choice. round is not one of the available choices."),
        ({"moved_on": "2026-03-17"}, "17 March 2026 has not come yet: today is 16 March 2026."),
        ({"moved_on": ""}, "Give a day."),
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


def test_the_book_itself_takes_no_day_to_come(car: Car, keeper: Member) -> None:
    with pytest.raises(ValidationError) as refusal:
        rotate_tyres(by=keeper, car=car, moved_on=date(2026, 3, 17), moves=STRAIGHT)
    assert set(refusal.value.error_dict) == {"moved_on"}
