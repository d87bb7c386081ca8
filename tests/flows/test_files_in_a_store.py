"""Photos, receipts and papers in an S3-compatible store: kept, shown, swept, backed up and restored there."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config.backup import Refused, back_up_to_stream, folder, making, restore_from
from config.environment import ObjectStore
from config.object_files import ObjectFiles
from config.pictures import Page
from costing.actions.receipts import keep_receipts, sweep_receipts
from costing.archive.dumping import dump
from costing.archive.packing import write_zip
from costing.models import CostEntry, Receipt
from fleet.models import Car, Photo
from instructors.models import Member
from tests.factories import CostEntryFactory, PhotoFactory
from tests.flows.whole_book import fill_every_table, rows
from tests.objectserver import object_server

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.filterwarnings("ignore:datetime.datetime.utcnow:DeprecationWarning"),
]
JPEG = b"\xff\xd8" + bytes(range(256)) * 400


def kept_in(store: ObjectStore, settings: Any) -> None:
    settings.FILES_URL = store
    backend = {"BACKEND": "config.object_files.ObjectFiles", "OPTIONS": {"store": store}}
    settings.STORAGES = settings.STORAGES | {"default": backend}


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
    packed = BytesIO()
    write_zip(dump(keeper).contents, packed)
    assert JPEG in packed.getvalue()


def test_what_belongs_to_nothing_is_swept(store: ObjectStore, cost: CostEntry, keeper: Member) -> None:
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    ObjectFiles(store).save("receipts/nobodys.jpg", ContentFile(JPEG))
    assert sweep_receipts() == 0
    with time_machine.travel(timezone.now() + timedelta(days=1, minutes=1), tick=False):
        assert sweep_receipts() == 1
    receipt = Receipt.objects.get()
    assert set(contents(store)) == {receipt.picture.name, receipt.thumbnail.name}


def test_a_store_that_is_gone_is_said_beside_the_field(
    store: ObjectStore, settings: Any, cost: CostEntry, keeper: Member
) -> None:
    kept_in(replace(store, endpoint="http://127.0.0.1:9"), settings)
    with pytest.raises(ValidationError, match="This cannot be kept"):
        keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    assert not Receipt.objects.exists()


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
    with pytest.raises(Refused, match="There are files of a book"):
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
