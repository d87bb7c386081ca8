"""What a reminder says first, and the twelve weeks that lie ahead."""

from datetime import timedelta

import pytest

from fleet.actions import book_due_item
from fleet.models import Car
from fleet.queries import DueLine, Subject, due_report
from fleet.reminders.letters.ahead import Road, line_sign, more_words, road, standing
from instructors.models import Member
from tests.factories import CarFactory, put_in_order
from tests.fleet.reminding import TODAY, due_item, in_days

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today", "in_order")]


def lines(kind: str = "") -> list[DueLine]:
    return [line for line in due_report(TODAY).lines() if kind in ("", line.kind.name)]


def said(kind: str, recipient: Member) -> str:
    [line] = lines(kind)
    return standing(line.subject, line, due_report(TODAY), recipient).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("kind", "days", "words"),
    [
        ("mot", 7, "QA51 ABC: MOT runs out in 7 days"),
        ("insurance", 1, "QA51 ABC: Insurance runs out tomorrow"),
        ("tyres", 0, "QA51 ABC: Tyres due today"),
        ("breakdown_cover", -40, "QA51 ABC: Breakdown cover ran out 40 days ago"),
        ("mot", -1, "QA51 ABC is off the road"),
    ],
)
def test_how_a_car_stands_is_its_verdict(car: Car, keeper: Member, kind: str, days: int, words: str) -> None:
    due_item(car=car, kind=kind, due_on=in_days(days))
    assert said(kind, keeper) == words


def test_what_is_not_known_comes_before_what_is_due(car: Car, keeper: Member) -> None:
    car.due_items.filter(kind="vehicle_tax").delete()
    due_item(car=car, kind="other", due_on=in_days(7), note="Tow bar")
    assert said("other", keeper) == "QA51 ABC, not known: vehicle tax"


def test_how_many_more_there_are_follows() -> None:
    assert [more_words(count) for count in (0, 1, 10, 11)] == [
        "",
        " One more thing needs seeing to.",
        " Ten more things need seeing to.",
        " 11 more things need seeing to.",
    ]


def test_a_credential_is_one_s_own_or_somebody_else_s(keeper: Member, coordinator: Member) -> None:
    due_item(car=None, member=keeper, kind="adi_registration", due_on=in_days(1))
    assert said("adi_registration", keeper) == "Your ADI registration runs out tomorrow"
    assert said("adi_registration", coordinator) == "Wren Applegarth: ADI registration runs out tomorrow"


def test_only_a_car_can_be_off_the_road(keeper: Member) -> None:
    with pytest.raises(ValueError, match="only a car"):
        standing(Subject(keeper), None, due_report(TODAY), keeper)


def test_the_road_has_a_cell_for_each_week_and_says_what_is_in_it(car: Car) -> None:
    for kind, days in (("service", 20), ("mot", 27), ("tyres", 14), ("insurance", 83), ("vehicle_tax", 84)):
        due_item(car=car, kind=kind, due_on=in_days(days))
    due_item(car=car, kind="breakdown_cover", due_on=in_days(-1))
    assert road(lines(), are_several=False) == Road(
        ["", "", "◑", "◔", *[""] * 7, "○"],
        "Twelve weeks from today: tyres and service in the third, MOT in the fourth, insurance in the twelfth.",
    )


def test_what_is_due_today_lies_in_the_first_week_and_a_booking_has_its_own_sign(car: Car, keeper: Member) -> None:
    due_item(car=car, kind="mot", due_on=TODAY)
    item = due_item(car=car, kind="service", due_on=in_days(7))
    book_due_item(by=keeper, item=item, booked_for=in_days(2))
    assert road(lines(), are_several=False).signs[:2] == ["●", "▣"]


def test_with_several_cars_the_road_names_them(car: Car, keeper: Member) -> None:
    second = CarFactory.create(registration="QB02XYZ", keeper=keeper)
    put_in_order(second)
    for one in (car, second):
        due_item(car=one, kind="mot", due_on=in_days(3))
    assert road(lines(), are_several=False).words.endswith("MOT of QA51 ABC and MOT of QB02 XYZ in the first.")


def test_a_road_with_nothing_on_it_says_so(car: Car) -> None:
    assert road(lines(), are_several=False) == Road(
        [""] * 12, "Nothing that is recorded falls due in the twelve weeks from today."
    )


def test_what_stops_a_car_has_the_sign_of_that(car: Car) -> None:
    due_item(car=car, kind="mot", due_on=TODAY - timedelta(days=1))
    due_item(car=car, kind="service", due_on=TODAY - timedelta(days=1))
    assert [line_sign(lines(kind)[0]) for kind in ("mot", "service", "insurance")] == ["⊖", "▼", "○"]
