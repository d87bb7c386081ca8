"""What was told is deleted late enough that nothing is told again, and not before nobody asks for it."""

import random
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from fleet.actions import queue_backup_alarm
from fleet.actions.acts import BACKUP, DRILL
from fleet.actions.retention import OF_CARS
from fleet.core.defects import Severity
from fleet.models import (
    CalendarFeed,
    Car,
    Defect,
    DefectState,
    DueItem,
    DutyTurn,
    MailState,
    Notice,
    ReminderMail,
    ReminderRun,
)
from fleet.reminders import plan_reminders
from instructors.models import Member
from tests.factories import (
    CalendarFeedFactory,
    DefectFactory,
    DueItemFactory,
    DutyTurnFactory,
    NoticeFactory,
    OdometerReadingFactory,
    PhotoFactory,
    ReminderMailFactory,
    ReminderRunFactory,
)
from tests.fleet.reminding import TODAY, in_days

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
KEYS = ("car_id", "member_id", "kind", "occurrence", "step", "recipient_id")


def clean(on: date) -> None:
    for row in OF_CARS:
        if row.clean:
            row.clean(datetime.combine(on, time(4, 45), tzinfo=UTC))


def told(car: Car, days_ago: int, **values: Any) -> Notice:
    """A notice of a mail that went so many days ago, if it is of its car's keeper."""
    mail = ReminderMailFactory.create(recipient=car.keeper, day=in_days(-days_ago), state=MailState.SENT)
    return NoticeFactory.create(car=car, mail=mail, **values)


def left() -> set[Notice]:
    return set(Notice.objects.all())


def test_what_was_told_of_a_day_long_past_goes_with_its_mail(car: Car) -> None:
    told(car, 401, occurrence="2025-02-08", step=0)
    stays = told(car, 400, occurrence="2025-02-09", step=0)
    clean(TODAY)
    assert left() == {stays}
    assert set(ReminderMail.objects.all()) == {stays.mail}


def test_all_steps_of_an_occurrence_stay_until_the_last_of_them_is_old(car: Car) -> None:
    steps = {told(car, 500, occurrence="2024-11-01", step=30), told(car, 399, occurrence="2024-11-01", step=-71)}
    clean(TODAY)
    assert left() == steps
    clean(in_days(2))
    assert not left()


def test_what_is_still_open_stays_however_long_ago_it_was_told(car: Car) -> None:
    item = DueItemFactory.create(car=car, kind="dual_controls", due_on=date(2024, 11, 1))
    stays = told(car, 500, kind="dual_controls", occurrence="2024-11-01", step=7)
    told(car, 501, kind="dual_controls", occurrence="2023-11-01", step=7)
    clean(TODAY)
    assert left() == {stays}
    item.closed_on = in_days(-450)
    item.save()
    clean(TODAY)
    assert not left()


def test_a_mileage_may_come_again_because_its_day_is_a_forecast(car: Car) -> None:
    DueItemFactory.create(car=car, kind="service", due_on=None, due_miles=90_000)
    stays = told(car, 900, kind="service", occurrence="80000 miles", step=30)
    told(car, 899, kind="tyres", occurrence="80000 miles", step=30)
    clean(TODAY)
    assert left() == {stays}


@pytest.mark.parametrize("about", [BACKUP, DRILL])
def test_that_no_backup_is_made_or_restored_is_told_once_however_long_that_lasts(
    coordinator: Member, about: str
) -> None:
    last = datetime(2024, 1, 1, tzinfo=UTC)
    queue_backup_alarm(to=coordinator, about=about, last_at=last)
    ReminderMail.objects.update(state=MailState.SENT, day=in_days(-500))
    clean(TODAY)
    queue_backup_alarm(to=coordinator, about=about, last_at=last)
    assert Notice.objects.count() == 1
    assert ReminderMail.objects.get().state == MailState.SENT


def test_a_mail_that_has_not_gone_stays(keeper: Member) -> None:
    day = in_days(-500)
    stay = {
        ReminderMailFactory.create(recipient=keeper, day=day, about=state, state=state)
        for state in (MailState.QUEUED, MailState.SENDING)
    }
    for state in (MailState.SENT, MailState.SUPERSEDED):
        ReminderMailFactory.create(recipient=keeper, day=day, about=state, state=state)
    clean(TODAY)
    assert set(ReminderMail.objects.all()) == stay


