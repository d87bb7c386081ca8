"""The address /health/: whether members are being told, part by part."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse

from config import disk
from config.environment import ObjectStore
from fleet.models import Car, MailState, Pulse, PulseName
from fleet.queries.duty import duty
from instructors.actions import note_backup, note_whether_store_answers, record_lost_files
from instructors.models import FilesPlace, LostFile, Member
from tests.factories import (
    ActMailFactory,
    BackupDrillFactory,
    BackupRunFactory,
    FilesPlaceFactory,
    PulseFactory,
    ReminderMailFactory,
    ReminderRunFactory,
)

pytestmark = pytest.mark.usefixtures("today")

HEALTH = reverse("fleet:health")
NOW = datetime(2026, 3, 16, 12, tzinfo=ZoneInfo("Europe/London"))
LONG_AGO = NOW - timedelta(days=400)


def hours(number: float) -> timedelta:
    return timedelta(hours=number)


@pytest.fixture
def kept(db: None) -> None:
    """The schedule is kept, has been for long, and its tasks are done."""
    for name in ("schedule", "worker"):
        PulseFactory(name=name)


@pytest.fixture
def well(kept: None, car: Car) -> None:
    """All is well: the last run was this morning."""
    ReminderRunFactory()


def red(client: Client) -> dict[str, str]:
    """The words of what is red, by part; the status and the sum of it all must agree."""
    answer = client.get(HEALTH)
    found = answer.json()
    parts = {part["name"]: part["words"] for part in found["parts"] if not part["ok"]}
    assert (answer.status_code, found["name"], found["ok"]) == (503 if parts else 200, "duty", not parts)
    assert all(words in found["words"] for words in parts.values())
    return parts


@pytest.mark.usefixtures("db")
def test_a_new_book_is_well(client: Client) -> None:
    assert red(client) == {}


@pytest.mark.usefixtures("well")
def test_a_book_that_is_kept_is_well(client: Client) -> None:
    assert red(client) == {}


@pytest.mark.usefixtures("kept")
@pytest.mark.parametrize(
    ("ago", "is_late"), [(hours(5), False), (hours(26), False), (timedelta(hours=26, minutes=1), True)]
)
def test_reminders_are_late_after_26_hours(client: Client, car: Car, ago: timedelta, is_late: bool) -> None:
    ReminderRunFactory(finished_at=NOW - ago)
    assert ("reminders" in red(client)) == is_late


@pytest.mark.usefixtures("kept")
@pytest.mark.parametrize(("ago", "is_late"), [(hours(2), False), (hours(27), True)])
def test_a_book_that_never_ran_them_is_late_once_it_has_had_a_car_for_so_long(
    client: Client, car: Car, ago: timedelta, is_late: bool
) -> None:
    car.history.update(history_date=NOW - ago)
    ReminderRunFactory(finished_at=None)
    assert ("reminders" in red(client)) == is_late


def test_what_was_not_due_yet_in_a_restored_book_has_not_failed(
    client: Client, car: Car, keeper: Member, settings: Any, tmp_path: Path
) -> None:
    """Its runs, mails and backups are of long ago; its schedule has been kept here for an hour."""
    settings.BACKUP_FOLDER = tmp_path
    car.history.update(history_date=LONG_AGO)
    ReminderRunFactory(finished_at=LONG_AGO)
    BackupRunFactory(made_at=LONG_AGO, ended_at=LONG_AGO)
    ReminderMailFactory(
        recipient=keeper, created_at=LONG_AGO, attempt_count=7, next_attempt_at=LONG_AGO, last_error="451 Not now"
    )
    for name in ("schedule", "worker"):
        PulseFactory(name=name, first_at=NOW - hours(1), since=NOW - hours(1))
    assert red(client) == {}
    Pulse.objects.update(first_at=NOW - hours(27))
    assert set(red(client)) == {"oldest mail", "reminders", "backup"}


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(("minutes", "is_red"), [(10, False), (11, True)])
def test_a_schedule_that_nobody_keeps_is_red(client: Client, minutes: int, is_red: bool) -> None:
    Pulse.objects.update(at=NOW - timedelta(minutes=minutes))
    found = red(client)
    assert ("schedule" in found) == is_red
    if is_red:
        assert found["schedule"] == (
            "Nothing has kept the schedule since 16 March 2026 at 11:49."
            " See that the beat runs and reaches Redis and the database."
        )
    assert client.get(reverse("fleet:health-live")).status_code == 200
    assert client.get(reverse("fleet:health-ready")).status_code == 200


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(("minutes", "since", "is_red"), [(20, 400, False), (21, 400, True), (21, 5, False)])
def test_tasks_that_nobody_does_are_red(client: Client, minutes: int, since: int, is_red: bool) -> None:
    """Not before the schedule, which was not kept for a while, has had time to have them done."""
    Pulse.objects.filter(name="schedule").update(since=NOW - timedelta(minutes=since))
    Pulse.objects.filter(name="worker").update(at=NOW - timedelta(minutes=minutes))
    assert ("worker" in red(client)) == is_red


@pytest.mark.usefixtures("well")
def test_tasks_that_nobody_ever_did_are_red(client: Client) -> None:
    Pulse.objects.filter(name="worker").delete()
    assert set(red(client)) == {"worker"}


@pytest.mark.usefixtures("well")
def test_a_mail_that_waits_for_long_is_red(client: Client, keeper: Member) -> None:
    mail = ReminderMailFactory(recipient=keeper, created_at=NOW - hours(1.6))
    assert "An e-mail has been waiting since 16 March 2026 at 10:24." in red(client)["oldest mail"]
    mail.state = MailState.SUPERSEDED
    mail.save()
    assert red(client) == {}
    ActMailFactory(created_at=NOW - hours(7))
    assert set(red(client)) == {"oldest mail"}


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(("minutes", "is_red"), [(90, False), (91, True)])
def test_a_mail_server_that_broke_in_the_middle_of_a_run_is_red_once_it_has_refused_the_rest_for_long(
    client: Client, keeper: Member, colleague: Member, minutes: int, is_red: bool
) -> None:
    """All were written before one was taken, and no other is written."""
    together = NOW - timedelta(minutes=minutes)
    ReminderMailFactory(
        recipient=keeper, state=MailState.SENT, created_at=together, sent_at=together + timedelta(seconds=1)
    )
    ReminderMailFactory(recipient=colleague, created_at=together, attempt_count=5, last_error="421 Closing")
    assert set(red(client)) == ({"oldest mail"} if is_red else set())


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(
    ("kind", "minutes", "refusal", "is_red"),
    [
        ("defect", 3.1, "", True),
        ("defect", 3, "", False),
        ("defect", 30, "451 Not now", False),
        ("reminder", 30, "", False),
    ],
)
@pytest.mark.parametrize("state", [MailState.QUEUED, MailState.SENDING])
def test_news_of_a_defect_that_nobody_has_tried_to_send_is_red_after_three_minutes(
    client: Client, keeper: Member, kind: str, minutes: float, refusal: str, is_red: bool, state: MailState
) -> None:
    """Nor counts it as tried that somebody claimed it, and then stood still."""
    mail = ReminderMailFactory(
        recipient=keeper,
        kind=kind,
        state=state,
        created_at=NOW - timedelta(minutes=minutes),
        attempt_count=1 if refusal or state == MailState.SENDING else 0,
        last_error=refusal,
    )
    found = red(client)
    assert list(found) == (["news of defects"] if is_red else [])
    if is_red:
        assert found["news of defects"] == (
            "An e-mail about a defect was written on 16 March 2026 at 11:56, and no try to send it has ended."
            " See that the worker runs and reaches Redis and the database."
        )
    mail.state = MailState.SUPERSEDED
    mail.save()
    assert red(client) == {}


@pytest.mark.usefixtures("well")
def test_news_of_a_defect_in_a_restored_book_is_red_only_once_it_could_have_gone(
    client: Client, keeper: Member
) -> None:
    ReminderMailFactory(recipient=keeper, kind="defect", created_at=LONG_AGO)
    Pulse.objects.update(first_at=NOW - timedelta(minutes=3))
    assert red(client) == {}
    Pulse.objects.update(first_at=NOW - timedelta(minutes=4))
    assert set(red(client)) == {"news of defects"}


@pytest.mark.usefixtures("well")
def test_while_every_mail_is_refused_duty_is_red(client: Client, keeper: Member, colleague: Member) -> None:
    ReminderMailFactory(recipient=keeper, state=MailState.SENT, sent_at=NOW - hours(3), created_at=NOW - hours(3))
    refused = {"created_at": NOW - hours(1), "attempt_count": 1, "last_error": "451 Not now"}
    # Written and refused after one was last taken.
    refused["next_attempt_at"] = NOW - hours(1) + timedelta(minutes=5)
    ReminderMailFactory(recipient=colleague, **refused)
    assert red(client) == {}, "its address may be wrong"
    ActMailFactory(**refused)
    assert set(red(client)) == {"last mail"}
    assert "The last e-mail was taken on 16 March 2026 at 09:00." in red(client)["last mail"]
    # One is taken: the others will be.
    ReminderMailFactory(recipient=keeper, kind="asked", state=MailState.SENT, sent_at=NOW, created_at=NOW)
    assert red(client) == {}


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize("attempts", [1, 4])
def test_mails_refused_beside_others_that_went_are_not_red_before_they_have_waited_for_long(
    client: Client, keeper: Member, colleague: Member, attempts: int
) -> None:
    """Written together; the last one was taken just before these were refused, and nothing else was tried since."""
    together = NOW - hours(1.4)
    ReminderMailFactory(
        recipient=keeper, state=MailState.SENT, created_at=together, sent_at=together + timedelta(seconds=1)
    )
    refused = {
        "created_at": together,
        "attempt_count": attempts,
        "last_error": "450 Mailbox full",
        "next_attempt_at": NOW + timedelta(minutes=30),
    }
    ReminderMailFactory(recipient=colleague, **refused)
    ActMailFactory.create_batch(3, **refused)
    assert red(client) == {}


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(("count", "is_red"), [(1, False), (2, False), (3, True)])
def test_an_address_that_is_refused_is_its_members_matter_unless_many_are(
    client: Client, keeper: Member, colleague: Member, coordinator: Member, count: int, is_red: bool
) -> None:
    """Nothing else was written for two days, and each was tried again and again."""
    ReminderMailFactory(recipient=keeper, state=MailState.SENT, created_at=NOW - hours(48), sent_at=NOW - hours(48))
    for member in [keeper, colleague, coordinator][:count]:
        ActMailFactory(
            recipient=member,
            created_at=NOW - hours(40),
            attempt_count=9,
            last_error="550 5.1.1 No such user",
            address_refused=True,
            next_attempt_at=NOW + timedelta(minutes=30),
        )
    assert set(red(client)) == ({"last mail"} if is_red else set())


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(
    ("words", "taken_since", "is_red"),
    [
        ("550 5.1.1 No such user", False, False),
        ("550 Relaying denied", False, True),
        # It does take mails, so it is this address.
        ("550 No such user", True, False),
    ],
)
def test_a_refusal_that_does_not_say_whose_fault_it_is_is_the_servers_until_it_takes_another_mail(
    client: Client, keeper: Member, colleague: Member, coordinator: Member, words: str, taken_since: bool, is_red: bool
) -> None:
    ActMailFactory(
        recipient=keeper,
        created_at=NOW - hours(3),
        attempt_count=2,
        last_error=words,
        address_refused=True,
        next_attempt_at=NOW + timedelta(minutes=30),
    )
    if taken_since:
        at = NOW - hours(2)
        ReminderMailFactory(recipient=colleague, state=MailState.SENT, created_at=at, sent_at=at)
    assert set(red(client)) == ({"last mail"} if is_red else set())


@pytest.mark.usefixtures("kept")
def test_where_every_members_address_is_refused_nobody_is_told(client: Client, keeper: Member) -> None:
    ActMailFactory(
        recipient=keeper,
        by=None,
        created_at=NOW - hours(1),
        attempt_count=1,
        last_error="550 Relaying denied",
        address_refused=True,
        next_attempt_at=NOW,
    )
    assert set(red(client)) == {"last mail"}


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(("attempts", "is_red"), [(1, False), (2, True)])
def test_so_is_it_while_the_only_mail_is_refused_again(
    client: Client, keeper: Member, attempts: int, is_red: bool
) -> None:
    ReminderMailFactory(
        recipient=keeper,
        created_at=NOW - hours(1),
        attempt_count=attempts,
        last_error="451 Not now",
        next_attempt_at=NOW + timedelta(minutes=5),
    )
    assert ("last mail" in red(client)) == is_red


@pytest.mark.usefixtures("well")
def test_a_disk_that_is_nearly_full_is_red(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "FREE_BYTES", 10**18)
    assert red(client)["disk"].endswith("is free on the disk of the book's files: make room.")


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(("ago", "is_red"), [(hours(26), False), (hours(26.1), True)])
def test_a_backup_that_was_not_made_is_red_where_they_are_set_up(
    client: Client, settings: Any, tmp_path: Path, ago: timedelta, is_red: bool
) -> None:
    BackupRunFactory(made_at=NOW - ago, ended_at=NOW - ago)
    BackupRunFactory(made_at=NOW, ended_at=NOW, error="/mnt/backups: No space left on device")
    assert red(client) == {}
    settings.BACKUP_FOLDER = tmp_path
    assert ("backup" in red(client)) == is_red
    if is_red:
        assert "The last try failed." in red(client)["backup"]


@pytest.fixture
def three_lacking(well: None, settings: Any, tmp_path: Path) -> None:
    """A backup, restored as a trial, which lacks three files that the book names."""
    settings.BACKUP_FOLDER = tmp_path
    backup = BackupRunFactory(made_at=NOW - hours(1), ended_at=NOW - hours(1), missing_count=3)
    BackupDrillFactory(backup=backup, ended_at=NOW)


@pytest.mark.usefixtures("three_lacking")
def test_a_backup_that_lacks_files_of_the_book_is_red_and_nobody_says_that_all_came_back(client: Client) -> None:
    lacks = "3 files that the book names were not there, so they are not in it."
    assert lacks in red(client)["backup"]
    [drill] = [part.words for part in duty() if part.name == "restore drill"]
    assert drill.endswith(f"what was in it came back. {lacks}")
    BackupRunFactory(made_at=NOW, ended_at=NOW)
    assert red(client) == {}


@pytest.mark.usefixtures("three_lacking")
def test_a_backup_that_lacks_files_is_red_until_they_are_said_to_be_lost(client: Client) -> None:
    assert "`manage.py lost_files` names them; with --record" in red(client)["backup"]
    record_lost_files({"a.jpg", "b.jpg"})
    assert "1 file that the book names was not there" in red(client)["backup"]
    record_lost_files({"a.jpg", "b.jpg", "c.jpg"})
    assert red(client) == {}
    # The next ones lack them too, and then another.
    LostFile.objects.update(noted_at=NOW - hours(0.7))
    note_backup(made_at=NOW - hours(0.5), place="there", missing=["a.jpg", "b.jpg", "c.jpg"])
    assert red(client) == {}
    note_backup(made_at=NOW, place="there", missing=["a.jpg", "d.jpg"])
    assert "1 file that the book names was not there" in red(client)["backup"]


@pytest.mark.usefixtures("well")
def test_a_store_of_files_that_is_away_for_minutes_is_red(client: Client, settings: Any) -> None:
    settings.FILES_URL = ObjectStore("http://127.0.0.1:9", "book", "", "us-east-1", "key", "secret")
    Pulse.objects.update(since=LONG_AGO)
    assert red(client) == {}
    FilesPlaceFactory(name="s3://127.0.0.1:9/book", noted_at=LONG_AGO, answered_at=NOW - timedelta(minutes=9))
    assert red(client) == {}
    # Nothing answers there, and one try alone is no news.
    note_whether_store_answers()
    assert FilesPlace.objects.get().answered_at == NOW - timedelta(minutes=9)
    FilesPlace.objects.update(answered_at=NOW - timedelta(minutes=12))
    assert red(client)["store"].startswith("The store of the files has not answered as it should since 16 March 2026")
    # While nobody asks, nothing is known of it.
    Pulse.objects.filter(name=PulseName.WORKER).update(at=NOW - timedelta(minutes=12))
    assert "store" not in red(client)


@pytest.mark.usefixtures("well")
@pytest.mark.parametrize(("ago", "is_red"), [(timedelta(days=45), False), (timedelta(days=45, hours=1), True)])
def test_a_drill_that_was_not_made_is_red_where_backups_are_set_up(
    client: Client, settings: Any, tmp_path: Path, ago: timedelta, is_red: bool
) -> None:
    backup = BackupRunFactory(made_at=NOW, ended_at=NOW)
    BackupDrillFactory(backup=backup, ended_at=NOW - ago)
    Pulse.objects.update(first_at=NOW - timedelta(days=400))
    assert red(client) == {}
    settings.BACKUP_FOLDER = tmp_path
    assert ("restore drill" in red(client)) == is_red


@pytest.mark.usefixtures("well")
def test_a_drill_that_failed_is_red_until_one_goes_well(client: Client, settings: Any, tmp_path: Path) -> None:
    settings.BACKUP_FOLDER = tmp_path
    backup = BackupRunFactory(made_at=NOW, ended_at=NOW)
    Pulse.objects.update(first_at=NOW - hours(1))
    BackupDrillFactory(backup=backup, ended_at=LONG_AGO, error="Of the book that this one was restored from.")
    assert red(client) == {}
    BackupDrillFactory(backup=backup, ended_at=NOW - hours(0.5), error="The file a.jpg did not come back.")
    words = red(client)["restore drill"]
    assert words.startswith("No backup has been restored as a trial yet. The trial on 16 March 2026 at")
    assert "a.jpg" not in words
    BackupDrillFactory(backup=backup, ended_at=NOW)
    assert red(client) == {}


@pytest.mark.usefixtures("well")
def test_it_tells_nobody_who_or_what(client: Client, car: Car, keeper: Member, settings: Any, tmp_path: Path) -> None:
    settings.BACKUP_FOLDER = tmp_path
    BackupRunFactory(error=f"{tmp_path}: No space left")
    refused = {"attempt_count": 3, "last_error": f"550 {keeper.email} unknown", "created_at": LONG_AGO}
    ReminderMailFactory(recipient=keeper, **refused)
    Pulse.objects.update(at=LONG_AGO)
    assert len(red(client)) > 2
    told = client.get(HEALTH).content.decode()
    for word in (keeper.email, keeper.name, car.registration, str(tmp_path), "£"):
        assert word not in told
    assert set(client.get(HEALTH).json()) == {"name", "ok", "words", "parts"}


@pytest.mark.usefixtures("kept", "car")
def test_what_a_clock_that_was_ahead_noted_hides_nothing(client: Client, settings: Any, tmp_path: Path) -> None:
    settings.BACKUP_FOLDER = tmp_path
    Pulse.objects.update(first_at=LONG_AGO)
    ahead = NOW + timedelta(days=40)
    for finished_at in (LONG_AGO, ahead):
        ReminderRunFactory(finished_at=finished_at)
    BackupDrillFactory(backup=BackupRunFactory(made_at=ahead, ended_at=ahead), ended_at=ahead)
    ReminderMailFactory(state=MailState.SENT, sent_at=ahead)
    assert red(client).keys() == {"reminders", "backup", "restore drill"}
    assert "April" not in client.get(HEALTH).content.decode()
