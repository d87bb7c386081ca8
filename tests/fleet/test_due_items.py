"""Adding, correcting, booking and meeting due items."""

from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from fleet.actions import (
    add_due_item,
    book_due_item,
    change_due_item,
    complete_due_item,
    ensure_due_item,
)
from fleet.models import Car, Completion, DueItem, OdometerReading
from fleet.queries import completions_of, completions_of_member, proposed_next_due_on
from instructors.models import Member
from tests.factories import CooperativeFactory, DueItemFactory, OdometerReadingFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
TODAY = date(2026, 3, 16)


def faults(refusal: pytest.ExceptionInfo[ValidationError]) -> set[str]:
    return set(refusal.value.message_dict)


# --- Adding -------------------------------------------------------------------------------------------------


def test_an_item_of_a_car_is_added_and_its_history_says_by_whom(car: Car, coordinator: Member) -> None:
    item = add_due_item(
        by=coordinator, car=car, kind="service", due_on=date(2026, 9, 1), due_miles=58_000, every_months=12
    )
    assert (item.car, item.member, item.due_miles, item.every_months) == (car, None, 58_000, 12)
    assert DueItem.history.get().history_user == coordinator


def test_adding_the_same_again_changes_nothing(car: Car, keeper: Member) -> None:
    first = add_due_item(by=keeper, car=car, kind="mot", due_on=date(2026, 9, 1))
    assert add_due_item(by=keeper, car=car, kind="mot", due_on=date(2026, 9, 1)) == first
    assert first.history.count() == 1


def test_a_second_of_the_same_kind_is_refused(car: Car, keeper: Member) -> None:
    add_due_item(by=keeper, car=car, kind="mot", due_on=date(2026, 9, 1))
    with pytest.raises(ValidationError) as refusal:
        add_due_item(by=keeper, car=car, kind="mot", due_on=date(2026, 9, 2))
    assert faults(refusal) == {"kind"}
    assert DueItem.objects.get().due_on == date(2026, 9, 1)


def test_a_place_kept_for_a_booking_is_filled(car: Car, keeper: Member) -> None:
    place = ensure_due_item(by=keeper, car=car, kind="insurance")
    item = add_due_item(by=keeper, car=car, kind="insurance", due_on=date(2026, 9, 1))
    assert (item.pk, item.due_on) == (place.pk, date(2026, 9, 1))


@pytest.mark.parametrize(
    ("terms", "fields"),
    [
        ({"kind": "mot"}, {"due_on"}),
        ({"kind": "service"}, {"due_on"}),
        ({"kind": "insurance", "due_miles": 50_000}, {"due_on", "due_miles"}),
        ({"kind": "mot", "due_on": TODAY, "every_miles": 10_000}, {"every_miles"}),
        ({"kind": "adi_registration", "due_on": TODAY}, {"kind"}),
        ({"kind": "service", "due_on": TODAY, "every_months": 0}, {"every_months"}),
        ({"kind": "service", "due_on": TODAY, "every_miles": 0}, {"every_miles"}),
        ({"kind": "service", "due_on": TODAY, "note": "x" * 501}, {"note"}),
        ({"kind": "service", "due_miles": -1}, {"due_miles"}),
        ({"kind": "service", "due_miles": 10**7}, {"due_miles"}),
        ({"kind": "service", "due_on": TODAY, "every_miles": 10**20}, {"every_miles"}),
    ],
)
def test_what_cannot_be_is_refused_on_its_field(
    car: Car, keeper: Member, terms: dict[str, Any], fields: set[str]
) -> None:
    with pytest.raises(ValidationError) as refusal:
        add_due_item(by=keeper, car=car, **terms)
    assert faults(refusal) == fields
    assert not DueItem.objects.exists()


def test_a_car_kind_is_refused_for_a_member_and_other_is_not(keeper: Member) -> None:
    with pytest.raises(ValidationError) as refusal:
        add_due_item(by=keeper, member=keeper, kind="mot", due_on=TODAY)
    assert faults(refusal) == {"kind"}
    other = add_due_item(by=keeper, member=keeper, kind="other", due_on=TODAY, note="First-aid course")
    assert (other.member, other.car) == (keeper, None)


def test_an_item_is_of_a_car_or_of_a_member_and_not_of_both(car: Car, keeper: Member) -> None:
    for subjects in ({}, {"car": car, "member": keeper}):
        with pytest.raises(ValueError, match="of a car or of a member"):
            add_due_item(by=keeper, kind="other", due_on=TODAY, **subjects)


