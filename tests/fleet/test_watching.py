"""The turns of duty, told to a web hook once each; and the alarm that no backup is made."""

import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.urls import reverse

from config import disk
from config.health import Answer
from config.outbox import MailState
from fleet.models import Car, DutyTurn, Notice, Pulse, ReminderMail
from fleet.reminders import note_turn, post_turns, sound_alarm
from fleet.tasks import remind_today, send_mail, watch
from fleet.views import health
from instructors.models import Member
from instructors.notification import deliver_act_mail
from tests.costing.pages import text_of
from tests.factories import (
    ActFactory,
    BackupDrillFactory,
    BackupRunFactory,
    CoordinatorFactory,
    DutyTurnFactory,
    PulseFactory,
    ReminderRunFactory,
)
from tests.fleet.reminding import both_parts
from tests.hookserver import HookServer
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

NOON = datetime(2026, 3, 16, 12, tzinfo=UTC)
RED, GREEN = [Answer("disk", False, "The disk is full.")], [Answer("disk", True, "There is room.")]
HEALTH = reverse("fleet:health")


@pytest.fixture(autouse=True)
def kept(db: None) -> None:
    for name in ("schedule", "worker"):
        PulseFactory(name=name)


@pytest.fixture
def hook(hook_server: HookServer, settings: Any) -> HookServer:
    settings.ALARM_URL = hook_server.url
    return hook_server


def turns() -> list[tuple[int, bool, str]]:
    return list(DutyTurn.objects.order_by("number").values_list("number", "is_red", "state"))


def test_each_turn_is_told_once(hook: HookServer, monkeypatch: pytest.MonkeyPatch) -> None:
    watch()
    assert (turns(), hook.taken) == ([], [])
    monkeypatch.setattr(disk, "FREE_BYTES", 10**18)
    for _ in range(3):
        watch()
    [red] = hook.taken
    assert (red["book"], red["duty"], red["at"]) == ("http://localhost:8000", "red", "2026-03-16T12:00:00+00:00")
    assert red["text"].startswith("http://localhost:8000: Members are not being told. Only ")
    monkeypatch.undo()
    monkeypatch.setenv("SSL_CERT_FILE", str(hook.certificate))
    for _ in range(3):
        watch()
    assert [(one["duty"], set(one)) for one in hook.taken] == [
        (duty, {"id", "book", "duty", "at", "text"}) for duty in ("red", "green")
    ]
    assert hook.taken[1]["text"] == "http://localhost:8000: Members are being told again."
    assert turns() == [(1, True, MailState.SENT), (2, False, MailState.SENT)]


def test_one_that_is_not_taken_waits_and_the_later_ones_behind_it(hook: HookServer, caplog: Any) -> None:
    hook.status = 500
    note_turn(RED, NOON)
    post_turns()
    note_turn(GREEN, NOON)
    post_turns()
    assert (len(hook.asked), hook.taken) == (1, [])
    assert DutyTurn.objects.get(number=1).last_error == "The web hook answered 500."
    hook.status = 204
    post_turns()
    assert hook.taken == []
    with time_machine.travel(NOON + timedelta(minutes=6), tick=False):
        post_turns()
        post_turns()
    assert [one["duty"] for one in hook.taken] == ["red", "green"]
    assert "secret-path" not in caplog.text
    assert not DutyTurn.objects.filter(last_error__contains="secret-path").exists()


def test_a_look_that_took_so_long_that_another_has_overtaken_it_turns_nothing_back() -> None:
    note_turn(RED, NOON)
    note_turn(GREEN, NOON + timedelta(seconds=2))
    note_turn(RED, NOON + timedelta(seconds=1))
    assert [is_red for _, is_red, _ in turns()] == [True, False]
    note_turn(RED, NOON + timedelta(seconds=3))
    assert [is_red for _, is_red, _ in turns()] == [True, False, True]


def test_without_a_web_hook_turns_are_noted_and_nothing_waits(hook_server: HookServer, settings: Any) -> None:
    note_turn(RED, NOON)
    post_turns()
    assert turns() == [(1, True, MailState.SUPERSEDED)]
    settings.ALARM_URL = hook_server.url
    post_turns()
    assert hook_server.asked == []


