"""Receipts in an archive: written as they are kept, and read back as nothing else than that."""

import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from config import budgets
from config.pictures import as_pages
from costing.actions import keep_receipts
from costing.archive.dumping import dump
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import load
from costing.archive.packing import save
from costing.models import CostEntry, Fill, Receipt
from fleet.models import Car
from tests.costing.archive_sample import row_counts
from tests.costing.receipts import PDF, PHOTO, kept
from tests.costing.test_archive_dump import empty_the_book
from tests.factories import CostEntryFactory, FillFactory
from tests.pictures import picture_bytes

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today", "files_folder")]


@pytest.fixture
def cost(car: Car) -> CostEntry:
    return CostEntryFactory.create(car=car, member=car.keeper)


@pytest.fixture
def fill(car: Car) -> Fill:
    return FillFactory.create(car=car, member=car.keeper)


@pytest.fixture
def receipts(cost: CostEntry, fill: Fill) -> list[Receipt]:
    """A photo of a cost, and two pages of a fill."""
    for entry, uploads in ((cost, [PHOTO]), (fill, [PDF, picture_bytes(size=(9, 30))])):
        pages = [page for upload in uploads for page in as_pages(io.BytesIO(upload))]
        keep_receipts(by=entry.member, entry=entry, pages=pages)
    return list(Receipt.objects.order_by("fill", "position"))


def bytes_in(path: Path) -> dict[str, bytes]:
    if path.is_file():
        with zipfile.ZipFile(path) as archive:
            return {name: archive.read(name) for name in archive.namelist()}
    return {str(file.relative_to(path)): file.read_bytes() for file in path.rglob("*") if file.is_file()}


def written(path: Path) -> Path:
    save(dump().contents, path)
    return path


def refusal_of(path: Path, files_folder: Path) -> list[str]:
    before, files = row_counts(), set(files_folder.rglob("*"))
    with pytest.raises(ArchiveRefused) as refused:
        load(path)
    assert (row_counts(), set(files_folder.rglob("*"))) == (before, files)
    return [str(fault) for fault in refused.value.faults]


@pytest.mark.parametrize("name", ["archive", "archive.zip"])
def test_dump_load_dump_gives_the_same_bytes(name: str, tmp_path: Path, receipts: list[Receipt]) -> None:
    first = written(tmp_path / "first" / name)
    assert {f"receipts/{one.pk}.jpg" for one in receipts} < bytes_in(first).keys()
    empty_the_book()
    for receipt in receipts:
        receipt.picture.storage.delete(receipt.picture.name)
        receipt.thumbnail.storage.delete(receipt.thumbnail.name)
    assert load(first).added["receipts.csv"] == 3
    second = written(tmp_path / "second" / name)
    assert bytes_in(second) == bytes_in(first)
    assert load(first).already_known["receipts.csv"] == 3
    for receipt in Receipt.objects.all():
        assert receipt.thumbnail.size + receipt.picture.size == receipt.size
        assert receipt.member == receipt.entry.member


def test_each_row_names_its_entry_place_and_file(receipts: list[Receipt], cost: CostEntry, fill: Fill) -> None:
    header, *lines = dump().files["receipts.csv"].decode().splitlines()
    assert header == "id,cost_ref,fill_ref,position,file"
    wanted = [f"{one.pk},{'' if one.fill else cost.ref},{fill.ref if one.fill else ''},{one.position},{one.pk}.jpg"
              for one in receipts]  # fmt: skip
    assert lines == sorted(wanted)


def test_a_book_without_receipts_has_no_such_file() -> None:
    assert "receipts.csv" not in dump().files
    assert dump().pictures == {}


def test_a_voided_entry_and_its_receipts_are_left_out(receipts: list[Receipt]) -> None:
    CostEntry.objects.update(voided_at="2026-03-12T09:00Z")
    made = dump()
    assert made.files["receipts.csv"].count(b"\n") == 1 + 2
    assert len(made.pictures) == 2


def test_a_member_gets_their_own_alone(
    receipts: list[Receipt], everyone: dict[str, Client], colleague_car: Car
) -> None:
    theirs = CostEntryFactory.create(car=colleague_car, member=colleague_car.keeper)
    (other,) = kept(theirs, "theirs")
    response = everyone["keeper"].post(reverse("costing:export"))
    with zipfile.ZipFile(io.BytesIO(b"".join(response))) as archive:
        pictures = {name for name in archive.namelist() if name.startswith("receipts/")}
        everything = b"".join(archive.read(name) for name in archive.namelist())
    assert pictures == {f"receipts/{one.pk}.jpg" for one in receipts}
    assert str(other.pk).encode() not in everything
    assert b"theirs" not in everything


