"""A book is backed up while it is in use, and is the same book once it is restored elsewhere."""

import json
import re
import threading
from collections.abc import Callable
from datetime import date, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse

from config.backup import Busy, Refused, back_up_to, back_up_to_stream, folder, make_key, making, read_key, restore_from
from config.commands import BEING_MADE_READY, DataSaysNo
from fleet.models import Car, Photo
from fleet.reminders import run_reminders
from instructors.models import BackupRun, Member
from instructors.queries import backup_failed_since, last_backup
from tests import run, schemas
from tests.factories import CarFactory, CoordinatorFactory, MemberFactory, PhotoFactory
from tests.fleet.reminding import due_item
from tests.flows.whole_book import PASSWORD, contents, empty, fill_every_table, rows
from tests.mailserver import MailServer
from tests.processes import BookProcess
from tests.schemas import said_while_migrating

pytestmark = pytest.mark.django_db(transaction=True)
Start = Callable[..., BookProcess]


def test_every_row_and_file_comes_back_and_members_sign_in(files_folder: Path, tmp_path: Path) -> None:
    member = fill_every_table(files_folder)
    before, files = rows(), contents(files_folder)
    assert all(before.values()), [name for name, found in before.items() if not found]
    public = make_key(tmp_path / "key")
    made = back_up_to(tmp_path / "book.backup", public)
    assert (made.rows["instructors_member"], made.files) == (Member.objects.count(), len(files))
    assert (tmp_path / "book.backup").stat().st_size == made.size

    empty(files_folder)
    with (tmp_path / "book.backup").open("rb") as backup:
        restored = restore_from(backup, read_key(tmp_path / "key"))
    assert (restored.rows, restored.files) == (made.rows, made.files)
    assert restored.has_own_key
    assert rows() == before
    assert contents(files_folder) == files
    answer = Client().post(reverse("account_login"), {"login": member.email, "password": PASSWORD})
    # The authenticator app, which is a row too, is asked for next.
    assert answer.url == reverse("mfa_authenticate")


@pytest.mark.skipif(not run.on_postgresql(), reason="from PostgreSQL to SQLite and back is the whole round")
def test_it_comes_back_from_an_installation_with_the_other_database(
    files_folder: Path, tmp_path: Path, book_process: Start
) -> None:
    fill_every_table(files_folder)
    before, files = rows(), contents(files_folder)
    back_up_to(tmp_path / "there.backup", "")
    other = {"DATA_DIR": str(tmp_path / "other"), "DATABASE_URL": f"sqlite:///{tmp_path / 'other.sqlite3'}"}
    for command in (
        ("migrate", "-v0"),
        ("restore", str(tmp_path / "there.backup")),
        ("backup", "--unencrypted", "--to", str(tmp_path / "back.backup")),
    ):
        with book_process("manage.py", *command, **other) as process:
            assert process.wait(300) == 0, process.output()
    empty(files_folder)
    with (tmp_path / "back.backup").open("rb") as backup:
        restore_from(backup, None)
    assert rows() == before
    assert contents(files_folder) == files


def test_the_next_night_tells_nobody_again(
    files_folder: Path, smtp_server: MailServer, in_order: None, car: Car
) -> None:
    due_item(car=car, due_on=date(2026, 3, 23))
    assert run_reminders(date(2026, 3, 16)).told
    backup = BytesIO()
    back_up_to_stream(backup, "")
    empty(files_folder)
    restore_from(backup, None)
    smtp_server.clear()
    assert not run_reminders(date(2026, 3, 16)).told
    assert smtp_server.messages == []
    assert run_reminders(date(2026, 3, 22)).told, "the next step is told"


def test_no_number_is_given_twice(files_folder: Path) -> None:
    """Histories and links go by numbers: the last car is gone, and its number with it."""
    CarFactory.create()
    gone = CarFactory.create()
    number = gone.pk
    gone.delete()
    backup = BytesIO()
    back_up_to_stream(backup, "")
    empty(files_folder)
    restore_from(backup, None)
    assert CarFactory.create().pk > number