@pytest.mark.django_db(transaction=True)
def test_many_who_see_a_turn_at_once_tell_it_once(hook: HookServer) -> None:
    begin = threading.Barrier(6)

    def see() -> None:
        begin.wait(60)
        note_turn(RED, NOON)
        post_turns()
        connection.close()

    threads = [threading.Thread(target=see) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert [one["duty"] for one in hook.taken] == ["red"]
    assert turns() == [(1, True, MailState.SENT)]


def test_whoever_posts_tells_it_once_the_process_has_run_for_a_while(
    client: Client, hook: HookServer, car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The worker, and what keeps the schedule, have died: only the web process is left."""
    ReminderRunFactory()
    Pulse.objects.update(at=NOON - timedelta(hours=1))
    monkeypatch.setattr(health, "_started", time.monotonic())
    assert client.get(HEALTH).status_code == client.post(HEALTH).status_code == 503
    assert hook.taken == []
    monkeypatch.setattr(health, "_started", float("-inf"))
    assert client.get(HEALTH).status_code == 503
    assert DutyTurn.objects.count() == 0
    for _ in range(2):
        client.post(HEALTH)
    assert [one["duty"] for one in hook.taken] == ["red"]
    assert "Nothing has kept the schedule since 16 March 2026 at 11:00." in hook.taken[0]["text"]


def test_mail_that_is_refused_turns_duty_red_and_the_first_that_is_taken_green(
    hook: HookServer, coordinator: Member, smtp_server: MailServer, everyone: dict[str, Client]
) -> None:
    ReminderRunFactory()
    smtp_server.refusing = True
    mails = [ActFactory(mail__created_at=NOON).mail.pk for _ in range(2)]
    for mail in mails:
        deliver_act_mail(mail)
    watch()
    assert [one["duty"] for one in hook.taken] == ["red"]
    assert "The mail server takes none of the book's e-mails." in hook.taken[0]["text"]
    page = text_of(everyone["coordinator"].get(reverse("fleet:reminder-log")))
    assert "Members may not be told The mail server takes none of the book's e-mails." in page
    smtp_server.refusing = False
    with time_machine.travel(NOON + timedelta(minutes=6), tick=False):
        deliver_act_mail(mails[0])
        Pulse.objects.update(at=NOON + timedelta(minutes=6))
        watch()
    assert [one["duty"] for one in hook.taken] == ["red", "green"]


def test_a_turn_tells_on_after_a_restored_book_was_red() -> None:
    DutyTurnFactory(number=7)
    note_turn(GREEN, NOON)
    assert turns()[-1][:2] == (8, False)


# --- No backup ----------------------------------------------------------------------------------------------


@pytest.fixture
def nightly(settings: Any, tmp_path: Path) -> None:
    settings.BACKUP_FOLDER = tmp_path


@pytest.fixture
def missing(nightly: None, car: Car) -> None:
    """The last backup was made 27 hours ago and restored as a trial, and one try to make another has failed since."""
    ReminderRunFactory()
    at = NOON - timedelta(hours=27)
    BackupDrillFactory(backup=BackupRunFactory(made_at=at, ended_at=at), ended_at=at)
    BackupRunFactory(made_at=NOON, ended_at=NOON, error="/mnt/backups: No space left on device")


@pytest.mark.usefixtures("missing")
def test_each_coordinator_is_told_once_that_no_backup_is_made(
    hook: HookServer, coordinator: Member, keeper: Member, smtp_server: MailServer
) -> None:
    second = CoordinatorFactory.create()
    for days in range(3):
        with time_machine.travel(NOON + timedelta(days=days), tick=False):
            Pulse.objects.update(at=NOON + timedelta(days=days))
            ReminderRunFactory(finished_at=NOON + timedelta(days=days))
            for _ in range(2):
                watch()
    assert sorted(message["To"] for message in smtp_server.messages) == sorted([coordinator.email, second.email])
    message = smtp_server.messages[0]
    assert message["Subject"] == "The book is not being backed up"
    for text in both_parts(message):
        assert "The last backup was made on 15 March 2026 at 09:00." in text
        assert "The try on 16 March 2026 at 12:00 failed: /mnt/backups: No space left on device" in text
        assert "http://localhost:8000/reminders/" in text
    assert [one["duty"] for one in hook.taken] == ["red"]
    # Another episode, after a backup was made, is told again.
    with time_machine.travel(NOON + timedelta(days=3), tick=False):
        BackupRunFactory(made_at=NOON + timedelta(days=2), ended_at=NOON + timedelta(days=2))
        Pulse.objects.update(at=NOON + timedelta(days=3))
        watch()
        assert [one["duty"] for one in hook.taken] == ["red", "green"]
    with time_machine.travel(NOON + timedelta(days=3, hours=3), tick=False):
        Pulse.objects.update(at=NOON + timedelta(days=3, hours=3))
        ReminderRunFactory(finished_at=NOON + timedelta(days=3, hours=3))
        watch()
    assert len(smtp_server.messages) == 4
    assert [one["duty"] for one in hook.taken] == ["red", "green", "red"]


@pytest.mark.usefixtures("missing", "coordinator")
def test_one_that_was_refused_goes_on_another_day_and_only_once(smtp_server: MailServer) -> None:
    smtp_server.refusing = True
    watch()
    assert (smtp_server.refused_count, Notice.objects.filter(kind="backup").count()) == (1, 1)
    smtp_server.refusing = False
    with time_machine.travel(NOON + timedelta(hours=20), tick=False):
        remind_today()
        for _ in range(2):
            watch()
    assert [m["Subject"] for m in smtp_server.messages].count("The book is not being backed up") == 1


@pytest.mark.usefixtures("missing", "coordinator")
def test_one_that_waits_is_dropped_once_a_backup_is_made(smtp_server: MailServer) -> None:
    smtp_server.refusing = True
    watch()
    smtp_server.refusing = False
    BackupRunFactory(made_at=NOON, ended_at=NOON)
    with time_machine.travel(NOON + timedelta(minutes=6), tick=False):
        send_mail(ReminderMail.objects.get().pk)
    assert (ReminderMail.objects.get().state, smtp_server.messages) == (MailState.SUPERSEDED, [])


@pytest.mark.usefixtures("coordinator", "car")
def test_nothing_is_said_where_no_backup_is_set_up(smtp_server: MailServer, everyone: dict[str, Client]) -> None:
    ReminderRunFactory()
    sound_alarm(NOON)
    assert smtp_server.messages == []
    page = text_of(everyone["coordinator"].get(reverse("fleet:reminder-log")))
    assert "Backup: not set up The book has not been backed up yet. No daily backup is set up: set BACKUP" in page
    assert "Restore drill: not set up No backup has been restored as a trial yet." in page
    assert "backups" in text_of(everyone["coordinator"].get(reverse("costing:more")))


@pytest.mark.usefixtures("coordinator", "car")
def test_a_backup_that_is_not_due_yet_is_neither_well_nor_an_alarm(
    everyone: dict[str, Client], settings: Any, tmp_path: Path
) -> None:
    settings.BACKUP_FOLDER = tmp_path
    Pulse.objects.update(first_at=NOON, since=NOON)
    page = text_of(everyone["coordinator"].get(reverse("fleet:reminder-log")))
    assert "Backup: not yet The book has not been backed up yet." in page
    assert "Restore drill: not yet No backup" in page


@pytest.mark.usefixtures("missing", "coordinator")
@pytest.mark.parametrize(("hour", "count"), [(3, 0), (4, 1)])
def test_nobody_is_mailed_in_the_small_hours_but_duty_is_red(
    hour: int, count: int, smtp_server: MailServer, client: Client
) -> None:
    at = NOON.replace(day=17, hour=hour)
    with time_machine.travel(at, tick=False):
        Pulse.objects.update(at=at)
        ReminderRunFactory(finished_at=at)
        sound_alarm(at)
        assert client.get(HEALTH).status_code == 503
    assert len(smtp_server.messages) == count


# --- A backup that is not proven ----------------------------------------------------------------------------


@pytest.mark.usefixtures("nightly", "car")
def test_each_coordinator_is_told_once_that_a_drill_failed(coordinator: Member, smtp_server: MailServer) -> None:
    ReminderRunFactory()
    backup = BackupRunFactory(made_at=NOON, ended_at=NOON)
    BackupDrillFactory(backup=backup, ended_at=NOON - timedelta(days=29))
    watch()
    assert smtp_server.messages == []
    Pulse.objects.update(first_at=NOON - timedelta(days=60))
    for hour in range(3):
        at = NOON + timedelta(hours=hour)
        with time_machine.travel(at, tick=False):
            BackupDrillFactory(backup=backup, ended_at=at, error="The file a.jpg did not come back.")
            watch()
    [message] = smtp_server.messages
    assert (message["To"], message["Subject"]) == (
        coordinator.email,
        "It is not certain that the book can be restored",
    )
    for text in both_parts(message):
        assert "A backup was last restored as a trial on 15 February 2026, and all came back." in text
        assert "The trial on 16 March 2026 at 12:00 failed: The file a.jpg did not come back." in text
