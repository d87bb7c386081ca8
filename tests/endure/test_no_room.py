"""A disk that really is full, or can only be read, under the book as it runs: web process, worker and backup.

The folder of the book's data is a small file system of its own (tmpfs), which only root may mount.
"""

import http.client
import io
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import reverse
from PIL import Image

from config.whole_files import CANNOT_BE_KEPT
from costing.actions import ask_for_paper
from costing.models import Fill, Paper, Receipt
from fleet.models import Car, Defect
from instructors.models import Member
from tests import run
from tests.costing.pages import fill_data
from tests.faults.serving import Start, serve, signed_in
from tests.servers import Redis, program, wait_until
from tests.visitor import Visitor

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not run.on_postgresql(), reason="a database of its own stays on another disk"),
]
FILL, REPORT = reverse("costing:fill-log"), reverse("fleet:defect-report", args=["QA51ABC"])


@pytest.fixture
def data(tmp_path: Path) -> Iterator[Path]:
    """A file system of two megabytes."""
    folder = tmp_path / "data"
    folder.mkdir()
    mount = [program("mount", "mount"), "-t", "tmpfs", "-o", "size=2m", "none", str(folder)]
    if subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("nothing may be mounted here")
    yield folder
    subprocess.run([program("umount", "mount"), "--lazy", str(folder)], check=True)


def fill_up(folder: Path) -> None:
    with (folder / "everything").open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            return


def protect(folder: Path) -> None:
    subprocess.run([program("mount", "mount"), "-o", "remount,ro", str(folder)], check=True)


def a_photo() -> io.BytesIO:
    picture = io.BytesIO()
    Image.effect_noise((900, 700), 120).convert("RGB").save(picture, "JPEG", quality=90)
    picture.seek(0)
    picture.name = "photo.jpg"
    return picture


def send(visitor: Visitor, path: str, **fields: Any) -> tuple[int, str]:
    """What a form with files is answered."""
    fields["csrfmiddlewaretoken"] = visitor.cookies[settings.CSRF_COOKIE_NAME]
    headers = {
        "Host": f"localhost:{visitor.port}",
        "Content-Type": MULTIPART_CONTENT,
        "Cookie": "; ".join(f"{name}={value}" for name, value in visitor.cookies.items()),
    }
    with closing(http.client.HTTPConnection("127.0.0.1", visitor.port, timeout=60)) as connection:
        connection.request("POST", path, encode_multipart(BOUNDARY, fields), headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()


@pytest.mark.parametrize("take_away", [fill_up, protect])
def test_what_needs_no_file_goes_on_and_what_does_says_so(
    take_away: Callable[[Path], None],
    data: Path,
    car: Car,
    keeper: Member,
    book_process: Start,
    celery_worker_process: Start,
    redis_server: Redis,
) -> None:
    variables = {"DATA_DIR": str(data)}
    backup = book_process("manage.py", "backup", "--unencrypted", "--to", str(data / "book.backup"), **variables)
    assert backup.wait() == 0, backup.output()
    good = (data / "book.backup").read_bytes()
    visitor = signed_in(keeper, serve(book_process, **variables))
    visitor.get(FILL)
    celery_worker_process(**variables)
    take_away(data)
    before = sorted(path.name for path in data.rglob("*"))

    defect = {"ref": "7c1d8a0e-0f53-4a7e-9a51-6f1f2f9a0001", "description": "Brake hose torn", "severity": "dangerous"}
    defect |= {"found_on": "2026-11-20", "found_by": "other"}
    status, body = send(visitor, REPORT, **defect, picture=a_photo())
    assert (status, CANNOT_BE_KEPT in body, "Brake hose torn" in body) == (200, True, True), body
    fill = fill_data(car, filled_on="2026-11-20")
    status, body = send(visitor, FILL, **fill, receipt=a_photo())
    assert (status, CANNOT_BE_KEPT in body) == (200, True), body
    assert (Defect.objects.count(), Fill.objects.count(), Receipt.objects.count()) == (0, 0, 0)
    # Without the photo both are saved, once.
    for _ in range(2):
        assert send(visitor, REPORT, **defect)[0] == send(visitor, FILL, **fill)[0] == 303
    assert (Defect.objects.count(), Fill.objects.count()) == (1, 1)

    paper = ask_for_paper(by=keeper, kind="statement", days=(date(2026, 11, 1), date(2026, 11, 26)))
    wait_until(lambda: Paper.objects.get(pk=paper.pk).error != "", "the paper")
    backup = book_process("manage.py", "backup", "--unencrypted", "--to", str(data / "book.backup"), **variables)
    assert backup.wait() == 1
    assert "Traceback" not in backup.output()
    assert (data / "book.backup").read_bytes() == good
    assert sorted(path.name for path in data.rglob("*")) == before, "nothing half-written stays"
    assert visitor.get(reverse("costing:home")).status == 200