# --- Correcting and booking ---------------------------------------------------------------------------------


def test_a_correction_keeps_what_stood_before(car: Car, keeper: Member, coordinator: Member) -> None:
    item = add_due_item(by=keeper, car=car, kind="mot", due_on=date(2026, 9, 1), note="Old")
    change_due_item(by=coordinator, item=item, due_on=date(2026, 10, 1), note="New")
    assert [(past.due_on, past.note, past.history_user) for past in DueItem.history.all()] == [
        (date(2026, 10, 1), "New", coordinator),
        (date(2026, 9, 1), "Old", keeper),
    ]


def test_a_correction_may_not_leave_it_without_a_day(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car)
    with pytest.raises(ValidationError) as refusal:
        change_due_item(by=keeper, item=item, due_on=None)
    assert faults(refusal) == {"due_on"}


def test_a_booking_is_written_down_and_taken_back(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car)
    assert book_due_item(by=keeper, item=item, booked_for=TODAY).booked_for == TODAY
    assert book_due_item(by=keeper, item=item, booked_for=None).booked_for is None
    assert item.history.count() == 3


def test_a_booking_for_a_past_day_is_refused(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car)
    with pytest.raises(ValidationError) as refusal:
        book_due_item(by=keeper, item=item, booked_for=date(2026, 3, 15))
    assert faults(refusal) == {"booked_for"}


def test_only_what_changed_is_written(car: Car, keeper: Member, coordinator: Member) -> None:
    """Two hands on one item: booking it from a stale page does not undo the correction made meanwhile."""
    stale = DueItemFactory.create(car=car, due_on=date(2026, 9, 1))
    change_due_item(by=coordinator, item=stale, due_on=date(2026, 10, 1))
    book_due_item(by=keeper, item=stale, booked_for=date(2026, 3, 20))
    row = DueItem.objects.get()
    assert (row.due_on, row.booked_for) == (date(2026, 10, 1), date(2026, 3, 20))


# --- Meeting ------------------------------------------------------------------------------------------------


def test_an_mot_passed_in_its_window_keeps_the_date_and_leaves_a_completion(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, due_on=date(2026, 4, 3), booked_for=TODAY)
    assert proposed_next_due_on(item, TODAY) == date(2027, 4, 3)
    completion = complete_due_item(by=keeper, item=item, done_on=TODAY, note="Pass, one advisory")
    item.refresh_from_db()
    assert (item.due_on, item.booked_for, item.closed_on) == (date(2027, 4, 3), None, None)
    assert (completion.was_due_on, completion.done_on, completion.recorded_by) == (
        date(2026, 4, 3),
        TODAY,
        keeper,
    )
    assert completions_of(car) == [completion]


def test_an_overdue_mot_runs_from_the_test(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, due_on=date(2026, 3, 10))
    complete_due_item(by=keeper, item=item, done_on=TODAY)
    item.refresh_from_db()
    assert item.due_on == date(2027, 3, 15)


@pytest.mark.parametrize(
    ("nation", "registered"), [("GB", date(2023, 4, 3)), ("NI", date(2022, 4, 3))], ids=["GB", "NI"]
)
def test_a_first_mot_by_rule_has_the_window_too(car: Car, keeper: Member, nation: str, registered: date) -> None:
    CooperativeFactory.create(nation=nation)
    car.first_registered = registered
    car.save()
    item = ensure_due_item(by=keeper, car=car, kind="mot")
    completion = complete_due_item(by=keeper, item=item, done_on=TODAY)
    item.refresh_from_db()
    assert (completion.was_due_on, item.due_on) == (date(2026, 4, 3), date(2027, 4, 3))


def test_a_service_moves_on_by_months_and_miles_and_its_odometer_is_a_reading(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, kind="service", due_on=TODAY, every_months=12, every_miles=10_000)
    complete_due_item(by=keeper, item=item, done_on=TODAY, odometer=48_000)
    item.refresh_from_db()
    assert (item.due_on, item.due_miles) == (date(2027, 3, 16), 58_000)
    assert OdometerReading.objects.get().miles == 48_000


