"""The page /cars/<mark>/service/: the days on which a car is in service, put right."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from fleet.actions import change_service
from fleet.models import Car
from instructors.models import ActKind, Member
from tests.costing.pages import text_of
from tests.factories import DefectFactory, OdometerReadingFactory
from tests.fleet.keepers import acts, hand_on, pass_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
PAGE = reverse("fleet:car-service", args=["QA51ABC"])
SAME = {"in_service_from": "2024-01-08", "in_service_to": ""}
ENDED = {"in_service_to": "2026-02-28", "odometer": "48000"}
HANDED = date(2026, 3, 16)


def days_of(car: Car) -> tuple[date, date | None]:
    car.refresh_from_db()
    return car.in_service_from, car.in_service_to


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_finds_it(everyone: dict[str, Client], car: Car, who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, SAME | {"in_service_to": "2026-03-01"}).status_code == status
    assert days_of(car) == (date(2024, 1, 8), None)


def test_the_keeper_of_a_car_that_was_always_theirs_may_change_all_its_days(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    typed = {"in_service_from": "2023-05-01", "in_service_to": "2026-02-28", "odometer": "48000"}
    assert everyone["keeper"].post(PAGE, typed).url == "/cars/QA51ABC/"
    assert days_of(car) == (date(2023, 5, 1), date(2026, 2, 28))
    assert car.history.first().history_user == keeper
    assert acts() == []


def test_what_a_coordinator_changes_is_told_with_what_it_was(everyone: dict[str, Client], car: Car) -> None:
    assert "Wren Applegarth is told by e-mail." in text_of(everyone["coordinator"].get(PAGE))
    for _ in range(2):
        everyone["coordinator"].post(PAGE, SAME | ENDED | {"in_service_from": "2024-02-01"})
    assert acts(kind=ActKind.CAR) == [
        ("Wren Applegarth", "in_service_from", "2024-01-08", "2024-02-01", True),
        ("Wren Applegarth", "in_service_to", "", "2026-02-28", True),
    ]
    assert acts(kind=ActKind.READING) == [("Wren Applegarth", "reading:2026-02-28", "", "48000", True)]


def test_only_its_keeper_says_that_a_car_came_into_service_after_days_on_which_it_was_read(
    everyone: dict[str, Client], car: Car
) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2024, 3, 5), miles=12_000)
    later = SAME | {"in_service_from": "2024-04-01"}
    answer = everyone["coordinator"].post(PAGE, later)
    assert answer.context["form"].errors["in_service_from"] == [
        "It was in use before: its odometer was read on 5 March 2024. Only its keeper can say this."
    ]
    # Up to that day they may, and earlier.
    for first in ("2024-03-05", "2023-12-01"):
        assert everyone["coordinator"].post(PAGE, SAME | {"in_service_from": first}).status_code == 303
        assert days_of(car) == (date.fromisoformat(first), None)
    assert everyone["keeper"].post(PAGE, later).status_code == 303
    assert days_of(car) == (date(2024, 4, 1), None)


def test_taking_a_car_out_of_service_asks_for_the_odometer_on_that_day(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(PAGE, SAME | ENDED | {"odometer": ""})
    assert response.context["form"].errors["odometer"] == [
        "Give what it showed on 28 February 2026, its last day in use."
    ]
    assert days_of(car) == (date(2024, 1, 8), None)
    everyone["keeper"].post(PAGE, SAME | ENDED)
    assert list(car.odometer_readings.values_list("read_on", "miles")) == [(date(2026, 2, 28), 48_000)]
    # Nothing more is asked once it has ended.
    everyone["keeper"].post(PAGE, {"in_service_from": "2024-01-09", "in_service_to": "2026-02-28"})
    assert days_of(car) == (date(2024, 1, 9), date(2026, 2, 28))


def test_a_last_day_to_come_asks_for_no_odometer(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 2), miles=47_000)
    form = everyone["keeper"].get(PAGE).context["form"]
    assert (form["odometer"].value(), form.fields["odometer"].lately) == (None, "47,000, 2 March")
    everyone["keeper"].post(PAGE, SAME | {"in_service_to": "2026-03-17", "odometer": "48000"})
    assert days_of(car) == (date(2024, 1, 8), date(2026, 3, 17))
    assert car.odometer_readings.count() == 1


@pytest.mark.parametrize(
    ("typed", "field", "refusal"),
    [
        ({"in_service_to": "2024-01-07"}, "in_service_to", "It came into service on 8 January 2024: give a later day."),
        ({"in_service_from": "2020-10-03"}, "in_service_from", "It was first registered on 4 October 2020"),
        ({"in_service_from": ""}, "in_service_from", "Give a day."),
    ],
)
def test_what_cannot_be_is_refused_and_kept_on_the_page(
    everyone: dict[str, Client], car: Car, typed: dict[str, str], field: str, refusal: str
) -> None:
    response = everyone["coordinator"].post(PAGE, SAME | typed)
    assert refusal in response.context["form"].errors[field][0]
    assert days_of(car) == (date(2024, 1, 8), None)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"in_service_from": "2025-01-01"}, "in_service_from"),
        ({"in_service_from": "2026-03-20"}, "in_service_from"),
        ({"in_service_to": "2026-03-15"}, "in_service_to"),
    ],
)
def test_whoever_took_a_car_over_does_not_reach_back_before_that_day(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member, typed: dict[str, str], field: str
) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    response = everyone["colleague"].post(PAGE, SAME | typed)
    assert "You took QA51 ABC over on 16 March 2026" in response.context["form"].errors[field][0]
    assert days_of(car) == (date(2024, 1, 8), None)
    assert acts() == []


def test_whoever_took_a_car_over_ends_its_service_from_that_day_on(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    everyone["colleague"].post(PAGE, SAME | {"in_service_to": "2026-03-16", "odometer": "48000"})
    assert days_of(car) == (date(2024, 1, 8), HANDED)
    assert acts(kind=ActKind.CAR) == [("Wren Applegarth", "in_service_to", "", "2026-03-16", True)]


def test_a_coordinator_who_takes_a_car_over_cannot_end_the_past_of_whoever_kept_it(
    everyone: dict[str, Client], car: Car, keeper: Member, coordinator: Member
) -> None:
    """The attack on the median: take the car, end its service in the past, hand it back."""
    pass_on(car, coordinator, coordinator)
    with pytest.raises(ValidationError, match="You took QA51 ABC over on 16 March 2026"):
        change_service(by=coordinator, car=car, in_service_from=date(2024, 1, 8), in_service_to=date(2026, 2, 28))
    pass_on(car, keeper, coordinator)
    assert [(who, mailed) for who, *_, mailed in acts(field="keeper")] == [("Wren Applegarth", True)] * 2
    assert days_of(car) == (date(2024, 1, 8), None)


def test_nobody_ends_the_service_before_the_day_on_which_it_was_handed_on(
    everyone: dict[str, Client], car: Car, colleague: Member, coordinator: Member
) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    response = everyone["coordinator"].post(PAGE, SAME | {"in_service_to": "2026-03-15"})
    [refusal] = response.context["form"].errors["in_service_to"]
    assert refusal.startswith("Ελπίδα Καραβίδα took QA51 ABC over on 16 March 2026")
    assert days_of(car) == (date(2024, 1, 8), None)


def test_a_service_that_ended_in_a_former_keepers_time_is_not_taken_up_again(
    car: Car, keeper: Member, colleague: Member, coordinator: Member
) -> None:
    ended = date(2026, 2, 28)
    change_service(by=keeper, car=car, in_service_from=date(2024, 1, 8), in_service_to=ended, odometer=48_000)
    hand_on(car, colleague, HANDED, coordinator)
    for by in (colleague, coordinator):
        with pytest.raises(ValidationError, match="took QA51 ABC over"):
            change_service(by=by, car=car, in_service_from=date(2024, 1, 8), in_service_to=None)


def test_whoever_kept_it_before_is_told_too(car: Car, colleague: Member, coordinator: Member) -> None:
    hand_on(car, colleague, HANDED, coordinator)
    change_service(by=coordinator, car=car, in_service_from=date(2024, 2, 8), in_service_to=date(2026, 4, 30))
    changed = [("in_service_from", "2024-01-08", "2024-02-08"), ("in_service_to", "", "2026-04-30")]
    assert sorted(acts()) == sorted(
        (who, *change, True) for who in ("Wren Applegarth", "Ελπίδα Καραβίδα") for change in changed
    )


def test_a_coordinator_who_takes_a_car_over_for_a_day_ends_nothing_unseen(
    car: Car, keeper: Member, coordinator: Member
) -> None:
    hand_on(car, coordinator, HANDED, coordinator)
    change_service(by=coordinator, car=car, in_service_from=date(2024, 1, 8), in_service_to=date(2026, 3, 17))
    pass_on(car, keeper, coordinator)
    assert acts(field="in_service_to") == [("Wren Applegarth", "in_service_to", "", "2026-03-17", True)]


def test_not_even_the_action_lets_anybody_else_do_it(car: Car, colleague: Member) -> None:
    with pytest.raises(PermissionError):
        change_service(by=colleague, car=car, in_service_from=date(2024, 1, 8), in_service_to=date(2026, 2, 28))


@pytest.mark.parametrize("dangerous", [True, False])
def test_a_keeper_alone_does_not_take_a_dangerous_car_out_of_sight(
    everyone: dict[str, Client], car: Car, dangerous: bool
) -> None:
    DefectFactory(car=car, severity="dangerous" if dangerous else "watch")
    answer = everyone["keeper"].post(PAGE, SAME | ENDED)
    assert (days_of(car)[1] is None) is dangerous
    if dangerous:
        assert "This car has a dangerous defect: a coordinator can change this" in text_of(answer)
        assert everyone["coordinator"].post(PAGE, SAME | ENDED).status_code == 303
        assert days_of(car)[1] == date(2026, 2, 28)
