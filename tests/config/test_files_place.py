"""A book does not start with a setting that looks for its files elsewhere than they lie."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command

from config.commands import DataSaysNo
from config.environment import ObjectStore
from config.files_place import misplaced, require_files
from config.refusal import CannotStart
from fleet.models import Photo
from instructors.actions import record_lost_files
from instructors.models import FilesPlace, LostFile
from tests.factories import PhotoFactory
from tests.faults.serving import Start
from tests.objectserver import kept_in, object_server

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.filterwarnings("ignore:datetime.datetime.utcnow:DeprecationWarning"),
]
AWAY = "http://127.0.0.1:9"


@pytest.fixture
def store(files_folder: Path) -> Iterator[ObjectStore]:
    with object_server() as found:
        yield found


def on_disk(settings: Any) -> None:
    settings.FILES_URL = None
    settings.STORAGES = settings.STORAGES | {"default": {"BACKEND": "config.whole_files.WholeFiles"}}


def a_photo() -> Photo:
    return PhotoFactory.create(image=ContentFile(b"\xff\xd8 a picture", "a.jpg"))


def place() -> str:
    return FilesPlace.objects.get().name


def test_a_start_notes_where_they_lie_and_the_next_asks_one_question(
    files_folder: Path, django_assert_num_queries: Any
) -> None:
    a_photo()
    require_files()
    assert place() == ""
    with django_assert_num_queries(1):
        require_files()


def test_a_start_without_a_store_does_not_load_what_speaks_to_one(book_process: Start, files_folder: Path) -> None:
    script = (
        "import django, sys; django.setup(); from config.files_place import require_files; require_files();"
        "print(sorted({'boto3', 'botocore', 'storages'} & set(sys.modules)))"
    )
    process = book_process("-c", script)
    assert (process.wait(), process.output()) == (0, "[]\n")


def test_a_store_that_was_switched_on_beside_files_on_the_disk_is_refused(store: ObjectStore, settings: Any) -> None:
    a_photo()
    require_files()
    kept_in(store, settings)
    with pytest.raises(CannotStart, match=r"FILES_URL is set, but the files of the book lie in .*, back up, set it"):
        require_files()
    # Somebody has copied them.
    photo = Photo.objects.get()
    photo.image.storage.save(photo.image.name, ContentFile(b"\xff\xd8 a picture"))
    require_files()
    assert place() == str(store)


@pytest.mark.parametrize("other", ["", "other-bucket-folder"])
def test_one_that_was_switched_off_or_for_another_is_refused(store: ObjectStore, settings: Any, other: str) -> None:
    kept_in(store, settings)
    photo = a_photo()
    require_files()
    if other:
        kept_in(replace(store, folder=other), settings)
    else:
        on_disk(settings)
    with pytest.raises(CannotStart, match=f"the files of the book lie in {store}, and none of them here"):
        require_files()
    # Nobody can bring them back.
    record_lost_files({photo.image.name})
    require_files()
    assert place() == (f"{replace(store, folder=other)}" if other else "")


def test_a_book_that_lost_its_files_or_whose_store_is_away_starts(
    store: ObjectStore, settings: Any, caplog: pytest.LogCaptureFixture
) -> None:
    photo = a_photo()
    photo.image.storage.delete(photo.image.name)
    # Known to be the store's, which is not asked; and at the first start of all, when nothing is known.
    for known in (True, False):
        FilesPlace.objects.all().delete()
        kept_in(store, settings)
        if known:
            require_files()
            assert "None of the 1 files that the book names is in s3://" in caplog.text
        settings.FILES_URL = replace(store, endpoint=AWAY)
        if known:
            FilesPlace.objects.update(name=str(settings.FILES_URL))
        require_files()
        assert FilesPlace.objects.exists() == known


def test_another_store_that_is_away_is_refused(store: ObjectStore, settings: Any) -> None:
    kept_in(store, settings)
    a_photo()
    require_files()
    settings.FILES_URL = replace(store, endpoint=AWAY)
    with pytest.raises(CannotStart, match=r"FILES_URL was changed, and .* cannot be looked into \(the store c"):
        require_files()


SERVE = ["manage.py", "serve", "127.0.0.1:0"]
GUNICORN = ["-m", "gunicorn", "config.wsgi", "--bind=127.0.0.1:0"]


@pytest.mark.parametrize("program", [SERVE, GUNICORN])
def test_the_site_is_refused_in_one_line(
    book_process: Start, store: ObjectStore, settings: Any, program: list[str]
) -> None:
    kept_in(store, settings)
    a_photo()
    require_files()
    process = book_process(*program)
    assert process.wait(60) != 0
    said = [line for line in process.output().splitlines() if line.startswith("FILES_URL is not set, but the files")]
    assert (len(said), "Traceback" in process.output()) == (1, False), process.output()


def test_files_that_are_lost_are_listed_and_recorded(files_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kept, lost = a_photo(), a_photo()
    lost.image.storage.delete(lost.image.name)
    call_command("lost_files", "--json")
    assert lost.image.name in capsys.readouterr().out
    assert not LostFile.objects.exists()
    call_command("lost_files", "--record")
    assert capsys.readouterr().out.endswith("Files that are not there: 1; recorded as lost for good: 1\n")
    assert [one.name for one in LostFile.objects.all()] == [lost.image.name]
    # One that has come back is not lost.
    lost.image.storage.save(lost.image.name, ContentFile(b"\xff\xd8 a picture"))
    call_command("lost_files", "--record")
    assert not LostFile.objects.exists()
    assert kept.image.storage.exists(kept.image.name)


def test_what_lies_on_the_disk_is_not_recorded_as_lost_in_a_store(store: ObjectStore, settings: Any) -> None:
    a_photo()
    kept_in(store, settings)
    with pytest.raises(DataSaysNo, match=r"Nothing was recorded\. FILES_URL is set, but the files of the book lie in"):
        call_command("lost_files", "--record")
    assert not LostFile.objects.exists()
    assert misplaced()