def test_an_odometer_that_would_fall_is_refused_and_nothing_moves(car: Car, keeper: Member) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 1), miles=48_001)
    item = DueItemFactory.create(car=car, kind="service", due_on=TODAY, every_miles=10_000)
    with pytest.raises(ValidationError) as refusal:
        complete_due_item(by=keeper, item=item, done_on=TODAY, odometer=48_000)
    assert faults(refusal) == {"odometer"}
    item.refresh_from_db()
    assert (item.due_on, Completion.objects.count(), OdometerReading.objects.count()) == (TODAY, 0, 1)


def test_a_reading_of_that_day_stands(car: Car, keeper: Member) -> None:
    OdometerReadingFactory.create(car=car, read_on=TODAY, miles=48_010)
    item = DueItemFactory.create(car=car, kind="service", due_on=TODAY, every_miles=10_000)
    complete_due_item(by=keeper, item=item, done_on=TODAY, odometer=48_000)
    assert OdometerReading.objects.get().miles == 48_010


def test_cover_needs_its_next_day_and_a_refusal_undoes_all(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, kind="insurance", due_on=TODAY)
    with pytest.raises(ValidationError) as refusal:
        complete_due_item(by=keeper, item=item, done_on=TODAY, odometer=48_000)
    assert faults(refusal) == {"next_due_on"}
    assert not OdometerReading.objects.exists()
    assert proposed_next_due_on(item, TODAY) is None
    complete_due_item(by=keeper, item=item, done_on=TODAY, next_due_on=date(2027, 3, 16))
    item.refresh_from_db()
    assert item.due_on == date(2027, 3, 16)


def test_a_credential_is_renewed_and_listed_for_its_member(keeper: Member) -> None:
    item = DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 3, 31))
    completion = complete_due_item(by=keeper, item=item, done_on=TODAY, next_due_on=date(2030, 3, 31))
    item.refresh_from_db()
    assert item.due_on == date(2030, 3, 31)
    assert completions_of_member(keeper) == [completion]


def test_what_does_not_come_back_is_closed_and_leaves_room_for_another(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, kind="other", due_on=TODAY, note="Recall: airbag")
    assert proposed_next_due_on(item, TODAY) is None
    complete_due_item(by=keeper, item=item, done_on=TODAY)
    item.refresh_from_db()
    assert (item.closed_on, item.due_on) == (TODAY, TODAY)
    another = add_due_item(by=keeper, car=car, kind="other", due_on=date(2026, 5, 1))
    assert another.pk != item.pk


def test_a_day_yet_to_come_is_refused(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car)
    with pytest.raises(ValidationError) as refusal:
        complete_due_item(by=keeper, item=item, done_on=date(2026, 3, 17))
    assert faults(refusal) == {"done_on"}


@pytest.mark.parametrize(
    "terms",
    [
        {"kind": "mot", "due_on": date(2026, 4, 3)},
        {"kind": "other", "due_on": TODAY},
        {"kind": "service", "due_on": TODAY, "every_months": 6},
    ],
)
def test_recording_it_twice_moves_it_once(car: Car, keeper: Member, terms: dict[str, Any]) -> None:
    item = DueItemFactory.create(car=car, **terms)
    first = complete_due_item(by=keeper, item=item, done_on=TODAY)
    item.refresh_from_db()
    stood = (item.due_on, item.closed_on)
    assert complete_due_item(by=keeper, item=item, done_on=TODAY) == first
    item.refresh_from_db()
    assert ((item.due_on, item.closed_on), Completion.objects.count()) == (stood, 1)


def test_an_earlier_day_than_the_latest_completion_is_refused(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, due_on=date(2026, 4, 3))
    complete_due_item(by=keeper, item=item, done_on=TODAY)
    for done_on, next_due_on in ((date(2026, 3, 1), None), (TODAY, date(2027, 5, 1))):
        with pytest.raises(ValidationError) as refusal:
            complete_due_item(by=keeper, item=item, done_on=done_on, next_due_on=next_due_on)
        assert faults(refusal) == {"done_on"}


def test_a_closed_item_takes_no_more(car: Car, keeper: Member) -> None:
    item = DueItemFactory.create(car=car, closed_on=date(2026, 3, 1))
    for act in (
        lambda: complete_due_item(by=keeper, item=item, done_on=TODAY),
        lambda: book_due_item(by=keeper, item=item, booked_for=TODAY),
        lambda: change_due_item(by=keeper, item=item, due_on=TODAY),
    ):
        with pytest.raises(ValidationError, match="done on 1 March 2026 and does not come back"):
            act()
