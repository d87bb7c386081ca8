"""Backups that were cut, altered or made by another release, and processes that are killed while they are at one.

Every process here is a real one, on the test's own database.
"""

import gzip
import io
import json
import tarfile
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command

from config.backup import Refused, back_up_to_stream, make_key, read_key, restore_from
from config.commands import DataSaysNo
from tests.factories import PhotoFactory
from tests.flows.whole_book import contents, empty, rows
from tests.processes import BookProcess

pytestmark = pytest.mark.django_db(transaction=True)
Start = Callable[..., BookProcess]

#: Does the command line with a function that says where it is, and never goes on.
HANG = """
import sys, time
import django
django.setup()
from django.core.management import call_command
from config.backup import folder, making, restoring, tables
def hang(*_):
    print("hangs", flush=True)
    time.sleep(600)
{where} = hang
call_command(*sys.argv[1:])
"""


@pytest.fixture
def book(files_folder: Path) -> dict[str, Any]:
    """A small book with two photos; its rows."""
    for number in range(2):
        PhotoFactory.create(image=ContentFile(bytes(range(256)) * 300, f"{number}.jpg"))
    return rows()


@pytest.fixture
def key(tmp_path: Path) -> Any:
    make_key(tmp_path / "key")
    return read_key(tmp_path / "key")


def backup_of(book: dict[str, Any], recipient: str = "") -> bytes:
    out = BytesIO()
    back_up_to_stream(out, recipient)
    return out.getvalue()


def is_refused(content: bytes, key: Any = None) -> str:
    """The reason why it is refused; the installation is as empty as before."""
    with pytest.raises(Refused) as refusal:
        restore_from(BytesIO(content), key)
    assert not [name for name, found in rows().items() if found and name.split(".")[0] not in {"auth", "contenttypes"}]
    return str(refusal.value)


# --- Cut and altered --------------------------------------------------------------------------------------