def test_the_last_run_and_the_last_turn_stay_however_old_they_are() -> None:
    old = datetime(2024, 1, 1, 7, tzinfo=UTC)
    ReminderRunFactory.create(started_at=old, finished_at=old)
    last = ReminderRunFactory.create(started_at=old, finished_at=old + timedelta(minutes=1))
    ReminderRunFactory.create(started_at=old + timedelta(days=1), finished_at=None)
    DutyTurnFactory.create(number=1, turned_at=old, state=MailState.SENT)
    turns = [DutyTurnFactory.create(number=number, turned_at=old, state=MailState.QUEUED) for number in (2, 3)]
    DutyTurn.objects.filter(number=3).update(state=MailState.SENT)
    clean(TODAY)
    assert list(ReminderRun.objects.all()) == [last]
    assert set(DutyTurn.objects.all()) == set(turns)


def test_a_calendar_address_that_works_stays(keeper: Member) -> None:
    old = datetime(2024, 1, 1, tzinfo=UTC)
    works = CalendarFeedFactory.create(member=keeper, created_at=old)
    off = CalendarFeedFactory.create(member=keeper, revoked_at=datetime(2026, 1, 1, tzinfo=UTC))
    CalendarFeedFactory.create(member=keeper, revoked_at=old)
    clean(TODAY)
    assert set(CalendarFeed.objects.all()) == {works, off}


def test_a_photo_that_belongs_to_no_entry_goes(car: Car, files_folder: Any) -> None:
    photo = PhotoFactory.create(car=car, taken_by=car.keeper)
    default_storage.delete(str(photo.image.name))
    kept = default_storage.save(str(photo.image.name), ContentFile(b"kept"))
    stray = default_storage.save("photos/stray.jpg", ContentFile(b"stray"))
    clean(date(2040, 1, 1))
    assert default_storage.exists(kept)
    assert not default_storage.exists(stray)


# --- Years of it ------------------------------------------------------------------------------------------


def nights(chance: random.Random, items: list[DueItem], car: Car) -> Iterator[date]:
    """Every few nights for three years, between which due days and mileages move to and fro and cars are driven."""
    on, miles = TODAY, 50_000
    while on < TODAY + timedelta(days=3 * 365):
        yield on
        on += timedelta(days=chance.choice((1, 1, 2, 7, 20)))
        if chance.random() < 0.3:
            miles += chance.choice((0, 30, 400, 1_500))
            OdometerReadingFactory.create(car=car, read_on=on, miles=miles)
        if chance.random() < 0.2:
            item = chance.choice(items)
            days = (on + timedelta(days=chance.choice((-400, -3, 5, 25, 200))), item.due_on)
            DueItem.objects.filter(pk=item.pk).update(
                due_on=chance.choice(days) if item.due_on else None,
                booked_for=chance.choice((None, on + timedelta(days=3))),
            )


@pytest.mark.parametrize("seed", range(2))
def test_nothing_is_told_twice_over_years_of_cleaning(
    car: Car, colleague_car: Car, coordinator: Member, seed: int
) -> None:
    DueItem.objects.all().delete()
    items = [
        DueItemFactory.create(car=car, kind=kind, due_on=in_days(days), due_miles=miles)
        for kind, days, miles in (("mot", 20, None), ("breakdown_cover", 3, None), ("service", 300, 51_000))
    ]
    items.append(DueItemFactory.create(car=car, kind="tyres", due_on=None, due_miles=52_000))
    items.append(DueItemFactory.create(car=None, member=car.keeper, kind="adi_registration", due_on=in_days(100)))
    defect: Defect = DefectFactory.create(car=car, severity=Severity.DANGEROUS, found_on=TODAY)
    seen: set[tuple[object, ...]] = set()
    is_any_gone = False
    for on in nights(random.Random(seed), items, car):  # noqa: S311 - no secret
        clean(on)
        before = set(Notice.objects.values_list(*KEYS))
        is_any_gone |= bool(seen - before)
        plan_reminders(on)
        new = set(Notice.objects.values_list(*KEYS)) - before
        assert not new & seen, on
        seen |= new
        ReminderMail.objects.filter(day=on).update(state=MailState.SENT)
        if on > in_days(200):
            Defect.objects.filter(pk=defect.pk).update(state=DefectState.CLOSED, closed_on=on)
    assert is_any_gone
    assert len(seen) > 200
