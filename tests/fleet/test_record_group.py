"""The action that writes down one group of a walkaround check: what the book keeps, and what it does not allow."""

from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from config import budgets
from fleet.actions import PointFault, record_group
from fleet.core.points import GROUPS
from fleet.models import Car, Defect, MailKind, ReminderMail, WalkaroundCheck
from fleet.queries import last_checks_of, points_in_use
from instructors.models import Member
from tests.factories import CheckPointFactory, DefectFactory, WalkaroundCheckFactory

pytestmark = pytest.mark.usefixtures("today")

TODAY = date(2026, 3, 16)
LOOK: dict[str, Any] = {"ref": "check-1", "checked_on": TODAY, "group": "inside"}


def names_of(car: Car, *groups: str) -> list[str]:
    return [point.name for point in points_in_use(car, TODAY) if point.group in groups]


@pytest.mark.parametrize(
    ("change", "field", "why"),
    [
        ({"group": "wings"}, "group", "This part of the check does not apply to this car."),
        (
            {"faults": [PointFault("lamps", "watch", "dim")]},
            "group",
            "One of these points is no longer in use: reload the page.",
        ),
        ({"checked_on": date(2026, 3, 17)}, "checked_on", "17 March 2026 is yet to come."),
        ({"note": "x" * 501}, "note", "Ensure this value has at most 500 characters (it has 501)."),
        ({"faults": [PointFault("horn", "grave")]}, "severity", "Value 'grave' is not a valid choice."),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(
    car: Car, change: dict[str, Any], field: str, why: str
) -> None:
    with pytest.raises(ValidationError) as refusal:
        record_group(by=car.keeper, car=car, **LOOK | change)
    assert refusal.value.message_dict == {field: [why]}
    assert not WalkaroundCheck.objects.exists()
    assert not Defect.objects.exists()


def test_four_groups_are_one_check_that_counts_once_the_last_is_in_the_book(car: Car) -> None:
    # By hand: 40 + 30 + 50 + 35 seconds.
    for group, seconds in zip(GROUPS, (40, 30, 50, 35), strict=True):
        assert last_checks_of([car.pk]) == {}
        check, found = record_group(by=car.keeper, car=car, **LOOK | {"group": group}, seconds=seconds)
        assert found == []
    assert WalkaroundCheck.objects.get() == check
    assert (check.points, check.is_whole, check.seconds) == (names_of(car, *GROUPS), True, 155)
    assert last_checks_of([car.pk]) == {car.pk: TODAY}


def test_groups_in_any_order_are_kept_in_the_order_of_the_walk(car: Car) -> None:
    for group in ("tuition", "outside"):
        check, _ = record_group(by=car.keeper, car=car, **LOOK | {"group": group})
    assert check.points == names_of(car, "outside", "tuition")
    assert not check.is_whole


def test_the_same_group_again_changes_nothing(car: Car) -> None:
    look = LOOK | {"faults": [PointFault("horn", "watch", "hoarse")], "seconds": 40, "note": "In the rain"}
    first, found = record_group(by=car.keeper, car=car, **look)
    again, found_again = record_group(by=car.keeper, car=car, **look)
    assert (again, found_again) == (first, [])
    assert [defect.description for defect in found] == ["Horn: hoarse"]
    assert WalkaroundCheck.objects.get().seconds == 40
    assert first.history.count() == 1
    assert Defect.objects.count() == 1


def test_a_group_gone_back_to_may_add_what_was_missed(car: Car) -> None:
    record_group(by=car.keeper, car=car, **LOOK, faults=[PointFault("horn", "watch")], seconds=40)
    more = [PointFault("horn", "watch"), PointFault("mirrors", "watch", "loose"), PointFault("horn", "watch", "rusty")]
    check, found = record_group(by=car.keeper, car=car, **LOOK, faults=more, seconds=20, note="Dark")
    assert [defect.description for defect in found] == ["Mirrors: loose", "Horn: rusty"]
    assert (check.seconds, check.note) == (40, "Dark")
    assert set(check.defects.values_list("description", flat=True)) == {"Horn", "Mirrors: loose", "Horn: rusty"}


def test_a_note_stays_if_a_later_group_has_none(car: Car) -> None:
    record_group(by=car.keeper, car=car, **LOOK, note="In the rain")
    check, _ = record_group(by=car.keeper, car=car, **LOOK | {"group": "fluids"})
    assert check.note == "In the rain"


@pytest.mark.parametrize(
    ("seconds", "kept"),
    [((40, None, 20), None), ((None, 40, 20), None), ((0, 1, 2), 3)],
)
def test_how_long_it_took_is_not_known_once_a_part_is_not(
    car: Car, seconds: tuple[int | None, ...], kept: int | None
) -> None:
    for group, took in zip(GROUPS, seconds, strict=False):
        check, _ = record_group(by=car.keeper, car=car, **LOOK | {"group": group}, seconds=took)
    assert check.seconds == kept


def test_of_a_check_of_another_day_nobody_knows_how_long_it_took(car: Car) -> None:
    check, _ = record_group(by=car.keeper, car=car, **LOOK | {"checked_on": date(2026, 3, 14)}, seconds=40)
    assert (check.checked_on, check.seconds) == (date(2026, 3, 14), None)


def test_the_day_of_a_check_that_was_begun_stays(car: Car) -> None:
    record_group(by=car.keeper, car=car, **LOOK | {"checked_on": date(2026, 3, 14)})
    check, _ = record_group(by=car.keeper, car=car, **LOOK | {"group": "fluids"})
    assert check.checked_on == date(2026, 3, 14)


def test_a_retired_point_is_still_one_of_the_days_before(car: Car) -> None:
    own = CheckPointFactory(group="inside", retired_on=date(2026, 3, 12))
    check, _ = record_group(by=car.keeper, car=car, **LOOK | {"checked_on": date(2026, 3, 11)})
    assert own.name in check.points
    check, _ = record_group(by=car.keeper, car=car, **LOOK | {"ref": "check-2", "checked_on": date(2026, 3, 12)})
    assert own.name not in check.points


def test_a_point_dropped_while_one_walks_stays_looked_at(car: Car) -> None:
    own = CheckPointFactory(group="inside")
    record_group(by=car.keeper, car=car, **LOOK)
    own.retired_on = TODAY
    own.save()
    check, _ = record_group(by=car.keeper, car=car, **LOOK | {"group": "outside"})
    assert check.points == [*names_of(car, "outside", "inside"), own.name]


def test_a_reference_sent_before_gives_back_the_first_whatever_else_is_said(car: Car, colleague_car: Car) -> None:
    first, _ = record_group(by=car.keeper, car=car, **LOOK)
    again = record_group(by=car.keeper, car=colleague_car, **LOOK | {"group": "outside"})
    assert again == (first, [])
    assert WalkaroundCheck.objects.get().points == names_of(car, "inside")


def test_a_voided_check_takes_no_more_groups(car: Car) -> None:
    WalkaroundCheckFactory(car=car, ref="check-1", is_whole=False, voided_at=timezone.now())
    with pytest.raises(ValidationError) as refusal:
        record_group(by=car.keeper, car=car, **LOOK)
    assert refusal.value.messages == ["This check was voided: begin a new one."]


def test_one_mail_tells_of_all_that_a_group_found(car: Car, coordinator: Member) -> None:
    grave = [PointFault("horn", "before_next_lesson"), PointFault("brakes", "dangerous", "soft")]
    record_group(by=car.keeper, car=car, **LOOK, faults=grave)
    told = ReminderMail.objects.filter(kind=MailKind.DEFECT).order_by("recipient__email")
    assert [mail.recipient.email for mail in told] == ["coordinator@book.example"]
    record_group(by=car.keeper, car=car, **LOOK | {"group": "fluids"}, faults=[PointFault("coolant", "dangerous")])
    assert told.all().count() == 2


def test_with_too_many_open_defects_a_group_that_finds_more_is_not_written(car: Car) -> None:
    DefectFactory.create_batch(budgets.OPEN_DEFECTS - 1, car=car)
    faults = [PointFault("horn", "watch"), PointFault("mirrors", "watch")]
    with pytest.raises(ValidationError, match="This car has 100 open defects in the book"):
        record_group(by=car.keeper, car=car, **LOOK, faults=faults)
    assert not WalkaroundCheck.objects.exists()
    assert Defect.objects.count() == budgets.OPEN_DEFECTS - 1
    record_group(by=car.keeper, car=car, **LOOK, faults=faults[:1])