@pytest.mark.parametrize("sealed", [False, True])
def test_one_that_is_cut_anywhere_is_refused(book: dict[str, Any], files_folder: Path, key: Any, sealed: bool) -> None:
    whole = backup_of(book, str(key.to_public()) if sealed else "")
    empty(files_folder)
    for length in (0, 1, 20, 200, len(whole) // 3, len(whole) // 2, len(whole) - 600, len(whole) - 9, len(whole) - 1):
        assert is_refused(whole[:length], key), length
    assert contents(files_folder) == {}
    restore_from(BytesIO(whole), key)
    assert rows() == book


@pytest.mark.parametrize("sealed", [False, True])
def test_one_with_a_changed_byte_is_refused(book: dict[str, Any], files_folder: Path, key: Any, sealed: bool) -> None:
    whole = backup_of(book, str(key.to_public()) if sealed else "")
    empty(files_folder)
    # Not in gzip's own head, of which a byte says on which system it was made.
    for at in (*range(15, len(whole), len(whole) // 12), len(whole) - 6):
        altered = bytearray(whole)
        altered[at] ^= 0x10
        assert is_refused(bytes(altered), key), at


def test_another_key_and_none_are_told_apart(
    book: dict[str, Any], files_folder: Path, key: Any, tmp_path: Path
) -> None:
    whole = backup_of(book, str(key.to_public()))
    empty(files_folder)
    make_key(tmp_path / "other")
    assert "sealed to another key" in is_refused(whole, read_key(tmp_path / "other"))
    assert "--identity" in is_refused(whole)
    (tmp_path / "nothing").write_text("# a comment\nno key\n")
    with pytest.raises(Refused, match="holds no secret key"):
        read_key(tmp_path / "nothing")


@pytest.mark.parametrize(
    "content",
    [b"", b"PK\x03\x04 a zip", gzip.compress(b"no tar"), gzip.compress(b"")],
    ids=["empty", "zip", "text", "nothing"],
)
def test_what_is_no_backup_is_refused(db: None, files_folder: Path, content: bytes) -> None:
    assert is_refused(content)


# --- Of another release, or made up -----------------------------------------------------------------------


def changed(whole: bytes, change: Callable[[dict[str, Any]], None], **more: bytes) -> bytes:
    """The backup with another manifest, and with ``more`` members before it."""
    out = BytesIO()
    with tarfile.open(fileobj=BytesIO(whole)) as tar, tarfile.open(fileobj=out, mode="w:gz") as written:
        for member, content in members(tar):
            if member.name == "manifest.json":
                for name, added in more.items():
                    put(written, name, added)
                manifest = json.loads(content)
                change(manifest)
                content = json.dumps(manifest).encode()
            put(written, member.name, content)
    return out.getvalue()


def members(tar: tarfile.TarFile) -> Iterator[tuple[tarfile.TarInfo, bytes]]:
    for member in tar:
        content = tar.extractfile(member)
        assert content
        yield member, content.read()


def put(tar: tarfile.TarFile, name: str, content: bytes) -> None:
    info = tarfile.TarInfo(name)
    info.size = len(content)
    tar.addfile(info, io.BytesIO(content))


def test_another_release_is_told_with_the_one_thing_to_do(book: dict[str, Any], files_folder: Path) -> None:
    whole = backup_of(book)
    empty(files_folder)
    newer = changed(whole, lambda told: told["migrations"].append(["fleet", "9999_wings"]))
    assert "newer release of the book: install that release, then restore" in is_refused(newer)
    assert "newer release" in is_refused(changed(whole, lambda told: told.update(format=2)))
    older = changed(whole, lambda told: told["migrations"].pop())
    assert "install that release, restore there, then update (1 migration came since)" in is_refused(older)
    assert "tables are not those" in is_refused(changed(whole, lambda told: told["tables"].pop("fleet_tyremove")))


@pytest.mark.parametrize(
    "name", ["files/../../out.jpg", "/etc/passwd", "rows/fleet_car/../x", "anything", "files/a.jpg"]
)
def test_what_does_not_belong_there_is_refused(
    book: dict[str, Any], files_folder: Path, tmp_path: Path, name: str
) -> None:
    whole = backup_of(book)
    empty(files_folder)
    assert is_refused(changed(whole, lambda _: None, **{name: b"x"}))
    assert not (tmp_path / "out.jpg").exists()


def test_rows_that_the_database_does_not_take_leave_it_empty(book: dict[str, Any], files_folder: Path) -> None:
    """Sums and counts are right, yet a photo's car is not there."""
    whole = backup_of(book)
    empty(files_folder)
    out = BytesIO()
    with tarfile.open(fileobj=BytesIO(whole)) as tar, tarfile.open(fileobj=out, mode="w:gz") as written:
        for member, content in members(tar):
            if member.name == "manifest.json":
                manifest = json.loads(content)
                nothing = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
                manifest["tables"]["fleet_car"] |= {"rows": 0, "sha256": nothing}
                content = json.dumps(manifest).encode()
            if not member.name.startswith("rows/fleet_car/"):
                put(written, member.name, content)
    assert "The database does not take its rows" in is_refused(out.getvalue())
    assert contents(files_folder) == {}


# --- Killed -----------------------------------------------------------------------------------------------


def test_a_backup_that_is_killed_leaves_the_one_before(
    book: dict[str, Any], book_process: Start, tmp_path: Path
) -> None:
    path = tmp_path / "backups" / "book.backup"
    path.parent.mkdir()
    path.write_bytes(backup_of(book))
    before = path.read_bytes()
    data = {"DATA_DIR": str(tmp_path / "data")}
    command = ("backup", "--unencrypted", "--to", str(path))
    with book_process("-c", HANG.format(where="making._write_files"), *command, **data) as process:
        process.wait_for_output("hangs")
        process.kill()
    assert path.read_bytes() == before
    assert len(list(path.parent.iterdir())) == 2, "what it had begun"
    with book_process("manage.py", *command, **data) as process:
        assert process.wait() == 0, process.output()
    assert list(path.parent.iterdir()) == [path]
    assert path.read_bytes() != before
    assert list((tmp_path / "data" / "files" / "arriving").iterdir()) == []


@pytest.mark.parametrize(
    "where",
    ["restoring.go_on_from", "folder.os.sync"],
    ids=["between rows and files", "between files and commit"],
)
def test_a_restore_that_is_killed_leaves_nothing_in_the_way_of_the_next(
    book: dict[str, Any], book_process: Start, files_folder: Path, tmp_path: Path, where: str
) -> None:
    files = contents(files_folder)
    (tmp_path / "book.backup").write_bytes(backup_of(book))
    empty(files_folder)
    data = {"DATA_DIR": str(tmp_path)}
    with book_process("-c", HANG.format(where=where), "restore", str(tmp_path / "book.backup"), **data) as process:
        process.wait_for_output("hangs")
        process.kill()
    assert not [name for name, found in rows().items() if found and name.split(".")[0] not in {"auth", "contenttypes"}]
    call_command("restore", str(tmp_path / "book.backup"), verbosity=0)
    assert (rows(), contents(files_folder)) == (book, files)
    with pytest.raises(DataSaysNo, match="not empty"):
        call_command("restore", str(tmp_path / "book.backup"))
