"""Whether members are being told, asked while processes die and mail is refused; every process is a real one."""

import re
import signal
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.db.models import F
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config.outbox import MailState
from fleet.actions import queue_mail
from fleet.models import Car, DutyTurn, MailKind, Pulse, PulseName, ReminderMail
from fleet.reminders import note_turn, post_turns
from fleet.tasks import watch
from instructors.models import ActMail, Member
from tests.factories import ActFactory, ActMailFactory, DefectFactory, DutyTurnFactory, ReminderRunFactory
from tests.hookserver import HookServer
from tests.mailserver import MailServer
from tests.processes import BookProcess
from tests.servers import wait_until
from tests.visitor import Visitor

pytestmark = pytest.mark.django_db(transaction=True)
Start = Callable[..., BookProcess]
DUTY, LIVE, READY = reverse("fleet:health"), reverse("fleet:health-live"), reverse("fleet:health-ready")

#: Claims the turn as a process does that is about to post it, says so, and never gets there.
CLAIM_AND_HANG = """
import django
django.setup()
from config import outbox
from fleet.models import DutyTurn
assert outbox.claim(DutyTurn.objects.all(), DutyTurn.objects.get().pk)
print("claimed", flush=True)
import time
time.sleep(600)
"""


#: Claims a mail as a worker does that is about to send it, says so, and goes no further.
CLAIM_A_MAIL_AND_HANG = """
import django
django.setup()
from django.utils import timezone
from fleet.models import ReminderMail
from fleet.reminders import outbox
assert outbox.claim(ReminderMail.objects.get().pk, timezone.localdate(), at_once=False)
print("claimed", flush=True)
import time
time.sleep(600)
"""


@pytest.fixture
def beat(book_process: Start, tmp_path: Path, redis_url: str) -> Callable[[], BookProcess]:
    def start() -> BookProcess:
        schedule = f"--schedule={tmp_path / 'beat'}"
        return book_process("-m", "celery", "-A", "config", "beat", "--loglevel=INFO", schedule, "--pidfile=")

    return start


def age_all(minutes: int) -> None:
    """Let so much time pass for the pulses."""
    Pulse.objects.update(at=F("at") - timedelta(minutes=minutes), since=F("since") - timedelta(minutes=minutes))


def test_a_dead_beat_turns_duty_red_and_a_new_one_green_but_live_and_ready_stay(
    car: Car, client: Client, beat: Callable[[], BookProcess]
) -> None:
    ReminderRunFactory(finished_at=timezone.now())
    first = beat()
    wait_until(Pulse.objects.exists, "the pulse of beat")
    assert client.get(DUTY).status_code == 200
    first.kill()
    age_all(11)
    answer = client.get(DUTY)
    assert answer.status_code == 503
    assert [part["name"] for part in answer.json()["parts"] if not part["ok"]] == ["schedule"]
    assert (client.get(LIVE).status_code, client.get(READY).status_code) == (200, 200)
    beat()
    wait_until(lambda: client.get(DUTY).status_code == 200, "the pulse of the next beat")


def test_a_dead_worker_is_told_from_a_dead_beat(
    car: Car, client: Client, celery_worker_process: Start, beat: Callable[[], BookProcess]
) -> None:
    ReminderRunFactory(finished_at=timezone.now())
    worker = celery_worker_process()
    watch.delay()
    wait_until(Pulse.objects.filter(name="worker").exists, "the pulse of the worker")
    worker.kill()
    beat()
    wait_until(Pulse.objects.filter(name="schedule").exists, "the pulse of beat")
    age_all(21)
    Pulse.objects.filter(name="schedule").update(at=timezone.now())
    answer = client.get(DUTY).json()
    assert [part["name"] for part in answer["parts"] if not part["ok"]] == ["worker"]


def test_a_worker_that_is_frozen_while_a_dangerous_defect_is_reported_turns_duty_red_until_it_goes_on(
    car: Car, client: Client, keeper: Member, smtp_server: MailServer, celery_worker_process: Start
) -> None:
    """Its pulse is of just now, and so is that of the schedule: only the untried mail shows it."""
    now = timezone.now()
    ReminderRunFactory(finished_at=now)
    for name in PulseName:
        Pulse.objects.create(name=name, first_at=now - timedelta(days=9), since=now - timedelta(days=9), at=now)
    worker = celery_worker_process()
    worker.process.send_signal(signal.SIGSTOP)
    DefectFactory(car=car, severity="dangerous")
    queue_mail(to=keeper, kind=MailKind.DEFECT, about=f"car-{car.pk}")
    assert client.get(DUTY).status_code == 200
    ReminderMail.objects.update(created_at=now - timedelta(minutes=4))
    answer = client.get(DUTY).json()
    assert [part["name"] for part in answer["parts"] if not part["ok"]] == ["news of defects"]
    worker.process.send_signal(signal.SIGCONT)
    [mail] = smtp_server.wait_for(1)
    assert mail["To"] == keeper.email
    wait_until(lambda: client.get(DUTY).status_code == 200, "the mail to count as tried")


