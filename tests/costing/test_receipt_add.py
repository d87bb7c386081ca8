"""Adding receipts: the page /entries/<kind>/<id>/receipts/, the quota, and the files behind it."""

import contextlib
import os
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config import budgets
from costing.actions import keep_receipts
from costing.models import CostEntry, Fill, Receipt
from fleet.models import Car
from instructors.tasks import clean
from tests.costing.receipts import PDF, PHOTO, kept, page
from tests.factories import CostEntryFactory, FillFactory, TeachingRecordFactory

pytestmark = pytest.mark.usefixtures("today", "files_folder")


@pytest.mark.usefixtures("db")
def test_the_sweep_takes_uploads_that_a_killed_process_left(settings: Any, tmp_path: Path) -> None:
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path
    left, arriving = tmp_path / "tmp1.upload.jpg", tmp_path / "tmp2.upload.jpg"
    for path, days in ((left, 2), (arriving, 0)):
        path.write_bytes(b"a photo with its place")
        os.utime(path, ((timezone.now() - timedelta(days=days)).timestamp(),) * 2)
    clean()
    assert list(tmp_path.iterdir()) == [arriving]


@pytest.fixture
def cost(car: Car) -> CostEntry:
    return CostEntryFactory.create(car=car, member=car.keeper)


@pytest.fixture
def fill(car: Car) -> Fill:
    return FillFactory.create(car=car, member=car.keeper)


def path_of(entry: CostEntry | Fill) -> str:
    return reverse("costing:receipt-add", args=["fill" if isinstance(entry, Fill) else "cost", entry.pk])


def add(client: Client, entry: CostEntry | Fill, *uploads: bytes) -> Any:
    files = [SimpleUploadedFile("../../evil.html", upload, "text/html") for upload in uploads]
    return client.post(path_of(entry), {"receipt": files})


def test_photos_and_pages_are_kept_in_their_order(everyone: dict[str, Client], cost: CostEntry) -> None:
    answer = add(everyone["keeper"], cost, PDF, PHOTO)
    assert (answer.status_code, answer.url) == (303, reverse("costing:entry-correct", args=["cost", cost.pk]))
    assert [one.position for one in cost.receipts.all()] == [1, 2]  # the pages of the PDF are alike: once is enough
    page = everyone["keeper"].get(answer.url).content.decode()
    assert "Receipt kept: 2 pages." in page
    for receipt in cost.receipts.all():
        assert reverse("costing:receipt-small", args=[receipt.pk]) in page
        assert receipt.size == receipt.picture.size + receipt.thumbnail.size
        assert receipt.picture.name == f"receipts/{receipt.pk}.jpg"


def test_a_fill_has_receipts_too_and_lessons_have_none(everyone: dict[str, Client], fill: Fill) -> None:
    add(everyone["keeper"], fill, PHOTO)
    assert fill.receipts.count() == 1
    lessons = TeachingRecordFactory.create(car=fill.car, member=fill.member)
    assert everyone["keeper"].get(reverse("costing:receipt-add", args=["lessons", lessons.pk])).status_code == 404
    page = everyone["keeper"].get(reverse("costing:entry-correct", args=["lessons", lessons.pk])).content.decode()
    assert "Receipts" not in page


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_adds_to_somebody_elses_entry(everyone: dict[str, Client], cost: CostEntry, who: str) -> None:
    assert add(everyone[who], cost, PHOTO).status_code == 404
    assert not Receipt.objects.exists()
    with pytest.raises(PermissionError):
        keep_receipts(by=CostEntryFactory.create().member, entry=cost, pages=[page()])


def test_sent_again_it_is_kept_once(everyone: dict[str, Client], cost: CostEntry, car: Car) -> None:
    for _ in range(2):
        answer = add(everyone["keeper"], cost, PHOTO)
    assert cost.receipts.count() == 1
    assert "it was there already" in everyone["keeper"].get(answer.url).content.decode()
    other = CostEntryFactory.create(car=car, member=car.keeper)
    add(everyone["keeper"], other, PHOTO)
    assert other.receipts.count() == 1


@pytest.mark.parametrize(
    ("upload", "words"),
    [
        (b"Paid with thanks.", "This cannot be read as a receipt"),
        (PDF[:100], "This PDF cannot be drawn"),
        (b"", "This file is empty."),
    ],
)
def test_what_is_refused_says_why_and_nothing_is_kept(
    everyone: dict[str, Client], cost: CostEntry, upload: bytes, words: str
) -> None:
    answer = add(everyone["keeper"], cost, PHOTO, upload)
    assert answer.status_code == 200
    assert words in answer.content.decode()
    assert not Receipt.objects.exists()
    assert "evil" not in answer.content.decode()


def test_a_voided_entry_takes_no_more(everyone: dict[str, Client], cost: CostEntry) -> None:
    CostEntry.objects.update(voided_at="2026-03-12T09:00Z")
    assert "This entry was voided" in add(everyone["keeper"], cost, PHOTO).content.decode()
    page = everyone["keeper"].get(reverse("costing:entry-correct", args=["cost", cost.pk])).content.decode()
    assert "None was kept." in page
    assert path_of(cost) not in page


# --- How much ------------------------------------------------------------------------------------------


def test_an_entry_has_so_many_pages_and_no_more(cost: CostEntry) -> None:
    kept(cost, *map(str, range(budgets.RECEIPTS_OF_ENTRY)))
    with pytest.raises(ValidationError, match="An entry has at most 24 pages of receipts; this one has 24"):
        kept(cost, "one more")
    assert kept(cost, "0")  # that one it has


@pytest.mark.parametrize(("budget", "most"), [("RECEIPTS_OF_MEMBER", 3), ("RECEIPT_BYTES_OF_MEMBER", 60)])
def test_a_member_has_so_much_room(
    monkeypatch: pytest.MonkeyPatch, cost: CostEntry, fill: Fill, colleague_car: Car, budget: str, most: int
) -> None:
    monkeypatch.setattr(budgets, budget, most)
    kept(cost, "a", "b")  # nine bytes each, with the small one
    kept(fill, "c")
    with pytest.raises(ValidationError, match="You have no room for more receipts") as refusal:
        kept(fill, "d" * 40)
    assert list(refusal.value.message_dict) == ["receipt"]
    assert len(kept(CostEntryFactory.create(car=colleague_car, member=colleague_car.keeper), "e")) == 1


# --- Files of a save that failed -----------------------------------------------------------------------


def test_a_file_whose_save_failed_is_swept_a_day_later(cost: CostEntry, files_folder: Path) -> None:
    def files() -> list[Path]:
        return sorted(files_folder.glob("receipts/*"))

    kept(cost, "stays")
    before = files()
    with contextlib.suppress(RuntimeError), transaction.atomic():
        kept(cost, "goes")
        raise RuntimeError
    assert len(files()) == len(before) + 2
    for days, left in ((0, len(before) + 2), (2, len(before))):
        then = (timezone.now() - timedelta(days=days)).timestamp()
        for file in files():
            os.utime(file, (then, then))
        clean()
        assert len(files()) == left
    assert files() == before
