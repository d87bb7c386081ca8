"""Nobody waits without end for a file to be read: nor for its process, its turn, or the files before it."""

import io
import os
import stat
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile, TemporaryUploadedFile

from config import budgets, pictures
from config.fields import PhotoField
from config.files import make_private
from config.pictures import NotReadNow, as_pages
from config.reader_process import TakesTooLong, TimeLeft, read_by
from config.receipts_field import ReceiptsField
from costing.importing.readers import workbook
from costing.importing.readers.refused import Refused
from tests.costing.receipts import PDF
from tests.pictures import picture_bytes


def starts_of(script: Path) -> Path:
    """Where a sleeper leaves a byte whenever it is started."""
    return script.with_name("starts")


@pytest.fixture
def sleeper(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A reader that waits without using the processor, which no bound on its seconds ends."""
    script = tmp_path / "sleeper.py"
    script.write_text(f"import time; open({str(starts_of(script))!r}, 'a').write('.'); time.sleep(60)")
    monkeypatch.setattr(budgets, "FILES_SECONDS", 0.3)
    monkeypatch.setattr(pictures, "_SCRIPT", script)
    monkeypatch.setattr(workbook, "_SCRIPT", script)
    return script


def test_a_reader_that_waits_is_ended(sleeper: Path) -> None:
    began, turn = time.monotonic(), threading.Semaphore(1)
    with pytest.raises(TakesTooLong):
        read_by(sleeper, content=b"", turn=turn, left=TimeLeft())
    assert time.monotonic() - began < 20
    assert turn.acquire(blocking=False)


def test_nor_does_one_wait_for_a_turn_that_does_not_come(sleeper: Path) -> None:
    with pytest.raises(TakesTooLong):
        read_by(sleeper, content=b"", turn=threading.Semaphore(0), left=TimeLeft())


@pytest.mark.usefixtures("sleeper")
@pytest.mark.parametrize("content", [picture_bytes(), PDF])
def test_a_receipt_is_to_be_sent_again(content: bytes) -> None:
    with pytest.raises(NotReadNow):
        as_pages(io.BytesIO(content))
    with pytest.raises(ValidationError, match="because the server is busy"):
        ReceiptsField().clean([SimpleUploadedFile("a", content)])


@pytest.mark.usefixtures("sleeper")
def test_so_is_a_photo_and_a_spreadsheet() -> None:
    with pytest.raises(ValidationError, match="because the server is busy"):
        PhotoField().clean(SimpleUploadedFile("a", picture_bytes()))
    with pytest.raises(Refused, match="because the server is busy"):
        workbook.read_workbook(b"PK")


def test_all_files_of_a_post_share_one_time(sleeper: Path) -> None:
    """Once it is over, nothing is started for the others."""
    starts_of(sleeper).touch()
    uploads = [SimpleUploadedFile("a", picture_bytes()) for _ in range(4)]
    with pytest.raises(ValidationError) as refused:
        ReceiptsField().clean(uploads)
    assert len(refused.value.messages) == 4
    left = TimeLeft()
    for _ in range(6):
        with pytest.raises(ValidationError, match="busy"):
            PhotoField(left=left).clean(SimpleUploadedFile("a", picture_bytes()))
    assert starts_of(sleeper).stat().st_size <= 2


def test_a_large_upload_lies_among_the_files_of_the_book_for_its_own_account_alone() -> None:
    folder = Path(settings.FILE_UPLOAD_TEMP_DIR)
    assert folder.is_relative_to(Path(settings.DATA_DIR))
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    with TemporaryUploadedFile("brake.jpg", "image/jpeg", 1, None) as upload:
        assert Path(upload.temporary_file_path()).parent == folder


def test_a_folder_is_made_for_this_account_alone_if_that_can_be(tmp_path: Path, monkeypatch: Any) -> None:
    make_private(tmp_path / "files" / "arriving")
    assert stat.S_IMODE((tmp_path / "files" / "arriving").stat().st_mode) == 0o700
    make_private(tmp_path / "files" / "arriving")
    monkeypatch.setattr(Path, "mkdir", _refused)
    make_private(tmp_path / "other")


def _refused(*_: Any, **__: Any) -> None:
    raise PermissionError(os.EX_NOPERM)
