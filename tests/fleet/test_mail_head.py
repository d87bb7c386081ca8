"""What heads a mail and its subject: cars off the road for whatever reason, teachers who may give no paid lessons."""

from datetime import timedelta

import pytest

from fleet.core.defects import Severity
from fleet.models import Car
from fleet.queries import cars_of, due_report
from fleet.reminders.letters.head import Head, StoppedCar, head_of, stopped_words
from instructors.models import Member
from tests.factories import CarFactory, ConfirmationFactory, DefectFactory, TreadReadingFactory
from tests.fleet.reminding import TODAY, due_item, in_days

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today", "in_order")]


def head_for(member: Member) -> Head:
    if member.is_coordinator:
        return head_of(due_report(TODAY), member)
    return head_of(due_report(TODAY, cars=cars_of(member, TODAY), members=[member]), member)


def test_cars_off_the_road_are_named_once_and_a_mark_stays_in_one_piece() -> None:
    assert stopped_words([]) == ""
    one = "QA51\u00a0ABC is off the road: no lesson may be given in it until this is put right."
    assert stopped_words(["QA51 ABC", "QA51 ABC"]) == one
    assert stopped_words(["QA51 ABC", "QB02 XYZ", "QC03 XYZ"]) == (
        "QA51\u00a0ABC, QB02\u00a0XYZ and QC03\u00a0XYZ are off the road: "
        "no lesson may be given in them until this is put right."
    )


def test_every_reason_is_named_worst_first_and_the_subject_has_the_worst(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(-3))
    DefectFactory.create(car=car, severity=Severity.BEFORE_NEXT_LESSON, description="Pad torn", found_on=in_days(-9))
    DefectFactory.create(car=car, severity=Severity.DANGEROUS, description="Brake pedal soft", found_on=TODAY)
    TreadReadingFactory.create(car=car, wheel="front_left", read_on=TODAY, inner="1.5")
    ConfirmationFactory.create(car=car, is_met=False, confirmed_on=TODAY)
    [stopped] = head_for(keeper).stopped
    assert stopped == StoppedCar(
        "QA51 ABC",
        "",
        [
            "Dangerous, do not drive: Brake pedal soft",
            "Front left tyre: less than 1.6 mm of tread",
            "MOT ran out on 13 March 2026",
            "The insurance does not cover driving tuition",
            "Put right before the next lesson: Pad torn",
        ],
        ["Do not drive it at all, not even to a garage. What is dangerous must be repaired first."],
        "http://localhost:8000/cars/QA51ABC/",
    )
    assert head_for(keeper).subject == "Off the road: QA51 ABC, dangerous, do not drive: Brake pedal soft"


def test_a_booking_changes_nothing_and_says_so(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(-3), booked_for=in_days(4))
    words = "MOT ran out on 13 March 2026, booked for 20 March 2026; until it has passed the car stays off the road"
    assert head_for(keeper).stopped[0].reasons == [words]
    assert head_for(keeper).subject == f"Off the road: QA51 ABC, {words}"


def test_a_coordinator_has_all_cars_worst_first_with_their_keepers(
    car: Car, colleague_car: Car, coordinator: Member, keeper: Member
) -> None:
    due_item(car=car, due_on=in_days(-30))
    DefectFactory.create(car=colleague_car, severity=Severity.DANGEROUS, description="Brake pedal soft", found_on=TODAY)
    head = head_for(coordinator)
    assert [(one.of, one.keeper) for one in head.stopped] == [
        ("QB02 XYZ", "Ελπίδα Καραβίδα"),
        ("QA51 ABC", "Wren Applegarth"),
    ]
    assert head.subject == "Off the road: QB02 XYZ (dangerous, do not drive: Brake pedal soft), QA51 ABC"
    assert [one.of for one in head_for(keeper).stopped] == ["QA51 ABC"]


def test_a_subject_names_six_cars_and_counts_the_others(coordinator: Member) -> None:
    for car in CarFactory.create_batch(8):
        due_item(car=car, due_on=in_days(-1))
    subject = head_for(coordinator).subject
    assert subject.count(", ") == 5
    assert subject.endswith(" and 2 more cars")


def test_a_long_reason_is_cut_in_the_subject_alone(car: Car, keeper: Member) -> None:
    DefectFactory.create(car=car, severity=Severity.DANGEROUS, description="Brake " * 30)
    head = head_for(keeper)
    assert len(head.subject) < 150
    assert head.subject.endswith("…")
    assert not head.stopped[0].reasons[0].endswith("…")


def test_a_lapsed_licence_forbids_paid_lessons_one_s_own_first(
    keeper: Member, colleague: Member, coordinator: Member
) -> None:
    for member in (keeper, coordinator):
        due_item(car=None, member=member, kind="adi_registration", due_on=in_days(-3))
    due_item(car=None, member=colleague, kind="pdi_licence", due_on=TODAY)
    assert head_for(keeper).lapsed == ["No paid lessons: your ADI registration ran out 3 days ago"]
    assert head_for(coordinator).lapsed == [
        "No paid lessons: your ADI registration ran out 3 days ago",
        "No paid lessons by Wren Applegarth: ADI registration ran out 3 days ago",
    ]
    assert head_for(keeper).subject == head_for(keeper).lapsed[0]
    assert head_for(colleague) == Head([], [])


def test_a_car_that_must_not_move_comes_before_a_licence_in_the_subject(car: Car, keeper: Member) -> None:
    due_item(car=None, member=keeper, kind="adi_registration", due_on=TODAY - timedelta(days=1))
    DefectFactory.create(car=car, severity=Severity.DANGEROUS, description="Brake pedal soft", found_on=TODAY)
    assert head_for(keeper).subject == (
        "Off the road: QA51 ABC, dangerous, do not drive: Brake pedal soft; "
        "no paid lessons: your ADI registration ran out yesterday"
    )