def test_it_is_of_one_moment_and_nobody_waits_for_it(files_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    photo = PhotoFactory.create(image=ContentFile(b"kept", "kept.jpg"))
    name, before = photo.image.name, rows()

    def log_and_delete() -> None:
        with transaction.atomic():
            MemberFactory.create()
            CarFactory.create()
            Photo.objects.all().delete()
        (files_folder / name).unlink()
        connection.close()

    written, write_table = [], making._write_table

    def with_another_at_work(tar: Any, table: Any) -> Any:
        if not written:
            other = threading.Thread(target=log_and_delete)
            other.start()
            other.join(10)
            assert not other.is_alive(), "whoever writes waits for the backup"
        written.append(table.name)
        return write_table(tar, table)

    monkeypatch.setattr(making, "_write_table", with_another_at_work)
    backup = BytesIO()
    made = back_up_to_stream(backup, "")
    assert (made.missing, rows() == before) == ([], False)
    empty(files_folder)
    restore_from(backup, None)
    assert rows() == before
    assert contents(files_folder) == {name: b"kept"}


def test_a_file_that_is_named_and_not_there_is_told(files_folder: Path, tmp_path: Path, capfd: Any) -> None:
    photo = PhotoFactory.create(image=ContentFile(b"lost", "lost.jpg"))
    (files_folder / photo.image.name).unlink()
    call_command("backup", "--unencrypted", "--to", str(tmp_path / "a.backup"))
    assert f"The book names a file that is not there: {photo.image.name}" in capfd.readouterr().err
    assert BackupRun.objects.get().missing_count == 1
    empty(files_folder)
    call_command("restore", str(tmp_path / "a.backup"))
    assert f"the backup does not have either: {photo.image.name}" in capfd.readouterr().err


def test_where_files_cannot_be_linked_they_are_copied(files_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: Any) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr("config.backup.folder.os.link", refuse)
    PhotoFactory.create(image=ContentFile(b"copied", "ours.jpg"))
    assert back_up_to_stream(BytesIO(), "").files == 1
    assert list((files_folder / "arriving").iterdir()) == []


def test_one_at_a_time(files_folder: Path, db: None) -> None:
    with folder.alone(), pytest.raises(Busy):
        back_up_to_stream(BytesIO(), "")
    back_up_to_stream(BytesIO(), "")


# --- Only into an empty installation ----------------------------------------------------------------------


def test_a_book_with_rows_or_files_is_left_as_it_is(files_folder: Path) -> None:
    backup = BytesIO()
    back_up_to_stream(backup, "")
    CoordinatorFactory.create()
    before = rows()
    with pytest.raises(Refused, match="not empty"):
        restore_from(backup, None)
    assert rows() == before
    Member.objects.all().delete()
    (files_folder / "photos").mkdir()
    (files_folder / "photos" / "a.jpg").write_bytes(b"a")
    with pytest.raises(Refused, match="files of a book"):
        restore_from(backup, None)
    assert contents(files_folder) == {"photos/a.jpg": b"a"}


# --- The commands -----------------------------------------------------------------------------------------


def test_what_the_commands_say_as_json(files_folder: Path, tmp_path: Path, capfd: Any) -> None:
    CarFactory.create()
    path = tmp_path / "a.backup"
    call_command("backup", "--unencrypted", "--json", "--to", str(path))
    answer = json.loads(capfd.readouterr().out)
    assert (answer["rows"]["fleet_car"], answer["bytes"], answer["sealed"]) == (1, path.stat().st_size, False)
    run = BackupRun.objects.get()
    assert (run.size, run.place, run.error) == (path.stat().st_size, str(path), "")
    assert run.made_at == datetime.fromisoformat(answer["made_at"])
    assert path.stat().st_mode & 0o777 == 0o600
    empty(files_folder)
    call_command("restore", str(path), "--json")
    said = capfd.readouterr()
    answer = json.loads(said.out)
    assert (answer["rows"]["fleet_car"], answer["files"], answer["same_secret_key"]) == (1, 0, True)
    assert said.err == (
        "Once it is started, this book sends e-mails to its members: stop the old one first, or for a trial leave"
        " EMAIL_URL and ALARM_URL unset.\n"
    )


def test_on_a_server_a_backup_in_clear_must_be_asked_for(db: None, tmp_path: Path, settings: Any) -> None:
    assert settings.EMBEDDED is False
    with pytest.raises(CommandError, match="BACKUP_RECIPIENT is not set") as refusal:
        call_command("backup", "--to", str(tmp_path / "a.backup"))
    assert refusal.value.returncode == 2
    settings.BACKUP_RECIPIENT = make_key(tmp_path / "key")
    call_command("backup", "--to", str(tmp_path / "a.backup"))
    assert (tmp_path / "a.backup").read_bytes().startswith(b"age-encryption.org/v1")
    settings.EMBEDDED, settings.BACKUP_RECIPIENT = True, ""
    call_command("backup", "--to", str(tmp_path / "a.backup"))
    assert (tmp_path / "a.backup").read_bytes().startswith(b"\x1f\x8b")


def test_nothing_but_a_backup_is_written_over(db: None, tmp_path: Path) -> None:
    other = tmp_path / "book.sqlite3"
    other.write_bytes(b"SQLite format 3\0")
    for path in (other, tmp_path, tmp_path / "missing" / "a.backup"):
        with pytest.raises(DataSaysNo):
            call_command("backup", "--unencrypted", "--to", str(path))
    assert other.read_bytes() == b"SQLite format 3\0"
    assert set(tmp_path.iterdir()) == {other}
    assert BackupRun.objects.exclude(error="").count() == 3


def test_a_new_key_is_for_its_owner_and_never_written_over(tmp_path: Path, capfd: Any) -> None:
    path = tmp_path / "key.txt"
    call_command("backup", "--new-key", str(path))
    [public] = re.findall(r"^BACKUP_RECIPIENT=(age1\S+)$", capfd.readouterr().out, re.MULTILINE)
    assert path.stat().st_mode & 0o777 == 0o600
    assert str(read_key(path).to_public()) == public
    secret = path.read_text()
    with pytest.raises(DataSaysNo, match="never written over"):
        call_command("backup", "--new-key", str(path))
    assert path.read_text() == secret


def test_through_pipes(book_process: Start, files_folder: Path, tmp_path: Path) -> None:
    """Standard output holds the backup and nothing else, and standard input is read as it comes."""
    CarFactory.create()
    data = {"DATA_DIR": str(tmp_path / "data")}
    through = (
        "import subprocess, sys; "
        "book = [sys.executable, 'manage.py']; "
        "out = subprocess.Popen([*book, 'backup', '--unencrypted', '--to', '-'], stdout=subprocess.PIPE); "
        f"open({str(tmp_path / 'a.backup')!r}, 'wb').write(out.stdout.read()); "
        "sys.exit(out.wait())"
    )
    with book_process("-c", through, **data) as process:
        assert process.wait() == 0, process.output()
        assert re.search(r"Backed up to standard output: [\d,]+ rows and 0 files", process.output())
    before = rows()
    empty(files_folder)
    back = (
        "import subprocess, sys; "
        f"content = open({str(tmp_path / 'a.backup')!r}, 'rb').read(); "
        "sys.exit(subprocess.run([sys.executable, 'manage.py', 'restore', '-'], input=content).returncode)"
    )
    with book_process("-c", back, **data) as process:
        assert process.wait() == 0, process.output()
    before["instructors.BackupRun"] = []
    assert rows() == before


@pytest.mark.parametrize("sealed", [False, True])
def test_into_a_closed_pipe_it_fails_with_a_sentence(book_process: Start, tmp_path: Path, sealed: bool) -> None:
    to = ["--to", "-"] if sealed else ["--to", "-", "--unencrypted"]
    command = (
        "import subprocess, sys; "
        f"out = subprocess.Popen([sys.executable, 'manage.py', 'backup', *{to!r}], stdout=subprocess.PIPE); "
        "out.stdout.close(); print('status', out.wait())"
    )
    variables = {"BACKUP_RECIPIENT": make_key(tmp_path / "key") if sealed else "", "DATA_DIR": str(tmp_path / "data")}
    with book_process("-c", command, **variables) as process:
        process.wait()
        assert process.output() == "standard output cannot be written: Broken pipe\nstatus 1\n"
    assert BackupRun.objects.get().error


def test_what_has_no_tables_yet_is_not_backed_up(book_process: Start, tmp_path: Path) -> None:
    """As in the first second of the first start: a script would keep that as the backup of the day."""
    to = tmp_path / "a.backup"
    begin = (
        "import django; django.setup(); from django.db import connection; "
        "from django.db.migrations.recorder import MigrationRecorder; MigrationRecorder(connection).ensure_schema(); "
        "from django.core.management import call_command; "
        f"call_command('backup', '--unencrypted', to={str(to)!r})"
    )
    variables = {"DATABASE_URL": schemas.empty("new", tmp_path), "DATA_DIR": str(tmp_path / "data")}
    with book_process("-c", begin, **variables) as process:
        assert process.wait() == 1
        assert "The database has no tables yet." in process.output()
    assert not to.exists()


def test_while_the_tables_are_made_nothing_is_backed_up(tmp_path: Path) -> None:
    said = said_while_migrating("backup", "--unencrypted", to=str(tmp_path / "a.backup"))
    assert (said, list(tmp_path.iterdir())) == ([BEING_MADE_READY], [])


def test_a_full_disk_leaves_the_last_good_one(db: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.backup"
    back_up_to(path, "")
    good = path.read_bytes()
    public = make_key(tmp_path / "key")

    class Full(making._Counted):
        def write(self, content: bytes) -> int:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(making, "_Counted", Full)
    for recipient in ("", public):
        with pytest.raises(OSError, match="No space left"):
            back_up_to(path, recipient)
    assert path.read_bytes() == good
    assert {entry.name for entry in tmp_path.iterdir()} == {"a.backup", "key"}


def test_the_last_good_one_and_what_failed_since_are_known(db: None) -> None:
    assert last_backup() is None
    moment = datetime.fromisoformat("2026-03-16T04:20:00+00:00")
    for days, error in ((2, ""), (1, ""), (0, "No space left on device")):
        at = moment - timedelta(days=days)
        BackupRun.objects.create(made_at=at, ended_at=at, place="a", error=error)
    last = last_backup()
    assert last
    assert last.made_at == moment - timedelta(days=1)
    failed = backup_failed_since(last)
    assert failed
    assert failed.error == "No space left on device"
