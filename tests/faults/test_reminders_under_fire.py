"""The reminders when processes are killed, run twice at once, or meet a mail server that says no.

Every process here is a real one, on the test's own database and mail server; nothing is stood in for.
"""

import json
import re
from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any, Literal

import pytest
from django.utils import timezone

from fleet.models import Car, MailState, Notice, ReminderMail, ReminderRun
from fleet.reminders import plan_reminders, run_reminders
from fleet.tasks import remind_today
from instructors.models import Cooperative, Member
from tests.factories import CarFactory, CoordinatorFactory, PulseFactory, put_in_order
from tests.fleet.reminding import due_item
from tests.mailserver import MailServer
from tests.processes import BookProcess
from tests.servers import wait_until

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("in_order")]
Start = Callable[..., BookProcess]

#: Claims the mail as a delivery does, says so, and then never gets to sending it.
CLAIM_AND_HANG = """
import django
django.setup()
from fleet.models import ReminderMail
from fleet.reminders import outbox
mail = ReminderMail.objects.get()
assert outbox.claim(mail.pk, mail.day, at_once=False)
print("claimed", mail.pk, flush=True)
import time
time.sleep(600)
"""

#: Sends the mail and is gone before the row can say so.
SEND_AND_DIE = """
import os
import signal
import django
django.setup()
from datetime import date
from fleet.models import ReminderMail
from fleet.reminders import deliver_mail, outbox
outbox.mark_sent = lambda mail: os.kill(os.getpid(), signal.SIGKILL)
mail = ReminderMail.objects.get()
deliver_mail(mail.pk, mail.day)
"""

#: As the web process does when it is asked whether the book is well, whatever the hour.
SOUND_ALARM = """
import django
django.setup()
from django.utils import timezone
from fleet.reminders import sound_alarm
sound_alarm(timezone.localtime().replace(hour=12))
"""


def answer_of(process: BookProcess) -> dict[str, Any]:
    assert process.wait() == 0, process.output()
    answer: dict[str, Any] = json.loads(process.output())
    return answer


def test_a_process_killed_between_claim_and_send_loses_no_mail(
    car: Car, keeper: Member, smtp_server: MailServer, book_process: Start
) -> None:
    due_item(car=car, due_on=date(2026, 3, 23))
    plan_reminders(date(2026, 3, 16))
    with book_process("-c", CLAIM_AND_HANG) as claimer:
        claimer.wait_for_output("claimed")
        answer = answer_of(book_process("manage.py", "send_reminders", "--on", "2026-03-16", "--json"))
        assert (answer["told"], smtp_server.messages) == ([], [])  # its claim is respected while it runs
        claimer.kill()
        answer = answer_of(book_process("manage.py", "send_reminders", "--on", "2026-03-16", "--json"))
    assert [(told["recipient"], told["step"]) for told in answer["told"]] == [(keeper.email, 7)]
    assert len(smtp_server.messages) == 1
    mail = ReminderMail.objects.get()
    assert (mail.state, mail.attempt_count) == (MailState.SENT, 2)


def test_a_crash_after_the_servers_yes_repeats_the_same_message(
    car: Car, keeper: Member, smtp_server: MailServer, book_process: Start
) -> None:
    due_item(car=car, due_on=date(2026, 3, 23))
    plan_reminders(date(2026, 3, 16))
    assert book_process("-c", SEND_AND_DIE).wait() == -9
    assert ReminderMail.objects.get().state == MailState.SENDING
    answer_of(book_process("manage.py", "send_reminders", "--on", "2026-03-16", "--json"))
    first, second = smtp_server.messages
    assert first["Message-ID"] == second["Message-ID"]
    assert ReminderMail.objects.get().state == MailState.SENT


@pytest.mark.parametrize(("dies", "copies"), [("before", 1), ("after", 2)])
def test_a_server_that_dies_before_its_yes_gets_the_message_again(
    dies: Literal["before", "after"],
    copies: int,
    car: Car,
    keeper: Member,
    smtp_server: MailServer,
    book_process: Start,
) -> None:
    """Nobody can know whether it had taken it: two copies are one message by their Message-ID."""
    due_item(car=car, due_on=date(2026, 3, 23))
    smtp_server.dying = dies
    send = ("manage.py", "send_reminders", "--on", "2026-03-16", "--json")
    first = book_process(*send)
    assert first.wait() == 0, first.output()
    assert f"Not sent, it stays in the queue: {keeper.email}" in first.output()
    smtp_server.dying = ""
    for told in (1, 0):
        assert len(answer_of(book_process(*send))["told"]) == told
    assert len(smtp_server.messages) == copies
    assert len({message["Message-ID"] for message in smtp_server.messages}) == 1
    assert ReminderMail.objects.get().state == MailState.SENT


