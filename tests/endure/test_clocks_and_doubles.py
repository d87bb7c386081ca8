"""A clock that is wrong for a while, and everything of the schedule running twice; every process is a real one."""

from collections import Counter
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from django.utils import timezone

from costing.models import CostEntry
from fleet.models import Car, MailState, Notice, ReminderMail, ReminderRun
from instructors.models import Cooperative, Member
from tests.factories import ActFactory, ActMailFactory, RepeatFactory
from tests.faults.test_fourteen_months import Beat
from tests.fleet.reminding import due_item
from tests.mailserver import MailServer
from tests.processes import BookProcess
from tests.servers import Redis, wait_until

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("in_order")]
Start = Callable[..., BookProcess]
NOON = datetime(2026, 3, 16, 12, tzinfo=UTC)


def test_a_clock_forty_days_ahead_for_an_hour_keeps_nothing_back_and_repeats_nothing(
    car: Car, keeper: Member, smtp_server: MailServer, redis_server: Redis, celery_worker_process: Start
) -> None:
    due_item(car=car, due_on=date(2026, 3, 23))
    with redis_server.client() as board:
        beat = Beat(board, celery_worker_process(app="tests.faults.travelling"))
        beat.tick(NOON)
        assert len(smtp_server.messages) == 1
        smtp_server.refusing = True
        waiting = ActMailFactory(recipient=keeper, created_at=NOON, next_attempt_at=NOON)
        ActFactory(concerns=keeper, mail=waiting)
        beat.tick(NOON + timedelta(days=40))
        assert smtp_server.refused_count >= 1
        smtp_server.refusing = False
        for hours in (1, 2):
            beat.tick(NOON + timedelta(hours=hours))
        waiting.refresh_from_db()
        assert waiting.state == MailState.SENT
        # The step of the day before is still to come, and is told on its day.
        beat.tick(NOON + timedelta(days=6))
    told = Notice.objects.filter(recipient=keeper, mail__state=MailState.SENT, kind="mot")
    assert sorted(told.values_list("step", flat=True)) == [1, 7]
    messages = Counter(message["Message-ID"] for message in smtp_server.messages)
    assert set(messages.values()) == {1}


def test_two_beats_and_two_workers_do_everything_once(
    car: Car,
    keeper: Member,
    coordinator: Member,
    smtp_server: MailServer,
    redis_url: str,
    celery_worker_process: Start,
    book_process: Start,
    tmp_path: Path,
) -> None:
    Cooperative.objects.create(reminder_hour=12)
    today = timezone.localdate()
    due_item(car=car, due_on=today - timedelta(days=1))
    RepeatFactory.create_batch(3, car=car, starts_on=today - timedelta(days=70), interval="week")
    for _ in range(2):
        celery_worker_process(app="tests.faults.at_noon")
    beats = [
        book_process(
            *("-m", "celery", "-A", "tests.faults.at_noon", "beat", "--loglevel=INFO", "--pidfile="),
            f"--schedule={tmp_path / f'beat-{number}'}",
            SECONDS_BEFORE_NOON="5",
        )
        for number in range(2)
    ]
    for beat in beats:
        beat.wait_for_output("Sending due task remind")
    smtp_server.wait_for(2)
    wait_until(lambda: ReminderRun.objects.filter(finished_at__isnull=False).exists(), "the run")
    script = "import django; django.setup(); from costing.tasks import make_what_repeats; make_what_repeats()"
    twice = [book_process("-c", script) for _ in range(2)]
    assert [process.wait() for process in twice] == [0, 0]
    assert Counter(message["To"] for message in smtp_server.messages) == {keeper.email: 1, coordinator.email: 1}
    assert set(ReminderMail.objects.values_list("state", flat=True)) == {MailState.SENT}
    assert CostEntry.objects.count() == len(set(CostEntry.objects.values_list("repeat", "paid_on"))) > 20
