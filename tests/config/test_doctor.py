"""`manage.py doctor`: what is right, what is wrong and what to do, and never a traceback."""

import json
import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.management import ManagementUtility, call_command
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from config import disk, doctor, pdf
from config.doctor import front, machine, servers, site
from config.doctor.wrong import Wrong
from config.pdf import CannotPrint
from config.refusal import CannotStart
from tests import run
from tests.hookserver import HookServer
from tests.mailserver import MailServer
from tests.servers import Redis

#: Where nobody listens.
NOWHERE = "127.0.0.1:1"


def test_each_check_is_one_line_and_the_status_says_whether_all_are_right(book_process, redis_server: Redis) -> None:
    said = {"SITE_URL": "http://localhost:8000", "REDIS_URL": "", "MAIL_FROM": "Book <book@book.example>"}
    process = book_process("manage.py", "doctor", **said)
    assert process.wait() == 0, process.output()
    lines = process.output().splitlines()
    assert len(lines) == len(doctor.CHECKS) + 1
    assert all(line.startswith("right  ") for line in lines)


def test_it_works_with_nothing_around_it(book_process, tmp_path: Path) -> None:
    process = book_process(
        *("manage.py", "doctor", "--json"),
        DATABASE_URL=f"postgres://book:pa55@{NOWHERE}/book",
        REDIS_URL=f"redis://:pa55@{NOWHERE}/0",
        EMAIL_URL=f"smtp://book:pa55@{NOWHERE}",
        SITE_URL="https://book.invalid",
        STATIC_FILES_COLLECTED="1",
        ALARM_URL=f"https://{NOWHERE}/pa55",
        DATA_DIR=str(tmp_path),
    )
    assert process.wait() == 1
    said, _, end = process.output().rpartition("}\n")
    answer = json.loads(said + "}")
    wrong = [check["what"] for check in answer["checks"] if not check["is_right"]]
    assert wrong == [
        "site",
        "host",
        "front",
        "database",
        "tables",
        "queue",
        "static files",
        "sender",
        "web hook",
        "duty",
        "mail",
    ]
    assert answer["right"] is False
    assert end == f"11 of {len(answer['checks'])} are wrong: {', '.join(wrong)}.\n"
    assert "Traceback" not in process.output()
    assert "pa55" not in process.output()


@pytest.mark.parametrize("arguments", [["--mail"], ["--mail", "nobody"], ["--everything"]])
def test_wrong_use_has_the_status_of_wrong_use(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as leaving:
        ManagementUtility(["manage.py", "doctor", *arguments]).execute()
    assert leaving.value.code == 2


def test_a_check_that_fails_in_a_way_nobody_foresaw_keeps_no_other_back(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> str:
        raise KeyError("of\nthe inside")

    monkeypatch.setattr(doctor, "CHECKS", (("first", fail), ("second", lambda: "Well.")))
    monkeypatch.setattr(servers, "mail", lambda to: "Well.")
    first, second, last = doctor.examine(mail_to=None)
    assert not first.is_right
    assert first.words.startswith("This could not be looked at (KeyError: ")
    assert "\n" not in first.words
    assert second.is_right
    assert last.is_right


# --- The site -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"SITE_URL": "http://localhost:8000"}, "SITE_URL: is not set to an address"),
        ({"SITE_URL": "http://book.example", "SITE_IS_SECURE": False}, "SITE_URL: is plain http"),
        ({"DEBUG": True}, "DEBUG: is on"),
        ({"TRUSTED_PROXIES": 0}, "TRUSTED_PROXIES: is 0"),
    ],
)
def test_settings_that_make_no_site_are_told(changed: dict[str, Any], words: str, settings) -> None:
    right = {"SITE_URL": "https://book.example", "SITE_IS_SECURE": True, "DEBUG": False, "TRUSTED_PROXIES": 1}
    for name, value in right.items():
        setattr(settings, name, value)
    assert site.site() == "https://book.example; proxies in front that are believed: 1."
    for name, value in changed.items():
        setattr(settings, name, value)
    with pytest.raises(Wrong, match=words):
        site.site()


def test_a_name_that_nobody_knows_is_told(settings) -> None:
    settings.SITE_URL = "https://localhost"
    assert site.host().startswith("localhost is ")
    settings.SITE_URL = "https://book.invalid"
    with pytest.raises(Wrong, match=r"The name book\.invalid is not known here"):
        site.host()