def test_a_worker_that_is_frozen_after_it_claimed_such_a_mail_turns_duty_red_too(
    client: Client, keeper: Member, book_process: Start
) -> None:
    now = timezone.now()
    for name in PulseName:
        Pulse.objects.create(name=name, first_at=now - timedelta(days=9), since=now - timedelta(days=9), at=now)
    queue_mail(to=keeper, kind=MailKind.DEFECT, about="car-1")
    with book_process("-c", CLAIM_A_MAIL_AND_HANG) as claimer:
        claimer.wait_for_output("claimed")
        claimer.process.send_signal(signal.SIGSTOP)
        assert client.get(DUTY).status_code == 200
        ReminderMail.objects.update(created_at=now - timedelta(minutes=4))
        answer = client.get(DUTY).json()
        assert [part["name"] for part in answer["parts"] if not part["ok"]] == ["news of defects"]


def test_two_addresses_that_nobody_has_any_more_do_not_turn_duty_red_but_coordinators_see_them(
    client: Client,
    everyone: dict[str, Client],
    keeper: Member,
    colleague: Member,
    smtp_server: MailServer,
    celery_worker_process: Start,
) -> None:
    smtp_server.nobody_at = {keeper.email, colleague.email}
    for member in (keeper, colleague):
        ActFactory(concerns=member, mail__created_at=timezone.now(), mail__next_attempt_at=timezone.now())
    celery_worker_process()
    wait_until(lambda: not ActMail.objects.filter(last_error="").exists(), "both to be refused")
    ActMail.objects.update(created_at=timezone.now() - timedelta(days=2))
    answer = client.get(DUTY)
    assert answer.status_code == 200, answer.json()
    page = everyone["coordinator"].get(reverse("fleet:reminder-log")).content.decode()
    assert page.count("550 5.1.1 Nobody here has this address") == 2


def test_the_embedded_server_keeps_its_schedule(car: Car, book_process: Start) -> None:
    ReminderRunFactory(finished_at=timezone.now())
    with book_process("manage.py", "serve", "127.0.0.1:0", REDIS_URL="") as server:
        visitor = Visitor(server.port())
        wait_until(Pulse.objects.filter(name="schedule").exists, "the pulse of the loop")
        for path in (DUTY, LIVE, READY):
            # On a busy machine a look at the database may take longer than it is waited for.
            wait_until(lambda path=path: visitor.get(path).status == 200, path)


def test_two_workers_tell_the_web_hook_of_each_turn_once(
    hook_server: HookServer, celery_worker_process: Start, book_process: Start
) -> None:
    """Every mail is refused, and then one is taken."""
    workers = [celery_worker_process(ALARM_URL=hook_server.url) for _ in range(2)]
    now = timezone.now()
    Pulse.objects.create(name="schedule", first_at=now - timedelta(days=9), since=now, at=now)
    refused = {"created_at": now, "next_attempt_at": now + timedelta(minutes=5), "last_error": "451 Not now"}
    ActMailFactory.create_batch(2, attempt_count=1, **refused)
    for _ in range(6):
        watch.delay()
    [red] = hook_server.wait_for(1)
    assert "The mail server takes none of the book's e-mails." in red["text"]
    ActMail.objects.update(state=MailState.SENT, last_error="", sent_at=timezone.now())
    for _ in range(6):
        watch.delay()
    done = re.compile(r"Task fleet\.tasks\.watch\[.*succeeded")
    wait_until(lambda: sum(len(done.findall(worker.output())) for worker in workers) == 12, "all to be done")
    assert [one["duty"] for one in hook_server.taken] == ["red", "green"]
    assert len({one["id"] for one in hook_server.taken}) == 2


def test_a_process_killed_between_claim_and_post_loses_no_turn(
    hook_server: HookServer, book_process: Start, settings
) -> None:
    settings.ALARM_URL = hook_server.url
    DutyTurnFactory()
    with book_process("-c", CLAIM_AND_HANG) as claimer:
        claimer.wait_for_output("claimed")
        post_turns()
        assert hook_server.taken == []  # its claim is respected while it runs
        claimer.kill()
    post_turns()
    post_turns()
    assert [one["duty"] for one in hook_server.taken] == ["red"]
    note_turn([], timezone.now())
    assert DutyTurn.objects.count() == 2
