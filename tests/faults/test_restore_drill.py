"""The drill: a backup is restored into a scratch book, by real processes, and whatever is wrong with it is told."""

import hashlib
import os
import signal
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.utils import timezone
from hypothesis import HealthCheck, given
from hypothesis import settings as how
from hypothesis import strategies as st

from config.backup import Busy, Drilled, drill, drilling, folder, make_key, place_of_backups, restore_from
from config.backup.comparing import differences
from costing.models import CostEntry
from instructors.models import BackupDrill, BackupRun, Cleaning
from instructors.tasks import back_up, clean
from instructors.tasks import drill as drill_task
from tests.faults.test_backups_under_fire import changed
from tests.flows.whole_book import contents, empty, fill_every_table, rows
from tests.processes import BookProcess
from tests.servers import wait_until

pytestmark = pytest.mark.django_db(transaction=True)
Start = Callable[..., BookProcess]


@pytest.fixture
def backups(settings: Any, tmp_path: Path, files_folder: Path) -> Path:
    settings.BACKUP_FOLDER = tmp_path / "backups"
    settings.BACKUP_FOLDER.mkdir()
    return tmp_path / "backups"


@pytest.fixture
def book(backups: Path, files_folder: Path) -> None:
    """A book with a row in every table."""
    fill_every_table(files_folder)


def the_only(backups: Path) -> Path:
    [path] = backups.iterdir()
    return path


def scratch(files_folder: Path) -> list[str]:
    return [path.name for path in (files_folder / "arriving" / "drill").iterdir()]


@pytest.mark.usefixtures("book")
def test_all_of_a_book_comes_back(settings: Any, files_folder: Path) -> None:
    settings.EMBEDDED, settings.BACKUP_RECIPIENT = True, ""
    count = sum(map(len, rows().values()))
    back_up()
    drill_task()
    done = BackupDrill.objects.latest("pk")
    backup = BackupRun.objects.latest("pk")
    assert (done.error, done.was_opened, done.backup, done.made_at) == ("", True, backup, backup.made_at)
    # The rows of these very tables are in no other backup yet, and each is one more.
    assert (done.row_count, done.file_count) == (count, len(contents(files_folder)))
    assert scratch(files_folder) == []


@pytest.mark.usefixtures("book")
def test_of_a_sealed_one_the_bytes_are_checked_and_a_copy_is_restored(
    settings: Any, tmp_path: Path, backups: Path, files_folder: Path
) -> None:
    settings.BACKUP_RECIPIENT = make_key(tmp_path / "key")
    back_up()
    sealed = the_only(backups).read_bytes()
    drill_task()
    done = BackupDrill.objects.latest("pk")
    assert (done.error, done.was_opened) == ("", False)
    assert done.made_at >= done.backup.made_at
    assert the_only(backups).read_bytes() == sealed
    assert scratch(files_folder) == [], "nothing in clear"