def test_what_stands_in_front_and_does_not_lead_to_the_book_is_told(
    hook_server: HookServer, settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.SITE_URL, settings.SITE_IS_SECURE = hook_server.url.removesuffix("/secret-path"), True
    for status, words in ((200, "not by the book"), (503, "is answered with 503"), (301, "led there again")):
        hook_server.status = status
        with pytest.raises(Wrong, match=words):
            front.front()
    monkeypatch.delenv("SSL_CERT_FILE")
    with pytest.raises(Wrong, match="a certificate that no browser takes"):
        front.front()
    settings.SITE_URL = f"https://{NOWHERE}"
    with pytest.raises(Wrong, match="cannot be opened from here"):
        front.front()


def test_a_certificate_that_nobody_renews_is_told(hook_server: HookServer, settings) -> None:
    settings.SITE_URL, settings.SITE_IS_SECURE = hook_server.url.removesuffix("/secret-path"), True
    hook_server.status, hook_server.headers = 200, {"X-Request-Id": "0123abcd"}
    assert front.front() == f"{settings.SITE_URL} opens, with a certificate until 1 January 2090."
    with time_machine.travel(datetime(2080, 1, 1, tzinfo=UTC)), pytest.raises(Wrong, match="no other has come"):
        front.front()


# --- Servers ------------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_a_database_of_another_release_is_told() -> None:
    assert servers.database().startswith("PostgreSQL " if run.on_postgresql() else "SQLite in ")
    assert servers.tables() == "Those of this release."
    MigrationRecorder(connection).record_applied("costing", "0999_of_a_later_release")
    with pytest.raises(Wrong, match="of a newer release"):
        servers.tables()


@pytest.mark.skipif(not run.on_postgresql(), reason="SQLite has the clock of its process")
@pytest.mark.django_db
@pytest.mark.parametrize(
    ("apart", "zone", "words"),
    [
        (timedelta(minutes=-3), timedelta(), r"This machine's clock and the database's are 180 s apart"),
        (timedelta(), timedelta(hours=1), r"rules for the time in Europe/London"),
    ],
)
def test_a_clock_that_is_not_the_databases_is_told(
    apart: timedelta, zone: timedelta, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    true_rows = servers.rows

    def other_rows(sql: str, *values: str) -> list[tuple[datetime, datetime]]:
        [(there, local)] = true_rows(sql, *values)
        return [(there + apart, local + apart + zone)]

    assert servers.clock().endswith("in Europe/London.")
    monkeypatch.setattr(servers, "rows", other_rows)
    with pytest.raises(Wrong, match=words):
        servers.clock()


@pytest.mark.django_db
def test_a_clock_before_the_book_was_set_up_is_told() -> None:
    MigrationRecorder(connection).migration_qs.update(applied=datetime.now(UTC) + timedelta(days=1))
    with pytest.raises(Wrong, match="but the book was set up later"):
        servers.clock()


def test_redis_answers_and_takes_tasks_or_it_is_told(settings, redis_server: Redis) -> None:
    assert servers.queue().endswith(" answers and takes tasks.")
    redis_server.fill()
    try:
        with pytest.raises(Wrong, match="Redis answers and takes nothing, as its memory is full"):
            servers.queue()
    finally:
        redis_server.make_room()
    settings.REDIS_URL = f"redis://{NOWHERE}/0"
    with pytest.raises(Wrong, match="Redis does not answer"):
        servers.queue()


def test_a_mail_goes_out_only_to_a_given_address(settings, smtp_server: MailServer) -> None:
    settings.EMAIL_IS_SENT = True
    assert "lets the book in" in servers.mail(None)
    assert smtp_server.messages == []
    assert "was handed over" in servers.mail("ann@book.example")
    [message] = smtp_server.messages
    assert message["To"] == "ann@book.example"
    smtp_server.refuse_next(1)
    with pytest.raises(Wrong, match="does not take it: 451"):
        servers.mail("ann@book.example")


def test_a_server_without_a_mail_server_is_told(settings) -> None:
    settings.EMAIL_IS_SENT = False
    with pytest.raises(Wrong, match="EMAIL_URL: is not set"):
        servers.mail(None)


# --- The machine --------------------------------------------------------------------------------------------


def test_a_folder_of_another_account_is_told(settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.MEDIA_ROOT, settings.FILE_UPLOAD_TEMP_DIR = tmp_path, tmp_path / "arriving"
    (tmp_path / "arriving").mkdir()
    assert machine.folders().startswith("The book can write into")
    monkeypatch.setattr(os, "geteuid", lambda: 54321)
    with pytest.raises(Wrong, match=r"belongs to \w+, and this is account 54321"):
        machine.folders()


def test_a_folder_for_backups_that_cannot_take_one_is_told(settings, tmp_path: Path) -> None:
    settings.BACKUP_FOLDER = tmp_path / "mounted"
    with pytest.raises(Wrong, match=r"^BACKUP_FOLDER: there is no folder \S+/mounted here"):
        machine.folders()
    settings.BACKUP_FOLDER.write_text("No folder.")
    with pytest.raises(Wrong, match=r"^BACKUP_FOLDER: there is no folder"):
        machine.folders()
    settings.BACKUP_FOLDER.unlink()
    settings.BACKUP_FOLDER.mkdir()
    assert str(settings.BACKUP_FOLDER) in machine.folders()
    # Where nobody, root neither, can write.
    settings.BACKUP_FOLDER = Path("/proc/self")
    with pytest.raises(CannotStart, match=r"^BACKUP_FOLDER: the book's account cannot write into /proc/self"):
        machine.folders()


@pytest.mark.django_db
def test_a_disk_that_is_nearly_full_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    assert machine.disk().endswith("is free.")
    monkeypatch.setattr(disk, "FREE_BYTES", 10**18)
    with pytest.raises(Wrong, match=r"Only [0-9,]+ MB of [0-9,]+ MB is free on the disk of the book"):
        machine.disk()


def test_libraries_that_are_missing_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    assert machine.printing() == "PDFs can be made."

    def cannot(html: str) -> None:
        raise CannotPrint("libpango")

    monkeypatch.setattr(pdf, "_laid_out", cannot)
    with pytest.raises(Wrong, match="apt-get install -y --no-install-recommends libpango"):
        machine.printing()


def test_static_files_of_an_earlier_release_are_told(settings, tmp_path: Path) -> None:
    settings.STATIC_ROOT, settings.STATIC_FILES_COLLECTED = tmp_path, True
    settings.STORAGES = settings.STORAGES | {"staticfiles": {"BACKEND": "config.lean.LeanStaticFiles"}}
    with pytest.raises(Wrong, match=r"is not collected as it is now: run `manage\.py collectstatic"):
        machine.static_files()
    call_command("collectstatic", "--no-input", verbosity=0)
    assert "are collected in" in machine.static_files()
    os.utime(tmp_path / "app.css", (0, 0))
    with pytest.raises(Wrong, match=r"^app\.css is not collected as it is now"):
        machine.static_files()
    assert staticfiles_storage.location == str(tmp_path)
