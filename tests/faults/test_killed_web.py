"""The web process killed (SIGKILL) while it saves a form: before the commit, and after it but before its answer.

Every process is a real one. The form is sent once more, as a browser or the phone's outbox does.
"""

import http.client
import os
import signal
import subprocess
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.urls import reverse

from costing.models import Fill
from fleet.models import Car
from instructors.models import Member
from tests import run
from tests.costing.pages import fill_data
from tests.faults.serving import Start, serve, signed_in
from tests.processes import BookProcess
from tests.servers import program, wait_until
from tests.visitor import Visitor

pytestmark = pytest.mark.django_db(transaction=True)
PAGE = reverse("costing:fill-log")
#: What an answer that never comes raises.
NO_ANSWER = (http.client.HTTPException, ConnectionError)


class Posting:
    """A browser whose form was sent to a web process, in a thread of its own, and gets no answer."""

    def __init__(self, book_process: Start, member: Member, car: Car, app: str) -> None:
        self.started: list[BookProcess] = []

        def start(*arguments: str, **variables: str) -> BookProcess:
            self.started.append(book_process(*arguments, **variables))
            return self.started[-1]

        self.visitor = signed_in(member, serve(start, app))
        self.visitor.get(PAGE)
        token = self.visitor.cookies[settings.CSRF_COOKIE_NAME]
        self.fields: dict[str, Any] = fill_data(car, filled_on="2026-11-20") | {"csrfmiddlewaretoken": token}

    def begin(self, threads: ThreadPoolExecutor) -> Future[Any]:
        return threads.submit(self.visitor.send, PAGE, **self.fields)

    def kill(self) -> None:
        """End the process that serves pages; gunicorn starts another."""
        [parent] = self.started
        found = subprocess.run([program("pgrep", "procps"), "-P", str(parent.pid)], capture_output=True, text=True)
        for pid in found.stdout.split():
            os.kill(int(pid), signal.SIGKILL)

    def send_until_answered(self, visitor: Visitor) -> int:
        """Send it again, until a process is there that answers; its status."""
        statuses: list[int] = []

        def is_answered() -> bool:
            try:
                statuses.append(visitor.send(PAGE, **self.fields).status)
            except NO_ANSWER:
                return False
            return True

        wait_until(is_answered, "an answer")
        return statuses[-1]


@pytest.mark.skipif(not run.on_postgresql(), reason="SQLite has one writer: this test would keep it waiting")
def test_killed_before_the_commit_it_has_saved_nothing_and_the_form_sent_again_is_saved_once(
    book_process: Start, keeper: Member, car: Car
) -> None:
    posting = Posting(book_process, keeper, car, "config.wsgi")
    with ThreadPoolExecutor(1) as threads:
        with transaction.atomic():
            Car.objects.select_for_update().get(pk=car.pk)  # whoever logs a fill waits for the car
            sent = posting.begin(threads)
            wait_until(_somebody_waits, "the form to wait for the car")
            posting.kill()
        with pytest.raises(NO_ANSWER):
            sent.result()
    assert not Fill.objects.exists()
    for _ in range(2):
        assert posting.send_until_answered(posting.visitor) == 303
    assert Fill.objects.get().ref == posting.fields["ref"]


def test_killed_between_commit_and_answer_the_form_sent_again_is_the_same_entry(
    book_process: Start, keeper: Member, car: Car
) -> None:
    posting = Posting(book_process, keeper, car, "tests.faults.mute")
    with ThreadPoolExecutor(1) as threads:
        sent = posting.begin(threads)
        posting.started[0].wait_for_output("saved and mute")
        posting.kill()
        with pytest.raises(NO_ANSWER):
            sent.result()
    assert Fill.objects.count() == 1
    again = Visitor(serve(book_process))
    again.cookies = posting.visitor.cookies
    for _ in range(2):
        assert posting.send_until_answered(again) == 303
    assert Fill.objects.get().ref == posting.fields["ref"]


def _somebody_waits() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_locks WHERE NOT granted")
        return cursor.fetchone() is not None
