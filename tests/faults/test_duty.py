"""Whether members are being told, asked while processes die and mail is refused; every process is a real one."""

import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.db.models import F
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config.outbox import MailState
from fleet.models import Car, DutyTurn, Pulse
from fleet.reminders import note_turn, post_turns
from fleet.tasks import watch
from instructors.models import ActMail
from tests.factories import ActMailFactory, DutyTurnFactory, ReminderRunFactory
from tests.hookserver import HookServer
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


def test_the_embedded_server_keeps_its_schedule(car: Car, book_process: Start) -> None:
    ReminderRunFactory(finished_at=timezone.now())
    with book_process("manage.py", "serve", "127.0.0.1:0", REDIS_URL="") as server:
        server.wait_for_output("The book is served at ")
        wait_until(Pulse.objects.filter(name="schedule").exists, "the pulse of the loop")
        visitor = Visitor(int(server.output().partition("localhost:")[2].partition("/")[0]))
        for path in (DUTY, LIVE, READY):
            # On a busy machine a look at the database may take longer than it is waited for.
            wait_until(lambda path=path: visitor.get(path).status == 200, path)


def test_two_workers_tell_the_web_hook_of_each_turn_once(
    hook_server: HookServer, celery_worker_process: Start, book_process: Start
) -> None:
    """Every mail is refused, and then one is taken."""
    for _ in range(2):
        celery_worker_process(ALARM_URL=hook_server.url)
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
    hook_server.wait_for(2)
    time.sleep(1)
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
