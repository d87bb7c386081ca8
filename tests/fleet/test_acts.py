"""What somebody else does about a car stands in its keeper's record, unmailed; what the keeper does does not."""

from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from fleet import actions
from fleet.core.defects import Severity
from fleet.models import Car, DueItem, MailKind
from instructors.models import ActKind, Member
from tests.factories import DueItemFactory
from tests.fleet.keepers import acts, forget_acts, pass_on
from tests.pictures import picture_bytes

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
TODAY = date(2026, 3, 16)
DEPTHS = (Decimal(5), Decimal(5), Decimal(5))


def steps(by: Member, car: Car) -> Iterator[tuple[str, Callable[[], Any], str]]:
    """What can be done about a car, one after the other: the event that is noted, and the words beside it."""
    yield (
        "due_item_added",
        lambda: actions.add_due_item(by=by, car=car, kind="service", due_on=date(2026, 9, 1)),
        "Service, due on 1 September 2026",
    )
    item = DueItem.objects.get(car=car, kind="service")
    yield (
        "due_item_changed",
        lambda: actions.change_due_item(by=by, item=item, due_on=date(2026, 9, 2), every_months=12),
        "Service, due on 2 September 2026",
    )
    yield (
        "due_item_booked",
        lambda: actions.book_due_item(by=by, item=item, booked_for=date(2026, 4, 1)),
        "Service, for 1 April 2026",
    )
    yield (
        "due_item_unbooked",
        lambda: actions.book_due_item(by=by, item=item, booked_for=None),
        "Service, due on 2 September 2026",
    )
    yield (
        "due_item_completed",
        lambda: actions.complete_due_item(by=by, item=item, done_on=TODAY),
        "Service, done on 16 March 2026",
    )
    yield (
        "defect_reported",
        lambda: actions.report_defect(
            by=by, car=car, ref="ref-1", severity="watch", description="Wiper smears", found_on=TODAY
        ),
        "Wiper smears",
    )
    defect = car.defects.get()
    yield "defect_in_hand", lambda: actions.take_in_hand(by=by, defect=defect), "Wiper smears"
    yield (
        "defect_judged",
        lambda: actions.reassess_defect(by=by, defect=defect, severity="before_next_lesson", words="Worse in the rain"),
        "Wiper smears",
    )
    yield (
        "defect_closed",
        lambda: actions.close_defect(by=by, defect=defect, closed_on=TODAY, words="New blade", done_by="Wharf Lane"),
        "Wiper smears",
    )
    yield "defect_reopened", lambda: actions.reopen_defect(by=by, defect=defect, words="No better"), "Wiper smears"
    yield (
        "checked",
        lambda: actions.record_group(by=by, car=car, ref="ref-2", checked_on=TODAY, group="outside"),
        "16 March 2026",
    )
    yield (
        "tread_read",
        lambda: actions.record_tread(by=by, car=car, read_on=TODAY, wheels={"front_left": DEPTHS}),
        "16 March 2026",
    )
    yield (
        "tyres_moved",
        lambda: actions.replace_tyres(by=by, car=car, moved_on=TODAY, wheels=["front_left"]),
        "16 March 2026",
    )
    yield (
        "points_confirmed",
        lambda: actions.confirm_points(by=by, car=car, confirmed_on=TODAY, answers={"tuition_insurance": True}),
        "",
    )
    yield (
        "policy_answered",
        lambda: actions.answer_about_policy(by=by, car=car, answers={"tuition_insurance": None}),
        "",
    )
    yield "photo_kept", lambda: actions.keep_photo(by=by, car=car, picture=picture_bytes()), ""


def test_each_step_of_a_coordinator_is_noted_once(car: Car, coordinator: Member) -> None:
    for event, do, words in steps(coordinator, car):
        do()
        assert acts() == [("Wren Applegarth", event, "", words, False)], event
        forget_acts()


def test_a_step_that_changes_nothing_is_not_noted_again(car: Car, coordinator: Member) -> None:
    once_only = {"photo_kept", "policy_answered", "due_item_completed", "due_item_added"}
    for event, do, _ in steps(coordinator, car):
        do()
        forget_acts()
        if event not in once_only:
            do()
        assert acts() == [], event


def test_what_the_keeper_does_is_not_noted(car: Car, keeper: Member) -> None:
    for _, do, _ in steps(keeper, car):
        do()
    assert acts() == []


def test_a_failed_mot_is_noted_with_what_was_found(car: Car, coordinator: Member) -> None:
    item = DueItemFactory(car=car, kind="mot")
    for _ in range(2):
        actions.record_mot_failure(
            by=coordinator,
            item=item,
            ref="ref-3",
            tested_on=TODAY,
            findings={Severity.BEFORE_NEXT_LESSON: ["Worn bush"]},
            odometer=47_900,
        )
    assert acts() == [
        ("Wren Applegarth", "mot_failed", "", "tested on 16 March 2026", False),
        ("Wren Applegarth", "reading:2026-03-16", "", "47900", True),
        ("Wren Applegarth", "defect_reported", "", "Worn bush", False),
    ]


def test_a_coordinators_change_of_a_credential_stands_in_that_members_record(
    keeper: Member, coordinator: Member
) -> None:
    item = DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 6, 1))
    actions.change_due_item(by=keeper, item=item, due_on=date(2026, 6, 2))
    assert acts() == []
    actions.change_due_item(by=coordinator, item=item, due_on=date(2026, 6, 3))
    assert acts() == [
        ("Wren Applegarth", "due_item_changed", "", "ADI registration, due on 3 June 2026", False),
    ]


def test_a_coordinators_reminder_stands_there_once(car: Car, keeper: Member, coordinator: Member) -> None:
    for _ in range(2):
        actions.queue_mail(to=keeper, kind=MailKind.ASKED, asked_by=coordinator)
    assert acts() == [("Wren Applegarth", "reminded", "", "", False)]


# --- Cars, told at once -------------------------------------------------------------------------------------------


def test_a_car_entered_for_somebody_is_told_with_its_reading(keeper: Member, coordinator: Member) -> None:
    entered = {"registration": "QC1", "fuel": "petrol", "in_service_from": date(2026, 3, 1)}
    for _ in range(2):
        actions.add_car(by=coordinator, keeper=keeper, **entered, odometer=12_000)
    assert acts() == [
        ("Wren Applegarth", "car", "", "QC 1", True),
        ("Wren Applegarth", "reading:2026-03-01", "", "12000", True),
    ]
    forget_acts()
    actions.add_car(by=keeper, keeper=keeper, registration="QC2", fuel="petrol", in_service_from=TODAY, odometer=1)
    assert acts() == []


def test_a_handover_is_told_to_both_keepers(car: Car, keeper: Member, colleague: Member, coordinator: Member) -> None:
    for _ in range(2):
        pass_on(car, colleague, coordinator)
    was, now = f"member:{keeper.pk}", f"member:{colleague.pk}"
    assert acts(kind=ActKind.CAR) == [
        ("Wren Applegarth", "keeper", was, now, True),
        ("Wren Applegarth", "handed_over_on", "", "2026-03-16", True),
        ("Ελπίδα Καραβίδα", "keeper", was, now, True),
        ("Ελπίδα Καραβίδα", "handed_over_on", "", "2026-03-16", True),
    ]
