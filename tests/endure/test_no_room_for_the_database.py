"""PostgreSQL whose own disk really is full, under the book as it runs: saving is refused in words, and duty is red.

Its folder is a small file system of its own (tmpfs), which only root may mount.
"""

import subprocess
from collections.abc import Callable, Iterator
from http.client import HTTPResponse
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from fleet.models import Car, Pulse, PulseName
from instructors.models import Member
from tests import run
from tests.factories import ReminderRunFactory
from tests.faults.serving import serve, signed_in
from tests.hookserver import HookServer
from tests.processes import BookProcess
from tests.schemas import copied_to
from tests.servers import PostgreSQL, program, short_folder, wait_until
from tests.visitor import Visitor

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not run.on_postgresql(), reason="SQLite's disk is that of the book, which is looked at itself"),
]
Start = Callable[..., BookProcess]
REPORT = reverse("fleet:defect-report", args=["QA51ABC"])
#: The task of each minute, as a worker does it, whatever becomes of it.
WATCH = """
import django
django.setup()
from fleet.tasks import watch
watch()
"""
DUTY, LIVE, READY = reverse("fleet:health"), reverse("fleet:health-live"), reverse("fleet:health-ready")


@pytest.fixture
def small() -> Iterator[PostgreSQL]:
    """A cluster on a file system of 200 megabytes, of which an empty book takes half."""
    folder = short_folder()
    folder.chmod(0o711)
    mount = [program("mount", "mount"), "-t", "tmpfs", "-o", "size=200m,mode=711", "none", str(folder)]
    if subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("nothing may be mounted here")
    server = PostgreSQL(folder / "pg", lasting=True)
    server.start()
    yield server
    server.stop()
    subprocess.run([program("umount", "mount"), "--lazy", str(folder)], check=True)


def fill_up(folder: Path) -> Path:
    file = folder / "everything"
    with file.open("wb", buffering=0) as everything:
        try:
            while True:
                everything.write(bytes(4096))
        except OSError:
            return file


def report(visitor: Visitor) -> HTTPResponse:
    """The answer to the report of a defect, the same each time."""
    token = visitor.cookies[settings.CSRF_COOKIE_NAME]
    fields = {"description": "Seat belt torn", "severity": "watch", "found_on": "2026-11-20", "found_by": "other"}
    return visitor.send(REPORT, ref="7c1d8a0e-0f53-4a7e-9a51-6f1f2f9a0001", csrfmiddlewaretoken=token, **fields)


def test_saving_is_refused_in_words_and_duty_is_red_until_there_is_room(
    small: PostgreSQL, car: Car, keeper: Member, book_process: Start
) -> None:
    visitor = signed_in(keeper, port=0)
    # Copied with the session in it, so only now.
    visitor.port = serve(book_process, DATABASE_URL=copied_to(small))
    watcher = Visitor(visitor.port)
    visitor.get(REPORT)
    assert [watcher.get(path).status for path in (LIVE, READY, DUTY)] == [200, 200, 200]
    filling = fill_up(small.folder.parent)
    refused = report(visitor)
    assert (refused.status, "Seat belt torn" in refused.body) == (507, True)
    wait_until(lambda: watcher.get(DUTY).status == 503, "duty to be looked at again")
    assert "The disk of the database is full" in watcher.get(DUTY).body
    # No process is started again for this.
    assert [watcher.get(path).status for path in (LIVE, READY)] == [200, 200]
    filling.unlink()
    assert report(visitor).status == 303
    wait_until(lambda: watcher.get(DUTY).status == 200, "duty to be looked at again")


def test_the_web_hook_is_told_although_no_turn_can_be_written_and_then_that_there_is_room(
    small: PostgreSQL, car: Car, book_process: Start, hook_server: HookServer
) -> None:
    """Once, however many look: the turn is a row, and the table of turns has no page yet."""
    now = timezone.now()
    ReminderRunFactory(finished_at=now)
    for name in PulseName:
        Pulse.objects.create(name=name, first_at=now, since=now, at=now)
    address = copied_to(small)

    def look() -> None:
        with book_process("-c", WATCH, DATABASE_URL=address, ALARM_URL=hook_server.url) as process:
            assert process.wait() == 0, process.output()

    filling = fill_up(small.folder.parent)
    hook_server.status = 500
    look()
    hook_server.status = 204
    for _ in range(3):
        look()
    [red] = hook_server.taken
    assert (red["duty"], len(hook_server.asked)) == ("red", 2)
    assert "Members are not being told. The disk of the database is full: make room there." in red["text"]
    filling.unlink()
    for _ in range(3):
        look()
    assert [one["duty"] for one in hook_server.taken] == ["red", "green"]
