"""Writing down what was confirmed of a car: ``fleet.actions.confirm_points``."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from fleet.actions import confirm_points
from fleet.models import Car, Confirmation
from fleet.queries import due_report
from instructors.models import Member
from tests.factories import ConfirmationFactory

pytestmark = pytest.mark.usefixtures("today")

TODAY = date(2026, 3, 16)


def rows() -> list[tuple[str, date, bool]]:
    return list(Confirmation.objects.order_by("confirmed_on", "point").values_list("point", "confirmed_on", "is_met"))


def test_answers_are_written_with_who_gave_them_and_nothing_said_writes_nothing(keeper: Member, car: Car) -> None:
    answers = {"second_mirror": True, "smoke_free": False, "cameras": None}
    written = confirm_points(by=keeper, car=car, confirmed_on=TODAY, answers=answers)
    assert rows() == [("second_mirror", TODAY, True), ("smoke_free", TODAY, False)]
    assert {(row.by, row.history.get().history_user) for row in written} == {(keeper, keeper)}


def test_the_same_again_changes_nothing(keeper: Member, car: Car) -> None:
    for expected in (1, 0):
        written = confirm_points(by=keeper, car=car, confirmed_on=TODAY, answers={"smoke_free": True})
        assert len(written) == expected
    assert Confirmation.history.count() == 1


def test_a_second_answer_of_a_day_replaces_the_first_which_its_history_keeps(
    keeper: Member, coordinator: Member, car: Car
) -> None:
    confirm_points(by=keeper, car=car, confirmed_on=TODAY, answers={"smoke_free": True})
    confirm_points(by=coordinator, car=car, confirmed_on=TODAY, answers={"smoke_free": False})
    assert rows() == [("smoke_free", TODAY, False)]
    assert list(Confirmation.history.values_list("is_met", "history_user")) == [
        (False, coordinator.pk),
        (True, keeper.pk),
    ]


def test_an_answer_of_another_day_stands_beside_the_first(keeper: Member, car: Car) -> None:
    yesterday = TODAY - timedelta(days=1)
    for day in (TODAY, yesterday):
        confirm_points(by=keeper, car=car, confirmed_on=day, answers={"warning_lamps": True})
    assert rows() == [("warning_lamps", yesterday, True), ("warning_lamps", TODAY, True)]


def test_an_answer_of_another_car_is_left_alone(keeper: Member, car: Car, colleague_car: Car) -> None:
    ConfirmationFactory(car=colleague_car, confirmed_on=TODAY, is_met=False)
    confirm_points(by=keeper, car=car, confirmed_on=TODAY, answers={"tuition_insurance": True})
    assert list(Confirmation.objects.order_by("is_met").values_list("car", "is_met")) == [
        (colleague_car.pk, False),
        (car.pk, True),
    ]


def test_an_insurance_found_not_to_cover_tuition_takes_the_car_off_the_road(keeper: Member, car: Car) -> None:
    confirm_points(by=keeper, car=car, confirmed_on=TODAY, answers={"tuition_insurance": False})
    [due] = due_report(TODAY, cars=[car]).cars
    assert [reason.name for reason in due.reasons] == ["cover"]


def test_a_day_to_come_is_refused(keeper: Member, car: Car) -> None:
    with pytest.raises(ValidationError) as refusal:
        confirm_points(by=keeper, car=car, confirmed_on=TODAY + timedelta(days=1), answers={"smoke_free": True})
    assert refusal.value.message_dict == {"confirmed_on": ["17 March 2026 is yet to come."]}
    assert rows() == []


@pytest.mark.parametrize("point", ["mot", "no_such_point"])
def test_what_takes_no_answer_is_refused_whole(keeper: Member, car: Car, point: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        confirm_points(by=keeper, car=car, confirmed_on=TODAY, answers={"smoke_free": True, point: True})
    assert refusal.value.message_dict == {point: ["This is not a point to be confirmed."]}
    assert rows() == []
