"""Processes that write the same rows at the same moment: real ones, let go together."""

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest

from costing.actions import make_all_due
from costing.models import CostEntry
from fleet.models import Car, CheckPoint, Completion, MailState, Notice, OdometerReading, ReminderMail
from fleet.reminders import plan_reminders
from instructors.models import Member
from tests.factories import CarFactory, CoordinatorFactory, DueItemFactory, RepeatFactory
from tests.processes import BookProcess

pytestmark = pytest.mark.django_db(transaction=True)

PREAMBLE = """
import os, sys, time
import django
django.setup()
from datetime import date, timedelta
from django.core.exceptions import ValidationError
from django.db import connection
from fleet.actions import complete_due_item, record_reading
from fleet.models import Car, DueItem, ReminderMail
from fleet.reminders import outbox
from instructors.models import Member

me, start = int(sys.argv[1]), sys.argv[2]
connection.ensure_connection()
print("ready", flush=True)
while not os.path.exists(start):
    time.sleep(0.001)
"""

CLAIM_EVERY_MAIL = """
for mail_id, day in ReminderMail.objects.order_by("pk").values_list("pk", "day"):
    if outbox.claim(mail_id, day, at_once=False):
        print("claimed", mail_id, flush=True)
"""

READ_THE_ODOMETER = """
# Of the first day 100 miles more than of the second: one of the two must be refused.
keeper = Member.objects.get()
for car in Car.objects.all():
    try:
        record_reading(by=keeper, car=car, read_on=date(2026, 3, 1 + me), miles=48_100 - 100 * me)
    except ValidationError:
        print("refused", car.pk, flush=True)
"""

MEET_THE_ITEM = """
for item in DueItem.objects.select_related("car"):
    complete_due_item(by=item.car.keeper, item=item, done_on=date(2026, 3, 10), odometer=48_000)
"""

ADD_A_POINT = """
from uuid import UUID
from fleet.actions import add_check_point
for number in range(40):
    add_check_point(by=Member.objects.get(), ref=str(UUID(int=number)), group="tuition", words=f"Roof sign {number}")
"""

MAKE_WHAT_REPEATS = """
from costing.actions import make_all_due
print("made", make_all_due(date(2026, 3, 16)), flush=True)
"""

MAKE_ONE_BY_ONE = """
from costing.actions import repeats
meet, count = repeats.meet, 0

def counted(*arguments, **named):
    global count
    count += 1
    print("made", count, flush=True)
    return meet(*arguments, **named)

repeats.meet = counted
repeats.make_all_due(date(2026, 3, 16))
"""

AtOnce = Callable[[str], list[str]]


@pytest.fixture
def at_once(book_process: Callable[..., BookProcess], tmp_path: Path) -> AtOnce:
    """A function that runs a script in two processes, let go together, and gives the lines they printed."""

    def run(script: str) -> list[str]:
        start = tmp_path / "start"
        processes = [book_process("-c", PREAMBLE + script, str(number), str(start)) for number in range(2)]
        for process in processes:
            process.wait_for_output("ready")
        start.touch()
        assert [process.wait() for process in processes] == [0, 0], [one.output() for one in processes]
        return [line for one in processes for line in one.output().splitlines() if line != "ready"]

    return run


def test_a_mail_is_claimed_by_one_process_alone(car: Car, at_once: AtOnce) -> None:
    DueItemFactory.create(car=car, due_on=date(2026, 3, 23))
    for night in range(60):
        ReminderMail.objects.create(recipient=car.keeper, day=date(2026, 3, 16) + timedelta(days=night))
    claimed = at_once(CLAIM_EVERY_MAIL)
    assert len(claimed) == len(set(claimed)) == 60
    assert set(ReminderMail.objects.values_list("state", "attempt_count")) == {(MailState.SENDING, 1)}


def test_an_odometer_does_not_fall_between_two_hands(keeper: Member, at_once: AtOnce) -> None:
    cars = CarFactory.create_batch(25, keeper=keeper)
    refused = at_once(READ_THE_ODOMETER)
    assert len(refused) == len(set(refused)) == len(cars)
    assert OdometerReading.objects.count() == len(cars)


def test_an_item_met_twice_at_once_moves_on_once(car: Car, keeper: Member, at_once: AtOnce) -> None:
    items = [
        DueItemFactory.create(car=one, due_on=date(2026, 4, 3), kind=kind)
        for one in [car, *CarFactory.create_batch(9, keeper=keeper)]
        for kind in ("mot", "dual_controls")
    ]
    at_once(MEET_THE_ITEM)
    assert Completion.objects.count() == len(items)
    for item in items:
        item.refresh_from_db()
    assert {(item.kind, item.due_on) for item in items} == {
        ("mot", date(2027, 4, 3)),
        ("dual_controls", date(2027, 3, 10)),
    }


def test_a_point_of_the_check_sent_twice_at_once_is_added_once(at_once: AtOnce) -> None:
    CoordinatorFactory.create()
    at_once(ADD_A_POINT)
    assert CheckPoint.objects.count() == len(set(CheckPoint.objects.values_list("words", flat=True))) == 40
    assert CheckPoint.history.count() == 40


def test_two_plans_at_once_make_one(keeper: Member, at_once: AtOnce) -> None:
    for one in CarFactory.create_batch(20):
        DueItemFactory.create(car=one, due_on=date(2026, 3, 23))
    at_once("from fleet.reminders import plan_reminders\nplan_reminders(date(2026, 3, 16))\n")
    plan = plan_reminders(date(2026, 3, 16))
    assert (plan.new_count, len(plan.mail_ids)) == (0, 20)
    assert ReminderMail.objects.filter(notices__isnull=False).distinct().count() == 20


def test_the_word_about_logging_is_said_once_by_two_plans_at_once(at_once: AtOnce) -> None:
    CarFactory.create_batch(20)
    Member.objects.update(wants_log_mail=True)
    at_once("from fleet.reminders import plan_reminders\nplan_reminders(date(2026, 3, 16))\n")
    said = Notice.objects.filter(kind="log").values_list("recipient", flat=True)
    assert len(said) == len(set(said)) == 20


def test_what_repeats_is_made_once_by_two_at_once(keeper: Member, at_once: AtOnce) -> None:
    for one in CarFactory.create_batch(10, keeper=keeper):
        RepeatFactory.create(car=one, covers_its_days=True)
    made = at_once(MAKE_WHAT_REPEATS)
    assert sum(int(line.split()[1]) for line in made) == CostEntry.objects.count() == 20
    assert len(set(CostEntry.objects.values_list("repeat", "paid_on"))) == 20
    assert CostEntry.history.count() == 20


def test_a_process_killed_while_it_makes_them_leaves_each_made_once(
    keeper: Member, book_process: Callable[..., BookProcess]
) -> None:
    RepeatFactory.create_batch(5, car=CarFactory.create(keeper=keeper), starts_on=date(2025, 3, 20), interval="week")
    for number in range(3):
        process = book_process("-c", PREAMBLE + MAKE_ONE_BY_ONE, "0", "/")
        process.wait_for_output(f"made {7 * (number + 1)}\n")
        process.kill()
    make_all_due(date(2026, 3, 16))
    assert make_all_due(date(2026, 3, 16)) == 0
    assert CostEntry.objects.count() == len(set(CostEntry.objects.values_list("repeat", "paid_on"))) == 5 * 52