def test_two_runs_at_once_tell_everybody_everything_once(smtp_server: MailServer, book_process: Start) -> None:
    coordinators = CoordinatorFactory.create_batch(2)
    for car in CarFactory.create_batch(6):
        due_item(car=car, due_on=date(2026, 3, 15))
        due_item(car=car, kind="insurance", due_on=date(2026, 3, 17))
        put_in_order(car)
    # The first MOT of this one is due by rule: all runs want to make its row, and to write down since when its tax and
    # insurance are not known.
    CarFactory.create(first_registered=date(2023, 3, 20))
    running = [book_process("manage.py", "send_reminders", "--on", "2026-03-16", "--json") for _ in range(3)]
    answers = [answer_of(process) for process in running]
    told = Counter(
        (one["recipient"], one["subject_of"], one["kind"], one["step"]) for answer in answers for one in answer["told"]
    )
    assert set(told.values()) == {1}
    assert len(told) == 15 + 15 * len(coordinators)
    assert sum(answer["failed"] for answer in answers) == 0
    recipients = Counter(message["To"] for message in smtp_server.messages)
    assert set(recipients.values()) == {1}
    assert len(recipients) == 7 + len(coordinators)
    assert len({message["Message-ID"] for message in smtp_server.messages}) == len(recipients)
    assert Notice.objects.count() == len(told)


def test_after_five_dead_nights_everybody_gets_one_mail(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    due_item(car=car, due_on=date(2026, 4, 1))
    run_reminders(date(2026, 3, 16))
    smtp_server.clear()
    # Nothing ran from 17 to 24 March: the step of a fortnight passed, that of a week is reached.
    due_item(car=car, kind="insurance", due_on=date(2026, 3, 21))
    result = run_reminders(date(2026, 3, 25))
    assert [(told.kind, told.step) for told in result.told] == [("insurance", -4), ("mot", 7)]
    assert len(smtp_server.messages) == 1
    assert run_reminders(date(2026, 3, 25)).told == []


def test_five_nights_of_a_refusing_server_end_in_one_mail(
    car: Car, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    due_item(car=car, due_on=date(2026, 3, 16))
    due_item(car=car, kind="service", due_on=date(2026, 3, 20))
    smtp_server.refusing = True
    nights = [date(2026, 3, 16) + timedelta(days=night) for night in range(5)]
    assert [len(run_reminders(night).failures) for night in nights] == [2] * 5
    smtp_server.refusing = False
    result = run_reminders(date(2026, 3, 21))
    assert Counter(message["To"] for message in smtp_server.messages) == {
        keeper.email: 1,
        coordinator.email: 1,
    }
    told = [(told.recipient, told.kind, told.step) for told in result.told]
    assert sorted(told) == [
        (coordinator.email, "mot", -5),
        (coordinator.email, "service", 0),
        (keeper.email, "mot", -5),
        (keeper.email, "service", 0),
    ]
    states = Counter(ReminderMail.objects.values_list("state", flat=True))
    assert states == {MailState.SUPERSEDED: 10, MailState.SENT: 2}


def test_the_alarm_needs_neither_queue_nor_worker(
    car: Car, coordinator: Member, smtp_server: MailServer, book_process: Start
) -> None:
    PulseFactory()  # the schedule was kept here once
    car.history.update(history_date=timezone.now() - timedelta(days=2))
    process = book_process("-c", SOUND_ALARM, REDIS_URL="redis+socket:///tmp/no-such-redis.sock")
    assert process.wait() == 0, process.output()
    assert [message["To"] for message in smtp_server.messages] == [coordinator.email]


def test_a_real_worker_does_the_day(
    car: Car,
    keeper: Member,
    coordinator: Member,
    smtp_server: MailServer,
    celery_worker_process: Start,
) -> None:
    Cooperative.objects.create(reminder_hour=12)
    due_item(car=car, due_on=timezone.localdate() - timedelta(days=1))
    worker = celery_worker_process(app="tests.faults.at_noon")
    for _ in range(3):
        remind_today.delay()
    done = re.compile(r"Task fleet\.tasks\.(remind_today|send_mail)\[.*succeeded")
    wait_until(lambda: len(done.findall(worker.output())) == 3 + 2, "the tasks")
    assert Counter(message["To"] for message in smtp_server.messages) == {
        keeper.email: 1,
        coordinator.email: 1,
    }
    assert ReminderRun.objects.get().finished_at is not None
    assert set(ReminderMail.objects.values_list("state", flat=True)) == {MailState.SENT}
