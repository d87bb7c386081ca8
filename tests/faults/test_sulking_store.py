"""A store of the book's files that is slow, refuses, or is mute: whoever may wait waits, and the rest is told."""

import logging
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from botocore.config import Config
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config import object_files
from config.commands import DataSaysNo
from config.doctor import servers
from config.doctor.wrong import Wrong
from config.object_files import ObjectFiles
from config.pictures import Page
from config.whole_files import StoreAway, sweep_files_of_none
from costing.actions import keep_receipts, make_paper
from costing.archive.everything import make_export
from costing.models import CostEntry, Receipt
from fleet.models import Car
from instructors.models import BackupRun, Member
from tests.factories import CostEntryFactory, PaperFactory, PhotoFactory
from tests.middleman import Middleman, middleman
from tests.objectserver import kept_in, object_server
from tests.pictures import picture_bytes

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.filterwarnings("ignore:datetime.datetime.utcnow:DeprecationWarning"),
]
JPEG = b"\xff\xd8" + bytes(range(256)) * 400
AWAY = "the store of its files does not answer as it should"


@pytest.fixture
def between(settings: Any, files_folder: Path) -> Iterator[Middleman]:
    with object_server() as behind, middleman(behind) as found:
        kept_in(found.store, settings)
        yield found


@pytest.fixture
def cost(keeper: Member, car: Car) -> CostEntry:
    return CostEntryFactory.create(car=car, member=keeper)


def test_pages_give_up_a_slow_one_and_whoever_may_wait_does(
    between: Middleman, cost: CostEntry, keeper: Member, everyone: dict[str, Client]
) -> None:
    photo = PhotoFactory.create(car=cost.car, taken_by=keeper, image=ContentFile(JPEG, "a.jpg"))
    paper = PaperFactory.create(member=keeper, kind="export")
    client = everyone["keeper"]
    client.raise_request_exception = False
    between.seconds = 5
    assert client.get(reverse("fleet:photo", args=[photo.pk])).status_code == 503
    # At once, while pages leave the store alone.
    assert make_paper(paper.pk, {"export": make_export}), paper.error
    assert sweep_files_of_none("receipts", set, timezone.now()) == 0
    between.seconds = 0
    assert {name.partition("/")[0] for name in ObjectFiles(between.store).names()} == {"photos", "papers"}


@pytest.mark.parametrize(("status", "bucket"), [(503, "book"), (403, "book"), (0, "gone")])
def test_whatever_it_answers_instead_pages_say_the_same_and_nothing_is_lost(
    between: Middleman,
    settings: Any,
    cost: CostEntry,
    everyone: dict[str, Client],
    caplog: pytest.LogCaptureFixture,
    status: int,
    bucket: str,
) -> None:
    photo = PhotoFactory.create(car=cost.car, image=ContentFile(JPEG, "a.jpg"))
    between.status = status
    kept_in(replace(between.store, bucket=bucket), settings)
    client = everyone["keeper"]
    client.raise_request_exception = False
    for answer in (client.get(reverse("fleet:photo", args=[photo.pk])), client.post(reverse("costing:export"))):
        assert (answer.status_code, AWAY in answer.content.decode()) == (503, True)
    add = reverse("costing:receipt-add", args=["cost", cost.pk])
    answer = client.post(add, {"receipt": ContentFile(picture_bytes(), "a.jpg")})
    assert "the store of the pictures does not answer as it should. Nothing is saved yet" in answer.content.decode()
    assert not Receipt.objects.exists()
    said = {503: "HTTP 503", 403: "HTTP 403", 0: "NoSuchBucket"}[status]
    assert said in caplog.text
    assert f"{between.store.secret}@" not in caplog.text
    with pytest.raises(Wrong, match=said):
        servers.store()


@pytest.fixture
def mute(between: Middleman, monkeypatch: pytest.MonkeyPatch) -> Middleman:
    """It says nothing, and whoever is patient waits for seconds only."""
    silent = Config(read_timeout=2, retries={"total_max_attempts": 1})
    monkeypatch.setattr(object_files, "_PATIENT", object_files._PATIENT.merge(silent))
    monkeypatch.setattr(object_files, "_SAID_AFTER", 0.5)
    between.seconds = 30
    return between


@pytest.mark.parametrize("command", ["backup", "restore", "dump_archive", "lost_files"])
def test_a_command_says_what_it_waits_for_and_ends_with_a_line(
    mute: Middleman,
    settings: Any,
    cost: CostEntry,
    keeper: Member,
    tmp_path: Path,
    caplog: pytest.LogCaptureFixture,
    command: str,
) -> None:
    mute.seconds = 0
    keep_receipts(by=keeper, entry=cost, pages=[Page(JPEG, JPEG[:9])])
    call_command("backup", "--to", str(tmp_path / "book.backup"), "--unencrypted")
    if command == "restore":
        call_command("flush", interactive=False, verbosity=0)
    kept_in(mute.store, settings)
    mute.seconds = 30
    made = {
        "backup": ["--to", str(tmp_path / "second.backup"), "--unencrypted"],
        "restore": [str(tmp_path / "book.backup")],
        "dump_archive": [str(tmp_path / "book.zip")],
        "lost_files": ["--record"],
    }
    with pytest.raises(DataSaysNo) as refused:
        call_command(command, *made[command])
    assert f"{mute.store}: the store cannot be reached (ReadTimeoutError). `manage.py" in str(refused.value)
    assert refused.value.returncode == 1
    assert f"Waiting for the store {mute.store}" in caplog.text
    assert sorted(path.name for path in tmp_path.iterdir() if path.is_file()) == ["book.backup"]
    if command == "backup":
        assert "the store cannot be reached" in BackupRun.objects.order_by("-pk")[0].error


def test_of_all_pages_one_asks_whether_it_is_back(between: Middleman, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.CRITICAL)
    files = ObjectFiles(between.store, hurries=True)
    between.seconds = 30
    with pytest.raises(StoreAway, match="cannot be reached"):
        files.exists("photos")
    asked, files._outages[True]._until = between.asked, time.monotonic()
    barrier = threading.Barrier(6)

    def ask() -> float:
        barrier.wait()
        begun = time.monotonic()
        with pytest.raises(StoreAway):
            files.exists("photos")
        return time.monotonic() - begun

    with ThreadPoolExecutor(6) as pool:
        seconds = sorted(one.result() for one in [pool.submit(ask) for _ in range(6)])
    assert (between.asked - asked, sum(one > 2 for one in seconds)) == (1, 1)
    between.seconds, files._outages[True]._until = 0, time.monotonic()
    assert [files.exists("photos") for _ in range(3)] == [False] * 3