@pytest.mark.usefixtures("book")
def test_it_comes_once_a_month_and_daily_once_it_failed(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.EMBEDDED, settings.BACKUP_RECIPIENT = True, ""
    found = Drilled(was_opened=True)
    monkeypatch.setattr("instructors.actions.drills.drill", lambda *_, **__: found)
    before = BackupDrill.objects.count()
    BackupDrill.objects.all().delete()
    made = []
    # From tomorrow on, whenever that is: a backup of before the tables were made is of an earlier release.
    with time_machine.travel(timezone.now().replace(hour=5) + timedelta(days=1), tick=False) as clock:
        for day in range(62):
            found = Drilled(was_opened=True, differences=("One is missing.",) if 28 <= day < 31 else ())
            back_up()
            drill_task()
            drill_task()
            if BackupDrill.objects.count() > len(made):
                made.append(day)
            clock.shift(timedelta(days=1))
    assert before
    assert made == [0, 28, 29, 30, 31, 59]


def test_without_a_backup_of_this_release_there_is_none(backups: Path, settings: Any) -> None:
    settings.EMBEDDED, settings.BACKUP_RECIPIENT = True, ""
    drill_task()
    with time_machine.travel("2020-01-01T05:00:00Z", tick=False):
        back_up()
    drill_task()
    assert not BackupDrill.objects.exists()


def test_without_a_folder_there_is_none(db: None) -> None:
    drill_task()
    assert not BackupDrill.objects.exists()


# --- Damaged ------------------------------------------------------------------------------------------------


@pytest.fixture
def backup(backups: Path, settings: Any) -> BackupRun:
    """A backup of a nearly empty book."""
    settings.EMBEDDED, settings.BACKUP_RECIPIENT = True, ""
    back_up()
    return BackupRun.objects.get()


DAMAGE = st.tuples(
    st.sampled_from(["flip", "cut", "add", "gone"]), st.floats(0, 1, exclude_max=True), st.integers(0, 7)
)


@how(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(DAMAGE)
def test_any_damage_is_told(backup: BackupRun, backups: Path, damage: tuple[str, float, int]) -> None:
    path, (sort, where, bit) = the_only(backups), damage
    whole = path.read_bytes()
    at = int(where * len(whole))
    if sort == "gone":
        path.unlink()
    else:
        flipped = whole[:at] + bytes([whole[at] ^ (1 << bit)]) + whole[at + 1 :]
        path.write_bytes({"flip": flipped, "cut": whole[:at], "add": whole + b"\0"}[sort])
    try:
        found = drill(place_of_backups(), day_of(path), size=backup.size, sha256=backup.sha256)
    finally:
        path.write_bytes(whole)
    [told] = found.differences
    assert ("is not there any more" if sort == "gone" else "is not as it was written") in told


def day_of(path: Path) -> date:
    return date.fromisoformat(path.stem.removeprefix("book-"))


def test_what_was_noted_of_a_damaged_file_is_found_out_by_restoring_it(backup: BackupRun, backups: Path) -> None:
    """It is as it was written, and it was written wrong."""
    path = the_only(backups)
    whole = changed(path.read_bytes(), lambda told: told["tables"]["instructors_cooperative"].update(rows=9))
    path.write_bytes(whole)
    found = drill(place_of_backups(), day_of(path), size=len(whole), sha256=hashlib.sha256(whole).hexdigest())
    assert found.differences == (
        "The rows of instructors_cooperative are not those that were backed up: it was altered.",
    )


@pytest.mark.parametrize("damage", ["row", "file", "more"])
@pytest.mark.usefixtures("book")
def test_what_did_not_come_back_is_named(settings: Any, backups: Path, files_folder: Path, damage: str) -> None:
    settings.EMBEDDED, settings.BACKUP_RECIPIENT = True, ""
    back_up()
    empty(files_folder)
    with the_only(backups).open("rb") as file:
        manifest = restore_from(file, None).manifest
    assert list(differences(manifest)) == []
    name = sorted(contents(files_folder))[0]
    if damage == "row":
        CostEntry.objects.update(note="another")
        expected = ["The rows of costing_costentry are not those that were backed up."]
    elif damage == "file":
        (files_folder / name).write_bytes(b"x")
        expected = [f"The file {name} is not as it was backed up."]
    else:
        (files_folder / name).rename(files_folder / "another.jpg")
        expected = ["The file another.jpg was not backed up.", f"The file {name} did not come back."]
    assert list(differences(manifest)) == expected


# --- Two at once, and killed --------------------------------------------------------------------------------


def test_two_at_once_do_no_harm(backup: BackupRun, backups: Path) -> None:
    with folder.scratch_folder():
        with pytest.raises(Busy):
            drill(place_of_backups(), day_of(the_only(backups)), size=backup.size, sha256=backup.sha256)
        drill_task()
        assert not BackupDrill.objects.exists()
    drill_task()
    assert BackupDrill.objects.get().error == ""


def test_the_nightly_cleaning_clears_what_a_killed_one_left_and_nothing_of_one_at_work(files_folder: Path) -> None:
    """A killed one's copy of the book must not lie there in clear until the next, a month later."""
    with folder.scratch_folder() as at_work:
        (at_work / "last.backup").write_bytes(b"the book")
        clean()
        assert (at_work / "last.backup").exists()
    assert Cleaning.objects.get(name="killed_drill").count == 0
    at_work.mkdir()
    (at_work / "last.backup").write_bytes(b"the book")
    clean()
    assert scratch(files_folder) == []
    assert Cleaning.objects.get(name="killed_drill").count == 1


@pytest.mark.usefixtures("backup")
def test_one_that_is_killed_leaves_no_process_and_what_the_next_clears(
    backups: Path, book_process: Start, tmp_path: Path
) -> None:
    data = {"DATA_DIR": str(tmp_path / "data"), "BACKUP_FOLDER": str(backups), "REDIS_URL": ""}
    code = "import django; django.setup(); from instructors.tasks import drill; drill()"
    of_drills = tmp_path / "data" / "files" / "arriving" / "drill"
    database = of_drills / "scratch" / "book" / "book.sqlite3"
    with book_process("-c", code, **data) as process:
        wait_until(database.exists, "a scratch book that is begun")
        [child] = children_of(process.pid)
        process.kill()
    wait_until(lambda: not is_alive(child), "the end of the scratch book")
    assert not BackupDrill.objects.exists()
    assert list(of_drills.iterdir()) != []
    with book_process("-c", code, **data) as process:
        assert process.wait() == 0, process.output()
    assert BackupDrill.objects.get().error == ""
    assert list(of_drills.iterdir()) == []


def test_a_scratch_book_that_is_killed_is_told(
    backup: BackupRun, backups: Path, files_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(*words: Any, **more: Any) -> Any:
        ran = run(["/bin/sh", "-c", f"kill -{signal.SIGKILL.value} $$"], **more)
        assert ran.returncode == -signal.SIGKILL
        return ran

    run = drilling.subprocess.run
    monkeypatch.setattr(drilling.subprocess, "run", killed)
    drill_task()
    assert BackupDrill.objects.get().error == "The scratch book broke off: status -9."
    assert scratch(files_folder) == []


def children_of(pid: int) -> list[int]:
    return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    stat = Path(f"/proc/{pid}/stat")
    return stat.exists() and stat.read_text().rpartition(")")[2].split()[0] != "Z"
