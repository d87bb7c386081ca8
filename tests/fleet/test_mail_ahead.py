"""What a reminder says first, and the twelve weeks that lie ahead."""

from datetime import timedelta

import pytest

from fleet.actions import book_due_item
from fleet.models import Car
from fleet.queries import DueLine, due_report
from fleet.reminders.letters.ahead import Road, line_sign, road, stopped_words, verdict
from instructors.models import Member
from tests.factories import CarFactory, DueItemFactory
from tests.fleet.reminding import TODAY, in_days

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


def lines(kind: str = "") -> list[DueLine]:
    return [line for line in due_report(TODAY).lines() if kind in ("", line.kind.name)]


def said(kind: str, recipient: Member, also: int = 0) -> str:
    [line] = lines(kind)
    return verdict(line, recipient, also).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("kind", "days", "words"),
    [
        ("mot", 7, "QA51 ABC has its MOT due in 7 days."),
        ("insurance", 1, "QA51 ABC has its insurance due tomorrow."),
        ("tyres", 0, "QA51 ABC has its tyres due today."),
        ("breakdown_cover", -40, "QA51 ABC has its breakdown cover 40 days overdue."),
    ],
)
def test_the_worst_item_is_told_in_a_sentence(car: Car, keeper: Member, kind: str, days: int, words: str) -> None:
    DueItemFactory.create(car=car, kind=kind, due_on=in_days(days))
    assert said(kind, keeper) == words


def test_how_many_more_there_are_follows(car: Car, keeper: Member) -> None:
    DueItemFactory.create(car=car, kind="service", due_on=in_days(7))
    assert said("service", keeper, also=1).endswith("in 7 days. One more thing needs seeing to.")
    assert said("service", keeper, also=10).endswith("in 7 days. Ten more things need seeing to.")
    assert said("service", keeper, also=11).endswith("in 7 days. 11 more things need seeing to.")


def test_what_nobody_knows_and_a_member_s_own_words_make_sentences_too(car: Car, keeper: Member) -> None:
    DueItemFactory.create(car=car, kind="other", due_on=in_days(7), note="Tow bar")
    assert said("mot", keeper) == "It is not known when QA51 ABC has its MOT due."
    assert said("other", keeper) == "QA51 ABC has its Tow bar due in 7 days."


def test_a_credential_is_one_s_own_or_somebody_else_s(keeper: Member, coordinator: Member) -> None:
    DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=in_days(1))
    assert said("adi_registration", keeper) == "You have your ADI registration due tomorrow."
    assert said("adi_registration", coordinator) == "Wren Applegarth has the ADI registration due tomorrow."


def test_cars_off_the_road_are_named_once_and_a_mark_stays_in_one_piece() -> None:
    assert stopped_words([]) == ""
    one = "QA51\u00a0ABC is off the road: no lesson may be given in it until this is put right."
    assert stopped_words(["QA51 ABC", "QA51 ABC"]) == one
    assert stopped_words(["QA51 ABC", "QB02 XYZ", "QC03 XYZ"]) == (
        "QA51\u00a0ABC, QB02\u00a0XYZ and QC03\u00a0XYZ are off the road: "
        "no lesson may be given in them until this is put right."
    )


def test_the_road_has_a_cell_for_each_week_and_says_what_is_in_it(car: Car) -> None:
    for kind, days in (("service", 20), ("mot", 27), ("tyres", 14), ("insurance", 83), ("vehicle_tax", 84)):
        DueItemFactory.create(car=car, kind=kind, due_on=in_days(days))
    DueItemFactory.create(car=car, kind="breakdown_cover", due_on=in_days(-1))
    assert road(lines()) == Road(
        ["", "", "◑", "◔", *[""] * 7, "○"],
        "Twelve weeks from today: tyres and service in the third, MOT in the fourth, insurance in the twelfth.",
    )


def test_what_is_due_today_lies_in_the_first_week_and_a_booking_has_its_own_sign(car: Car, keeper: Member) -> None:
    DueItemFactory.create(car=car, kind="mot", due_on=TODAY)
    item = DueItemFactory.create(car=car, kind="service", due_on=in_days(7))
    book_due_item(by=keeper, item=item, booked_for=in_days(2))
    assert road(lines()).signs[:2] == ["●", "▣"]


def test_with_several_cars_the_road_names_them(car: Car, keeper: Member) -> None:
    second = CarFactory.create(registration="QB02XYZ", keeper=keeper)
    for one in (car, second):
        DueItemFactory.create(car=one, kind="mot", due_on=in_days(3))
    assert road(lines()).words.endswith("MOT of QA51 ABC and MOT of QB02 XYZ in the first.")


def test_a_road_with_nothing_on_it_says_so(car: Car) -> None:
    assert road(lines()) == Road([""] * 12, "Nothing that is recorded falls due in the twelve weeks from today.")


def test_what_stops_a_car_has_the_sign_of_that(car: Car) -> None:
    DueItemFactory.create(car=car, kind="mot", due_on=TODAY - timedelta(days=1))
    DueItemFactory.create(car=car, kind="service", due_on=TODAY - timedelta(days=1))
    assert [line_sign(lines(kind)[0]) for kind in ("mot", "service", "insurance")] == ["⊖", "▼", "◇"]
