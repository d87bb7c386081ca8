"""PostgreSQL stopped, restarted, frozen or out of connections: each page answers in time, and says what is true.

PostgreSQL and the web process are real ones, PostgreSQL this test's own.
"""

import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from html import unescape
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from django.urls import reverse

from fleet.models import Car
from instructors.models import Member
from tests import run
from tests.faults.serving import PATIENCE, Start, serve, signed_in, timed
from tests.schemas import copied_to
from tests.servers import PostgreSQL, short_folder, wait_until
from tests.visitor import Visitor

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not run.on_postgresql(), reason="SQLite is a file: it neither restarts nor hangs"),
]


REPORT = reverse("fleet:defect-report", args=["QA51ABC"])


class Book:
    """A copy of the test's book on a database of its own, and a browser in which a member is signed in."""

    def __init__(self, database: PostgreSQL, start: Start, member: Member) -> None:
        self.database = database
        made = signed_in(member, 0).cookies
        self.visitor = Visitor(serve(start, DATABASE_URL=copied_to(database)))
        self.visitor.cookies |= made

    def connect(self) -> psycopg.Connection:
        """A connection of the test's own to the database."""
        return psycopg.connect(host=str(self.database.folder), user="postgres", dbname="postgres")

    def defects(self) -> list[str]:
        """The references of the defects in it."""
        with self.connect() as own:
            return [ref for (ref,) in own.execute("SELECT ref FROM fleet_defect ORDER BY id")]

    def token(self) -> str:
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', self.visitor.get(REPORT).body)
        assert found
        return found[1]

    def post(self, path: str, fields: dict[str, str]) -> tuple[Any, float]:
        """What is answered to a form whose page was opened before, and after how many seconds."""
        return timed(self.visitor.send, path, **fields)


@pytest.fixture
def book(car: Car, keeper: Member, book_process: Start) -> Iterator[Book]:
    database = PostgreSQL(short_folder() / "pg")
    database.folder.parent.chmod(0o711)
    database.start()
    yield Book(database, book_process, keeper)
    database.thaw()
    database.stop()


def a_defect(token: str, **changed: str) -> dict[str, str]:
    return {
        "csrfmiddlewaretoken": token,
        "ref": str(uuid4()),
        "description": "Brake hose torn\non the “left”",
        "severity": "dangerous",
        "found_on": "2026-03-16",
        "found_by": "other",
    } | changed


def hidden(body: str) -> dict[str, str]:
    """What the form in a page sends."""
    found = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)">', body)
    return {unescape(name): unescape(value) for name, value in found}


def stop(book: Book) -> Callable[[], None]:
    book.database.stop()
    return book.database.serve


def freeze(book: Book) -> Callable[[], None]:
    book.database.freeze()
    return book.database.thaw


def crowd(book: Book) -> Callable[[], None]:
    """Others take every connection that the server gives; those of the book have ended."""
    with book.connect() as own:
        own.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid()")
    others = []
    with suppress(psycopg.OperationalError):
        while True:
            others.append(book.connect())
    return lambda: [other.close() for other in others].clear()


@pytest.mark.parametrize("take_away", [stop, freeze, crowd])
def test_each_page_answers_in_time_and_what_was_typed_is_kept(
    book: Book, take_away: Callable[[Book], Callable[[], None]]
) -> None:
    token = book.token()
    give_back = take_away(book)
    for _ in range(3):
        for path in (reverse("costing:home"), reverse("fleet:car-list"), REPORT):
            answer, seconds = timed(book.visitor.get, path)
            assert (answer.status, seconds < PATIENCE) == (503, True), (path, seconds)
            assert int(answer.headers["Retry-After"]) > 0
            assert "<h1>Try again in a moment</h1>" in answer.body
            assert "Nothing was lost." in answer.body
    typed = a_defect(token)
    answer, seconds = book.post(REPORT, typed)
    assert (answer.status, seconds < PATIENCE) == (503, True), seconds
    assert "was not saved" in " ".join(answer.body.split())
    again = hidden(answer.body)
    assert again | {"csrfmiddlewaretoken": ""} == typed | {"csrfmiddlewaretoken": ""}
    give_back()
    assert book.defects() == []
    for _ in range(2):
        # A database that hung is left alone for two seconds.
        wait_until(lambda: book.post(REPORT, again)[0].status == 303, "saving it")
    assert book.defects() == [typed["ref"]]


def test_a_script_is_told_to_come_again(book: Book) -> None:
    book.token()
    book.database.stop()
    book.visitor.headers["Accept"] = "application/json"
    answer = book.visitor.get(REPORT)
    assert (answer.status, answer.body) == (503, "{}")
    assert int(answer.headers["Retry-After"]) > 0


def test_whatever_is_posted_while_it_restarts_is_saved_once_or_said_not_to_be(book: Book) -> None:
    token = book.token()
    sent: dict[str, str] = {}

    def post(number: int) -> None:
        fields = a_defect(token, severity="watch", description=f"Stone chip {number}")
        answer, seconds = book.post(REPORT, fields)
        assert seconds < PATIENCE, seconds
        body = " ".join(answer.body.split())
        said = "unclear" if "It may be saved, or not." in body else "not" if "was not saved" in body else "saved"
        assert (answer.status == 303) == (said == "saved"), body
        sent[fields["ref"]] = said

    with ThreadPoolExecutor(2) as threads:
        running = [threads.submit(post, number) for number in range(60)]
        wait_until(lambda: sum(one.done() for one in running) >= 10, "the first posts")
        book.database.stop()
        post(60)
        book.database.serve()
        for one in running:
            one.result()
    stored = book.defects()
    assert len(stored) == len(set(stored))
    for ref, said in sent.items():
        assert said == "unclear" or (ref in stored) == (said == "saved"), (ref, said)
    assert {"saved", "not"} <= set(sent.values())


def test_what_takes_long_is_waited_for_while_the_database_lives(book: Book) -> None:
    """A car that somebody else has locked for three seconds: the post waits, and is not told to come again."""
    token = book.token()
    with book.connect() as other:
        other.execute("SELECT 1 FROM fleet_car FOR UPDATE")
        with ThreadPoolExecutor(1) as threads:
            posting = threads.submit(book.post, REPORT, a_defect(token))
            waiting = "SELECT 1 FROM pg_locks WHERE NOT granted"
            wait_until(lambda: other.execute(waiting).fetchone() is not None, "the post to wait for the car")
            other.execute("SELECT pg_sleep(3)")
            other.rollback()
            answer, seconds = posting.result()
    assert answer.status == 303
    assert seconds > 3
