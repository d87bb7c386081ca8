"""Photos, receipts and papers in an S3-compatible store: kept, shown, swept, backed up and restored there."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from botocore.client import BaseClient
from botocore.exceptions import ClientError
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config.backup import Refused, back_up_to_stream, folder, making, restore_from
from config.doctor import servers
from config.doctor.wrong import Wrong
from config.environment import ObjectStore
from config.object_files import ObjectFiles
from config.pictures import Page
from costing.actions import drop_receipt, keep_receipts, make_paper
from costing.archive.dumping import dump
from costing.archive.everything import everything_of, make_export
from costing.archive.packing import write_zip
from costing.models import CostEntry, Paper, Receipt
from fleet.actions.photos import keep_photo
from fleet.models import Car, Photo
from instructors.actions import clean_up
from instructors.erasure import erase
from instructors.models import Member
from tests.factories import CostEntryFactory, MemberFactory, PaperFactory, PhotoFactory
from tests.flows.whole_book import fill_every_table, rows
from tests.objectserver import kept_in, object_server

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.filterwarnings("ignore:datetime.datetime.utcnow:DeprecationWarning"),
]
JPEG = b"\xff\xd8" + bytes(range(256)) * 400


@pytest.fixture
def store(settings: Any, files_folder: Path) -> Iterator[ObjectStore]:
    with object_server() as found:
        kept_in(found, settings)
        yield found


@pytest.fixture
def cost(keeper: Member, car: Car) -> CostEntry:
    return CostEntryFactory.create(car=car, member=keeper)


def contents(store: ObjectStore) -> dict[str, bytes]:
    files, found = ObjectFiles(store), {}
    for name in files.names():
        with files.open(name) as file:
            found[name] = file.read()
    return found


def test_a_photo_is_shown_to_whom_it_may_be_and_lies_on_no_disk(
    store: ObjectStore, files_folder: Path, everyone: dict[str, Client], car: Car
) -> None:
    photo = PhotoFactory.create(car=car, image=ContentFile(JPEG, "a.jpg"))
    assert contents(store) == {photo.image.name: JPEG}
    assert not [path for path in files_folder.rglob("*") if path.is_file()]
    shown = everyone["keeper"].get(reverse("fleet:photo", args=[photo.pk]))
    assert (shown.status_code, b"".join(shown.streaming_content)) == (200, JPEG)
    assert int(shown.headers["Content-Length"]) == len(JPEG)
    assert everyone["stranger"].get(reverse("fleet:photo", args=[photo.pk])).status_code == 404
    photo.image.storage.delete(photo.image.name)
    assert everyone["keeper"].get(reverse("fleet:photo", args=[photo.pk])).status_code == 404


def test_a_receipt_goes_into_the_archive(store: ObjectStore, cost: CostEntry, keeper: Member) -> None:
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG[::-1], JPEG[:9])])
    lost = Receipt.objects.last()
    lost.picture.storage.delete(lost.picture.name)
    packed, dumped = BytesIO(), dump(keeper)
    write_zip(dumped.contents, packed)
    assert (len(dumped.pictures), dumped.lost) == (1, 1)
    assert JPEG in packed.getvalue()


@pytest.mark.parametrize("is_long", [False, True])
def test_a_members_own_download_holds_receipts_and_photos(
    store: ObjectStore,
    cost: CostEntry,
    keeper: Member,
    everyone: dict[str, Client],
    monkeypatch: pytest.MonkeyPatch,
    is_long: bool,
) -> None:
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    photo = PhotoFactory.create(car=cost.car, taken_by=keeper, image=ContentFile(JPEG[::-1], "a.jpg"))
    PhotoFactory.create(car=cost.car, taken_by=keeper)  # its file is gone
    # Rows and pictures together are longer than one of the pictures, and shorter than three.
    monkeypatch.setattr("config.budgets.EXPORT_BYTES_AT_ONCE", len(JPEG) * (1 if is_long else 3))
    answer = everyone["keeper"].post(reverse("costing:export"))
    assert answer.status_code == (303 if is_long else 200)
    if is_long:
        paper = Paper.objects.get()
        assert paper.is_made or make_paper(paper.pk, {"export": make_export})
        answer = everyone["keeper"].get(reverse("costing:paper-file", args=[paper.pk]))
        assert f"papers/{paper.pk}.zip" in contents(store)
    with ZipFile(BytesIO(b"".join(answer.streaming_content))) as archive:
        assert archive.read(f"receipts/{Receipt.objects.get().pk}.jpg") == JPEG
        assert [name for name in archive.namelist() if "/photos/" in name] == [f"beside/photos/{photo.pk}.jpg"]
        assert archive.read(f"beside/photos/{photo.pk}.jpg") == JPEG[::-1]


def test_what_a_store_is_asked_does_not_grow_with_the_pictures(
    store: ObjectStore, cost: CostEntry, keeper: Member, monkeypatch: pytest.MonkeyPatch
) -> None:
    def asked() -> int:
        made.clear()
        everything_of(keeper)
        return len(made)

    made: list[str] = []
    call = BaseClient._make_api_call

    def noted(self: BaseClient, name: str, given: Any) -> Any:
        made.append(name)
        return call(self, name, given)

    monkeypatch.setattr(BaseClient, "_make_api_call", noted)
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    few = asked()
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG[number:], JPEG[:9]) for number in range(1, 5)])
    assert asked() == few == 1


def test_what_is_erased_is_gone_from_the_store(store: ObjectStore, car: Car) -> None:
    helper = MemberFactory.create()
    keep_receipts(by=helper, entry=CostEntryFactory.create(car=car, member=helper), pages=[Page(JPEG, JPEG[:9])])
    PhotoFactory.create(car=car, taken_by=helper, image=ContentFile(JPEG, "a.jpg"))
    assert len(contents(store)) == 3
    erase(by=helper, member=helper)
    assert contents(store) == {}


def test_what_belongs_to_nothing_is_swept(store: ObjectStore, cost: CostEntry, keeper: Member) -> None:
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    ObjectFiles(store).save("receipts/nobodys.jpg", ContentFile(JPEG))
    for name in ("papers/nobodys.pdf", "photos/nobodys.jpg"):
        ObjectFiles(store).save(name, ContentFile(JPEG))
    clean_up(timezone.now())
    assert len(contents(store)) == 5
    clean_up(timezone.now() + timedelta(days=1, minutes=1))
    receipt = Receipt.objects.get()
    assert set(contents(store)) == {receipt.picture.name, receipt.thumbnail.name}


def test_a_store_that_is_gone_is_said_beside_the_field(
    store: ObjectStore, settings: Any, cost: CostEntry, keeper: Member
) -> None:
    kept_in(replace(store, endpoint="http://127.0.0.1:9"), settings)
    with pytest.raises(ValidationError, match="This cannot be kept"):
        keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    assert not Receipt.objects.exists()


def test_what_a_store_that_is_away_cannot_delete_goes_another_night(
    store: ObjectStore, settings: Any, cost: CostEntry, keeper: Member
) -> None:
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    kept_in(replace(store, endpoint="http://127.0.0.1:9"), settings)
    drop_receipt(by=keeper, receipt=Receipt.objects.get())
    assert not Receipt.objects.exists()
    kept_in(store, settings)
    clean_up(timezone.now() + timedelta(days=2))
    assert contents(store) == {}


def test_a_page_says_that_the_store_is_away(
    store: ObjectStore, settings: Any, cost: CostEntry, everyone: dict[str, Client]
) -> None:
    photo = PhotoFactory.create(car=cost.car, image=ContentFile(JPEG, "a.jpg"))
    kept_in(replace(store, endpoint="http://127.0.0.1:9"), settings)
    client = everyone["keeper"]
    client.raise_request_exception = False
    for answer in (
        client.get(reverse("fleet:photo", args=[photo.pk])),
        client.post(reverse("costing:export")),
    ):
        assert answer.status_code == 503
        assert "the store of its files does not answer as it should" in answer.content.decode()
    assert client.get(reverse("costing:entries")).status_code == 200


def test_pages_that_only_lead_to_a_picture_or_a_paper_are_there_without_the_store(
    store: ObjectStore, settings: Any, cost: CostEntry, keeper: Member, everyone: dict[str, Client]
) -> None:
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    paper = PaperFactory.create(member=keeper, state="made", file="papers/a.pdf", made_at=timezone.now())
    kept_in(replace(store, endpoint="http://127.0.0.1:9"), settings)
    receipt = Receipt.objects.get()
    for address, leads_to in (
        (reverse("costing:entry-correct", args=["cost", cost.pk]), "costing:receipt"),
        (reverse("costing:receipt-remove", args=[receipt.pk]), "costing:receipt"),
        (reverse("costing:paper", args=[paper.pk]), "costing:paper-file"),
        (reverse("costing:paper-list"), "costing:paper-file"),
    ):
        answer = everyone["keeper"].get(address)
        to = paper.pk if "paper" in leads_to else receipt.pk
        assert (answer.status_code, reverse(leads_to, args=[to]) in answer.content.decode()) == (200, True), address


def test_a_member_is_told_that_the_store_is_away_and_not_that_there_is_no_room(
    store: ObjectStore, settings: Any, cost: CostEntry, keeper: Member
) -> None:
    kept_in(replace(store, endpoint="http://127.0.0.1:9"), settings)
    words = "the store of the pictures does not answer as it should. Nothing is saved yet. Try again"
    with pytest.raises(ValidationError, match=words):
        keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    with pytest.raises(ValidationError, match=words):
        keep_photo(by=keeper, car=cost.car, picture=JPEG)
    paper = PaperFactory.create(member=keeper)
    assert not make_paper(paper.pk, {paper.kind: lambda *_: b"%PDF"})
    paper.refresh_from_db()
    assert paper.error == "The store of the files does not answer as it should. Ask for it again in a while."


# --- What doctor says of it ------------------------------------------------------------------------------------


def test_doctor_writes_into_the_store_and_leaves_nothing(store: ObjectStore, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[str] = []
    call = BaseClient._make_api_call

    def noted(self: BaseClient, name: str, given: Any) -> Any:
        made.append(name)
        if name == "PutObject" and refuses:
            raise ClientError({"Error": {"Code": "AccessDenied", "Message": "read only"}}, name)
        return call(self, name, given)

    refuses = False
    monkeypatch.setattr(BaseClient, "_make_api_call", noted)
    assert servers.store() == f"{store}: can be read and written to."
    assert {"PutObject", "DeleteObject"} <= set(made)
    assert contents(store) == {}
    refuses = True
    with pytest.raises(Wrong, match="the store refused"):
        servers.store()


def test_a_book_whose_files_stayed_on_the_disk_is_told_how_to_move_them(
    store: ObjectStore, files_folder: Path, settings: Any, car: Car
) -> None:
    in_store = dict(settings.STORAGES)
    settings.STORAGES = settings.STORAGES | {"default": {"BACKEND": "config.whole_files.WholeFiles"}}
    PhotoFactory.create(car=car, image=ContentFile(JPEG, "a.jpg"))
    settings.STORAGES = in_store
    with pytest.raises(Wrong, match=r"FILES_URL is set, but the files of the book lie in .* back up, .* restore"):
        servers.store()
    PhotoFactory.create(car=car, image=ContentFile(JPEG, "b.jpg"))
    assert servers.store() == f"{store}: can be read and written to."


# --- Backed up and restored ---------------------------------------------------------------------------------


def without_the_book() -> None:
    call_command("flush", interactive=False, verbosity=0)


def test_a_book_is_backed_up_and_restored_with_its_files(store: ObjectStore, files_folder: Path) -> None:
    folder.arriving().mkdir(parents=True)
    fill_every_table(files_folder)
    before, files = rows(), contents(store)
    assert files
    backup = BytesIO()
    made = back_up_to_stream(backup, "")
    assert made.files == len(files)
    without_the_book()
    with pytest.raises(Refused, match=f"There are files of a book in {store}:"):
        restore_from(backup, None)
    for name in files:
        ObjectFiles(store).delete(name)
    restore_from(backup, None)
    assert (rows(), contents(store)) == (before, files)


def test_a_restore_that_was_killed_is_cleared_by_the_next(store: ObjectStore, monkeypatch: pytest.MonkeyPatch) -> None:
    photo = PhotoFactory.create(image=ContentFile(JPEG, "a.jpg"))
    backup = BytesIO()
    back_up_to_stream(backup, "")
    without_the_book()
    # What one leaves that is killed while it sends: its mark and a file.
    ObjectFiles(store).delete(photo.image.name)
    ObjectFiles(store).save("arriving/restore.txt", ContentFile(b"begun"))
    ObjectFiles(store).save("photos/of-another-book.jpg", ContentFile(b"half"))
    restore_from(backup, None)
    assert contents(store) == {photo.image.name: JPEG}


def test_a_file_that_is_deleted_while_it_is_backed_up_is_missing(
    store: ObjectStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    photos = [PhotoFactory.create(image=ContentFile(JPEG, f"{name}.jpg")) for name in "ab"]
    write_files = making._write_files

    def after_a_deletion(*given: Any) -> None:
        Photo.objects.filter(pk=photos[0].pk).delete()
        ObjectFiles(store).delete(photos[0].image.name)
        write_files(*given)

    monkeypatch.setattr(making, "_write_files", after_a_deletion)
    made = back_up_to_stream(BytesIO(), "")
    assert (made.files, made.missing) == (1, [photos[0].image.name])
