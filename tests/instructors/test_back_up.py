"""The backup that the schedule makes each day."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from config.backup import folder, make_key
from instructors.models import BackupRun
from instructors.tasks import back_up

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("today")]


@pytest.fixture
def backups(settings: Any, tmp_path: Path, files_folder: Path) -> Path:
    """The folder for backups, on a server with a key."""
    settings.BACKUP_RECIPIENT = make_key(tmp_path / "key")
    settings.BACKUP_FOLDER = tmp_path / "backups"
    settings.BACKUP_FOLDER.mkdir()
    return tmp_path / "backups"


def names(backups: Path) -> list[str]:
    return sorted(path.name for path in backups.iterdir())


def test_it_is_made_once_a_day(backups: Path) -> None:
    back_up()
    assert names(backups) == ["book-2026-03-16.backup"]
    first = BackupRun.objects.get()
    assert (first.error, first.size) == ("", (backups / "book-2026-03-16.backup").stat().st_size)
    back_up()
    assert BackupRun.objects.count() == 1


def test_old_ones_go_and_what_is_not_its_own_stays(backups: Path) -> None:
    others = ["book-2020-01-01.backup.old", "book-2020-13-01.backup", "letters.txt"]
    for name in others:
        (backups / name).touch()
    for day in range(1, 16):
        (backups / f"book-{date(2026, 3, day)}.backup").touch()
    (backups / ".book-2026-03-15.backup.x1y2.part").touch()
    back_up()
    kept = [*range(10, 17), 8, 1]
    assert names(backups) == sorted([*others, *(f"book-{date(2026, 3, day)}.backup" for day in kept)])


def test_without_a_folder_there_is_none(db: None, settings: Any) -> None:
    assert settings.BACKUP_FOLDER is None
    back_up()
    assert not BackupRun.objects.exists()


@pytest.mark.parametrize("trouble", ["no disk", "no key"])
def test_what_goes_wrong_is_kept_and_the_old_ones_stay(backups: Path, settings: Any, trouble: str) -> None:
    (backups / "book-2020-01-01.backup").touch()
    if trouble == "no key":
        settings.BACKUP_RECIPIENT = ""
    else:
        settings.BACKUP_FOLDER = backups / "not mounted"
    back_up()
    assert names(backups) == ["book-2020-01-01.backup"]
    expected = {"no disk": "No such file or directory", "no key": "BACKUP_RECIPIENT is not set"}[trouble]
    assert expected in BackupRun.objects.get().error


def test_one_that_meets_another_comes_the_next_hour(backups: Path) -> None:
    with folder.alone():
        back_up()
    assert not BackupRun.objects.exists()
    back_up()
    assert BackupRun.objects.get().error == ""
