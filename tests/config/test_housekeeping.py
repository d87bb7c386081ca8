"""How rows and files that are too old are deleted: few at a time, and harmless when two do it at once."""

import os
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import connection
from django.utils import timezone

from config import housekeeping
from config.files import sweep_older
from config.housekeeping import OF_THE_MACHINE, delete_some
from config.whole_files import sweep_files_of_none
from instructors.models import Invitation
from tests.factories import InvitationFactory

NOW = datetime(2026, 3, 16, 4, 45, tzinfo=UTC)


def old(path: Path, days: float) -> None:
    moment = (NOW - timedelta(days=days)).timestamp()
    os.utime(path, (moment, moment))


@pytest.mark.django_db
def test_rows_go_in_batches_oldest_first_and_no_more_in_a_night_than_they_may(monkeypatch: Any) -> None:
    monkeypatch.setattr(housekeeping, "_BATCH", 2)
    rows = [InvitationFactory.create() for _ in range(5)]
    with_most = Invitation.objects.all()
    monkeypatch.setattr(housekeeping, "MOST_IN_A_NIGHT", 4)
    assert delete_some(with_most) == 4
    assert list(Invitation.objects.all()) == [rows[-1]]
    assert delete_some(with_most) == 1
    assert delete_some(with_most) == 0


@pytest.mark.django_db(transaction=True)
def test_two_that_delete_at_once_are_not_in_each_others_way(monkeypatch: Any) -> None:
    monkeypatch.setattr(housekeeping, "_BATCH", 3)
    for _ in range(30):
        InvitationFactory.create()
    faults: list[Exception] = []
    start = threading.Barrier(2)

    def run() -> None:
        try:
            start.wait(60)
            delete_some(Invitation.objects.all())
        except Exception as fault:
            faults.append(fault)
        finally:
            connection.close()

    threads = [threading.Thread(target=run) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert not faults
    delete_some(Invitation.objects.all())
    assert not Invitation.objects.exists()


def clean(name: str) -> int:
    [kept] = [row for row in OF_THE_MACHINE if row.name == name]
    assert kept.clean
    return kept.clean(NOW)


def test_mails_written_as_files_go_after_thirty_days(settings: Any, tmp_path: Path) -> None:
    settings.EMAIL_FILE_PATH = str(tmp_path)
    for name, days in (("gone.log", 30.1), ("stays.log", 29.9), ("new.log", 0)):
        (tmp_path / name).write_text("To: somebody")
        old(tmp_path / name, days)
    (tmp_path / "folder").mkdir()
    old(tmp_path / "folder", 100)
    assert clean("mail_files") == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "new.log", "stays.log"]
    assert clean("mail_files") == 0


def test_a_book_that_never_wrote_a_mail_as_a_file_has_nothing_to_clean(settings: Any, tmp_path: Path) -> None:
    settings.EMAIL_FILE_PATH = str(tmp_path / "none")
    assert clean("mail_files") == 0


def test_a_file_that_another_process_has_just_deleted_is_passed_over(tmp_path: Path, monkeypatch: Any) -> None:
    here = tmp_path / "here"
    here.touch()
    old(here, 2)
    monkeypatch.setattr(Path, "glob", lambda *_: [tmp_path / "gone", here])
    assert sweep_older(tmp_path, NOW.timestamp()) == 1


def test_files_of_no_row_go_once_they_are_a_day_old(files_folder: Path) -> None:
    now = timezone.now()
    for name in ("kept", "stray", "being-written"):
        default_storage.save(f"photos/{name}.jpg", ContentFile(b"a photo"))
    for name in ("kept", "stray"):
        moment = (now - timedelta(hours=25)).timestamp()
        os.utime(files_folder / f"photos/{name}.jpg", (moment, moment))
    assert sweep_files_of_none("photos", lambda: {"photos/kept.jpg"}, now) == 1
    assert {path.name for path in (files_folder / "photos").iterdir()} == {"kept.jpg", "being-written.jpg"}
    assert sweep_files_of_none("nowhere", set, now) == 0
