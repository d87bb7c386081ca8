"""What the book keeps in files is read by its own account alone, whatever whoever starts it would let others do."""

import os
import stat
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from config.files import keep_private
from tests.processes import ROOT, BookProcess
from tests.schemas import without_tables

#: A first look: everything in files below DATA_DIR.
WITHOUT_SERVERS = {"DATABASE_URL": "", "REDIS_URL": "", "EMAIL_URL": "", "SECRET_KEY": "", "SITE_URL": ""}
Manage = Callable[..., BookProcess]


def too_open(folder: Path) -> list[str]:
    """Whatever in the folder, itself included, any other account of the machine could open or look into."""
    found = [folder, *folder.rglob("*")]
    return [f"{path.name} {stat.filemode(path.lstat().st_mode)}" for path in found if path.lstat().st_mode & 0o077]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The data folder of a book, open to all, as an earlier release left one."""
    folder = tmp_path / "var"
    (folder / "mail").mkdir(parents=True)
    (folder / "mail" / "an earlier one.log").write_text("Subject: Due soon")
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o777)
    return folder


@pytest.fixture
def manage(book_process: Callable[..., BookProcess], data: Path) -> Iterator[Manage]:
    """A function that runs one of the book's commands on files alone, started by somebody who hides nothing."""
    before = os.umask(0)

    def manage(*arguments: str) -> BookProcess:
        return book_process("manage.py", *arguments, DATA_DIR=str(data), **WITHOUT_SERVERS)

    yield manage
    os.umask(before)


def test_whatever_the_book_writes_is_for_its_own_account_alone(manage: Manage, data: Path, tmp_path: Path) -> None:
    for arguments in (
        ("migrate", "--verbosity=0"),
        ("load_archive", str(ROOT / "tests/costing/sample_archive")),
        ("send_reminders", "--on", "2027-06-01"),
        ("collectstatic", "--no-input", "--verbosity=0"),
    ):
        command = manage(*arguments)
        assert command.wait() == 0, command.output()
    written = {path.relative_to(data).parts[0] for path in data.rglob("*") if path.is_file()}
    assert written == {"book.sqlite3", "secret_key", "mail", "static"}
    assert len(list((data / "mail").iterdir())) > 1
    assert too_open(data) == []


def test_so_is_what_the_running_site_writes(manage: Manage, data: Path) -> None:
    assert manage("migrate", "--verbosity=0").wait() == 0
    keep_photo = (
        "from django.core.files.base import ContentFile; from tests.factories import PhotoFactory; "
        "PhotoFactory(image=ContentFile(b'a picture', 'brake.jpg'))"
    )
    photo = manage("shell", "--no-imports", "-c", keep_photo)
    assert photo.wait() == 0, photo.output()
    with manage("serve", "127.0.0.1:0") as server:
        server.wait_for_output("is served at")
        # In use, and so with both of its companions beside it.
        hold = manage("shell", "--no-imports", "-c", HOLD_THE_DATABASE)
        hold.wait_for_output("held")
        kept = {path.name for path in data.rglob("*") if path.is_file()}
        assert {"book.sqlite3", "book.sqlite3-wal", "book.sqlite3-shm", "served_at"} <= kept
        assert [path.suffix for path in (data / "files").rglob("*") if path.is_file()] == [".jpg"]
        assert too_open(data) == []


HOLD_THE_DATABASE = """
import time
from instructors.models import Cooperative
Cooperative.objects.create(name="Three Valleys")
print("held", flush=True)
time.sleep(60)
"""


def test_the_web_process_of_a_server_and_its_worker_write_the_same_way(data: Path) -> None:
    """Both are started by other programs, which know nothing of this."""
    files = {"DATA_DIR": str(data), "DATABASE_URL": without_tables(data.parent / "without-tables.sqlite3")}
    environment = os.environ | files | {"DJANGO_SETTINGS_MODULE": "config.settings"}
    for module in ("config.wsgi", "config.celery"):
        script = f"import {module}, django, os; django.setup(); print(oct(os.umask(0)))"
        asked = [sys.executable, "-c", script]
        found = subprocess.run(asked, cwd=ROOT, env=environment, capture_output=True, text=True)
        assert found.stdout.strip() == "0o77", found.stderr


def test_nothing_is_opened_wider_and_no_link_is_followed(tmp_path: Path) -> None:
    folder, elsewhere = tmp_path / "var", tmp_path / "elsewhere"
    folder.mkdir()
    elsewhere.write_text("not ours")
    elsewhere.chmod(0o644)
    (folder / "link").symlink_to(elsewhere)
    (folder / "read only").write_text("")
    (folder / "read only").chmod(0o444)
    keep_private(folder)
    assert stat.S_IMODE(elsewhere.stat().st_mode) == 0o644
    assert stat.S_IMODE((folder / "read only").stat().st_mode) == 0o400


def test_a_folder_that_all_share_stays_open(tmp_path: Path) -> None:
    tmp_path.chmod(0o1777)
    keep_private(tmp_path)
    assert stat.S_IMODE(tmp_path.stat().st_mode) == 0o1777