def test_one_that_is_lost_is_left_out_and_told(
    receipts: list[Receipt], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    receipts[0].picture.storage.delete(receipts[0].picture.name)
    call_command("dump_archive", str(tmp_path / "a.zip"))
    assert "Receipts left out because their pictures are no longer there: 1" in capsys.readouterr().err
    names = bytes_in(tmp_path / "a.zip").keys()
    assert f"receipts/{receipts[0].pk}.jpg" not in names
    assert len(names & {f"receipts/{one.pk}.jpg" for one in receipts[1:]}) == 2


def test_an_older_archive_in_the_folder_leaves_no_picture(tmp_path: Path, receipts: list[Receipt]) -> None:
    path = written(tmp_path / "archive")
    (path / "receipts" / "letter.txt").write_text("mine")
    Receipt.objects.all().delete()
    assert save(dump().contents, path) == ["receipts/letter.txt"]
    assert not list(path.rglob("*.jpg"))
    assert not (path / "receipts.csv").exists()


# --- What is refused -------------------------------------------------------------------------------------


def a_gap(path: Path) -> None:
    path.unlink()


def a_comment(path: Path) -> None:
    jpeg = path.read_bytes()
    path.write_bytes(jpeg[:2] + b"\xff\xfe\x00\x06abcd" + jpeg[2:])


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (a_gap, "is not in the archive"),
        (a_comment, "is damaged, or is no JPEG that this book has written"),
        (lambda path: path.write_bytes(b"GIF89a"), "is damaged, or is no JPEG that this book has written"),
        (lambda path: path.write_bytes(b""), "is damaged, or is no JPEG that this book has written"),
        (lambda path: path.write_bytes(bytes(budgets.RECEIPT_BYTES + 1)), "holds more than 5 MB; no picture of this"),
    ],
)
@pytest.mark.parametrize("is_packed", [False, True])
def test_a_picture_that_is_not_as_the_book_keeps_them_is_a_fault(
    spoil: Callable[[Path], object],
    words: str,
    is_packed: bool,
    tmp_path: Path,
    files_folder: Path,
    receipts: list[Receipt],
) -> None:
    folder = written(tmp_path / "archive")
    empty_the_book()
    name = sorted(path.name for path in (folder / "receipts").iterdir())[1]
    spoil(folder / "receipts" / name)
    if is_packed:
        files = bytes_in(folder)
        with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
            for file, content in files.items():
                archive.writestr(file, content)
        folder = tmp_path / "a.zip"
    (told,) = refusal_of(folder, files_folder)
    assert told.startswith(f"receipts.csv:3: file: receipts/{name} {words}")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("{cost}", "nobodys", "receipts.csv:2: cost_ref: nobodys is no cost of costs.csv or of the book"),
        ("{cost},", "{cost},{fill}", "receipts.csv:2: cost_ref: and fill_ref: both are given"),
        ("{cost},", ",", "receipts.csv:2: cost_ref: and fill_ref: neither is given"),
        (",1,{pk}", ",0,{pk}", 'receipts.csv:2: position: "0" is less than 1'),
        ("{pk}.jpg", "{pk}.png", "receipts.csv:2: file: "),
        ("{pk}.jpg", "../../evil.jpg", 'receipts.csv:2: file: "../../evil" is no id'),
        ("{pk}.jpg", "00000000-0000-0000-0000-000000000000.jpg", "receipts.csv:2: file: is not {pk}.jpg"),
        ("{pk},", "{pk}x,", "receipts.csv:2: id: "),
    ],
)
def test_a_row_that_is_wrong_is_a_fault(
    old: str, new: str, words: str, tmp_path: Path, files_folder: Path, cost: CostEntry, fill: Fill
) -> None:
    keep_receipts(by=cost.member, entry=cost, pages=as_pages(io.BytesIO(PHOTO)))
    named = {"cost": cost.ref, "fill": fill.ref, "pk": str(cost.receipts.get().pk)}
    folder = written(tmp_path / "archive")
    text = (folder / "receipts.csv").read_text()
    assert old.format(**named) in text
    (folder / "receipts.csv").write_text(text.replace(old.format(**named), new.format(**named), 1))
    empty_the_book()
    told = refusal_of(folder, files_folder)
    assert any(one.startswith(words.format(**named)) for one in told), told


def test_a_picture_that_no_row_names_is_a_fault(tmp_path: Path, files_folder: Path, receipts: list[Receipt]) -> None:
    folder = written(tmp_path / "archive")
    (folder / "receipts" / "letter.jpg").write_bytes(PHOTO)
    assert refusal_of(folder, files_folder) == ["receipts/letter.jpg:1: (file): belongs to no row of receipts.csv"]


def test_a_zipped_folder_is_taken_with_the_litter_of_its_system(tmp_path: Path, receipts: list[Receipt]) -> None:
    files = bytes_in(written(tmp_path / "archive"))
    with zipfile.ZipFile(tmp_path / "a.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(f"our book/{name}", content)
        archive.writestr("__MACOSX/our book/receipts/._a.jpg", b"\0")
        archive.writestr("our book/receipts/.DS_Store", b"\0")
    assert load(tmp_path / "a.zip").already_known["receipts.csv"] == 3


def test_a_link_is_not_followed(tmp_path: Path, files_folder: Path, receipts: list[Receipt]) -> None:
    folder = written(tmp_path / "archive") / "receipts"
    empty_the_book()
    first = min(folder.iterdir())
    first.rename(tmp_path / "elsewhere.jpg")
    first.symlink_to(tmp_path / "elsewhere.jpg")
    (told,) = refusal_of(folder.parent, files_folder)
    assert told.startswith(f"receipts.csv:2: file: receipts/{first.name} cannot be read: ")


def test_more_pictures_than_that_are_refused(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, files_folder: Path, receipts: list[Receipt]
) -> None:
    monkeypatch.setattr(budgets, "ARCHIVE_PICTURES", 2)
    for path in (tmp_path / "archive", tmp_path / "archive.zip"):
        told = refusal_of(written(path), files_folder)
        assert "holds more than 2 pictures; nothing of it was loaded" in told[0]
