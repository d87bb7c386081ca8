"""A disk that is full: what is said, what was typed is still there, and nothing half-written stays."""

import errno
import io
import os
import resource
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any, NoReturn
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from config.whole_files import CANNOT_BE_KEPT
from costing.actions import ask_for_paper, make_paper
from costing.models import Fill, Receipt
from fleet.models import Car, Defect, Photo, WalkaroundCheck
from instructors.models import Member
from tests import run
from tests.costing.pages import fill_data
from tests.costing.receipts import PHOTO
from tests.flows.whole_book import contents
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")

SAID = CANNOT_BE_KEPT


@pytest.fixture
def full(files_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The disk of the book's files turns out to be full once a file is written; the folder of the files."""

    def no_room(_: int) -> NoReturn:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("config.whole_files.os.fsync", no_room)
    return files_folder


@pytest.fixture
def limited(files_folder: Path) -> Iterator[Path]:
    """The kernel lets no file of this process grow beyond 300 kB; the folder of the files."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, before[1]))
    yield files_folder
    resource.setrlimit(resource.RLIMIT_FSIZE, before)


def left_in(files: Path) -> list[str]:
    """What stays of files, whole or not."""
    arriving = [path.name for path in Path(settings.FILE_UPLOAD_TEMP_DIR).iterdir()]
    return [*contents(files), *arriving]


def a_photo(content: bytes = b"") -> SimpleUploadedFile:
    return SimpleUploadedFile("brake.jpg", content or picture_bytes(), "image/jpeg")


def a_defect(**more: Any) -> dict[str, Any]:
    words = {"description": "Brake hose torn", "severity": "dangerous", "found_on": "2026-03-16", "found_by": "other"}
    return {"ref": str(uuid4())} | words | more


def noise() -> bytes:
    """A picture that no encoder makes small."""
    out = io.BytesIO()
    Image.effect_noise((1600, 1200), 120).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()


def test_a_photo_of_a_defect(everyone: dict[str, Client], car: Car, full: Path) -> None:
    page, typed = reverse("fleet:defect-report", args=["QA51ABC"]), a_defect(picture=a_photo())
    form = everyone["keeper"].post(page, typed).context["form"]
    assert form.errors == {"picture": [SAID]}
    assert form["description"].value() == "Brake hose torn"
    assert (Defect.objects.count(), Photo.objects.count(), left_in(full)) == (0, 0, [])
    del typed["picture"]
    assert everyone["keeper"].post(page, typed).status_code == 303
    assert Defect.objects.get().description == "Brake hose torn"


@pytest.mark.skipif(
    not run.on_postgresql(), reason="the limit is the process's, and SQLite's file is written by it too"
)
def test_a_photo_that_the_kernel_cuts(everyone: dict[str, Client], car: Car, limited: Path) -> None:
    page = reverse("fleet:defect-report", args=["QA51ABC"])
    form = everyone["keeper"].post(page, a_defect(picture=a_photo(noise()))).context["form"]
    assert form.errors == {"picture": [SAID]}
    assert (Defect.objects.count(), left_in(limited)) == (0, [])


def test_a_photo_within_a_check(everyone: dict[str, Client], car: Car, full: Path) -> None:
    page = reverse("fleet:check-group", args=["QA51ABC", uuid4(), "outside"])
    fault = {"tyre_walls-fault": "on", "tyre_walls-severity": "dangerous", "tyre_walls-description": "Cord seen"}
    typed = {"checked_on": "2026-03-16"} | fault
    form = everyone["keeper"].post(page, typed | {"tyre_walls-photo": a_photo()}).context["form"]
    assert form.errors == {"tyre_walls-photo": [SAID]}
    assert form["tyre_walls-description"].value() == "Cord seen"
    assert (WalkaroundCheck.objects.count(), Defect.objects.count(), left_in(full)) == (0, 0, [])


def test_a_receipt(everyone: dict[str, Client], car: Car, full: Path) -> None:
    sent = fill_data(car, amount="61.80") | {"receipt": [SimpleUploadedFile("r", PHOTO)]}
    form = everyone["keeper"].post(reverse("costing:fill-log"), sent).context["form"]
    assert form.errors == {"receipt": [SAID]}
    assert form["amount"].value() == "61.80"
    assert (Fill.objects.count(), Receipt.objects.count(), left_in(full)) == (0, 0, [])


def test_a_receipt_whose_second_file_does_not_fit(
    everyone: dict[str, Client], car: Car, files_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls: list[int] = []

    def room_for_one(file: int) -> None:
        calls.append(file)
        if len(calls) > 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("config.whole_files.os.fsync", room_for_one)
    test_a_receipt(everyone, car, files_folder)
    assert len(calls) == 2


@pytest.mark.django_db(transaction=True)
def test_a_paper(car: Car, keeper: Member, full: Path) -> None:
    paper = ask_for_paper(by=keeper, kind="statement", days=(date(2026, 2, 1), date(2026, 2, 28)))
    assert not make_paper(paper.pk, {"statement": lambda paper, told: b"%PDF"})
    paper.refresh_from_db()
    assert paper.error.startswith("The server has no room for it")
    assert left_in(full) == []
