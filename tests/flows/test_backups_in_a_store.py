"""Backups of the days in an S3-compatible store: made, thinned, drilled, and told when the store is gone."""

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from django.core.files.base import ContentFile

from config.backup import make_key
from config.backup.places import Bucket
from config.environment import ObjectStore
from config.object_files import ObjectFiles
from config.release import before_migrating
from instructors.models import BackupDrill, BackupRun
from instructors.tasks import back_up, drill
from tests.factories import PhotoFactory
from tests.objectserver import object_server
from tests.processes import ROOT

pytestmark = [
    pytest.mark.django_db(transaction=True),
    # The library's own, of a date that it parses.
    pytest.mark.filterwarnings("ignore:datetime.datetime.utcnow:DeprecationWarning"),
]


@pytest.fixture
def store(settings: Any, tmp_path: Any, files_folder: Any) -> Iterator[ObjectStore]:
    """The store to which a server's backups go."""
    settings.BACKUP_RECIPIENT = make_key(tmp_path / "key")
    with object_server() as found:
        settings.BACKUP_URL = found
        yield found


def put(store: ObjectStore, *names: str) -> None:
    for name in names:
        ObjectFiles(store, overwrites=True).save(name, ContentFile(b"age-encryption.org/"))


@pytest.mark.usefixtures("today")
def test_one_a_day_is_made_and_the_old_ones_go(store: ObjectStore, files_folder: Any) -> None:
    others = ["book-2020-01-01.backup.old", "letters.txt"]
    put(store, *others, *(f"book-{date(2026, 3, day)}.backup" for day in range(1, 16)))
    put(replace(store, folder="theirs"), "book-2020-01-01.backup")
    back_up()
    run = BackupRun.objects.get()
    place = Bucket(store)
    assert (run.error, run.place) == ("", f"{store}/book-2026-03-16.backup")
    assert "secret" not in run.place
    with place.open(date(2026, 3, 16)) as sent:
        content = sent.read()
    assert (len(content), content[:19]) == (run.size, b"age-encryption.org/")
    kept = [*range(10, 17), 8, 1]
    assert sorted(ObjectFiles(store).names()) == sorted([*others, *(f"book-2026-03-{day:02}.backup" for day in kept)])
    assert list(ObjectFiles(replace(store, folder="theirs")).names()) == ["book-2020-01-01.backup"]
    assert list((files_folder / "arriving" / "sending").iterdir()) == [], "nothing stays on this machine"
    back_up()
    assert BackupRun.objects.count() == 1


def test_the_one_before_an_update_goes_there_too(store: ObjectStore) -> None:
    said: list[str] = []
    before_migrating(said.append)
    assert said == [f"Backed up to {store}/before-migrating.backup first."]
    assert list(ObjectFiles(store).names()) == ["before-migrating.backup"]
    assert Bucket(store).days() == set()


def test_what_is_in_the_store_is_drilled(store: ObjectStore) -> None:
    PhotoFactory.create(image=ContentFile(bytes(range(256)) * 300, "a.jpg"))
    back_up()
    drill()
    assert BackupDrill.objects.get().error == ""
    run = BackupRun.objects.get()
    put(store, run.place.rpartition("/")[2])
    BackupDrill.objects.all().delete()
    drill()
    assert BackupDrill.objects.get().error == f"{run.place} is not as it was written: it is cut, or was altered."


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"bucket": "nothing-there"}, "the store refused (NoSuchBucket"),
        ({"endpoint": "http://127.0.0.1:9"}, "the store cannot be reached (EndpointConnectionError)"),
    ],
)
def test_a_store_that_does_not_take_it_is_told(
    store: ObjectStore, settings: Any, wrong: dict[str, str], words: str
) -> None:
    settings.BACKUP_URL = replace(store, **wrong)
    back_up()
    run = BackupRun.objects.get()
    assert words in run.error
    assert "secret" not in run.error


@pytest.mark.parametrize("given", [{}, {"BACKUP_URL": "s3://key:secret@store.invalid/book"}])
def test_no_process_loads_the_library_as_it_starts(given: dict[str, str], tmp_path: Any) -> None:
    code = "import sys, django; django.setup(); import config.urls; print([m for m in sys.modules if m[:4] == 'boto'])"
    environment = {"DATA_DIR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "config.settings", **given}
    found = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    assert found.stdout == "[]\n"
