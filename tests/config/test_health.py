"""Live and ready: what they ask for, and how soon they answer."""

import contextlib
import socket
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.urls import reverse

from config import health
from tests import run
from tests.processes import BookProcess
from tests.schemas import copied
from tests.servers import short_folder, wait_until
from tests.visitor import Visitor

LIVE, READY, DUTY = reverse("fleet:health-live"), reverse("fleet:health-ready"), reverse("fleet:health")
Start = Callable[..., BookProcess]


def test_live_asks_for_nothing_whoever_asks() -> None:
    """This test has no database, and would fail if one were asked; a session's cookie leads to none either."""
    client = Client()
    client.cookies["sessionid"] = "a" * 32
    answer = client.get(LIVE)
    assert (answer.status_code, answer.json()) == (
        200,
        {"name": "live", "ok": True, "words": "This process answers."},
    )
    assert client.post(LIVE).status_code == 405


@pytest.mark.django_db
def test_a_book_of_this_release_is_ready(client: Client) -> None:
    answer = client.get(READY)
    assert (answer.status_code, answer.json()["name"], answer.json()["ok"]) == (200, "ready", True)


@pytest.mark.django_db(transaction=True)
def test_a_book_of_another_release_is_not(client: Client) -> None:
    recorder = MigrationRecorder(connection)
    recorder.record_applied("costing", "0999_of_a_later_release")
    try:
        answer = client.get(READY)
    finally:
        recorder.record_unapplied("costing", "0999_of_a_later_release")
    assert answer.status_code == 503
    assert "The database is of a newer release of the book" in answer.json()["words"]
    assert client.get(LIVE).status_code == 200


def test_all_who_ask_while_the_database_hangs_wait_for_one_look(monkeypatch: pytest.MonkeyPatch) -> None:
    looks, goes_on = [], threading.Event()

    def hang(look: threading.Thread) -> None:
        looks.append(look)
        goes_on.wait(30)

    monkeypatch.setattr(health._Look, "run", hang)
    monkeypatch.setattr(health, "PATIENCE", 0.2)
    assert [health.ready().ok for _ in range(3)] == [False] * 3
    assert len(looks) == 1
    goes_on.set()
    looks[0].join(10)


def test_what_was_found_is_kept_for_some_seconds_however_many_ask(settings: Any) -> None:
    settings.DUTY_KEPT_SECONDS = 60
    looks: list[int] = []
    may_go_on = threading.Event()

    def look() -> int:
        may_go_on.wait(30)
        looks.append(1)
        return len(looks)

    kept = health.Kept(look)
    with ThreadPoolExecutor(4) as pool:
        asked = [pool.submit(kept) for _ in range(4)]
        may_go_on.set()
        assert [one.result(30) for one in asked] == [1] * 4
    settings.DUTY_KEPT_SECONDS = 0
    kept = health.Kept(look)
    assert [kept(), kept()] == [2, 3]


def test_whoever_asks_while_somebody_looks_again_gets_what_was_found_before(settings: Any) -> None:
    settings.DUTY_KEPT_SECONDS = 0
    looking, may_go_on, found = threading.Event(), threading.Event(), iter("ab")

    def look() -> str:
        one = next(found)
        if one == "b":
            looking.set()
            may_go_on.wait(30)
        return one

    kept = health.Kept(look)
    assert kept() == "a"
    with ThreadPoolExecutor(1) as pool:
        again = pool.submit(kept)
        assert looking.wait(30)
        assert kept() == "a"
        may_go_on.set()
        assert again.result(30) == "b"


def test_whoever_tells_of_a_turn_goes_by_nothing_older(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.DUTY_KEPT_SECONDS = 60
    found = iter("abc")

    def look() -> list[health.Answer]:
        return [health.Answer(next(found), True, "Well.")]

    monkeypatch.setattr(health, "_look_at_parts", look)
    monkeypatch.setattr(health, "_parts", health.Kept(look))
    monkeypatch.setattr(health, "ready", lambda: health.Answer("ready", True, "It answers."))
    lately, now = health.duty_lately, health.duty
    assert [ask()[1].name for ask in (lately, now, lately, now)] == ["a", "b", "a", "c"]


def test_a_look_that_hangs_is_red_and_no_longer_what_was_found_before(
    settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.DUTY_KEPT_SECONDS = 0
    looking, may_go_on = threading.Event(), threading.Event()

    def look() -> list[health.Answer]:
        if kept_once:
            looking.set()
            may_go_on.wait(30)
        kept_once.append(True)
        return [health.Answer("disk", True, "There is room.")]

    kept_once: list[bool] = []
    monkeypatch.setattr(health, "_parts", health.Kept(look))
    monkeypatch.setattr(health, "ready", lambda: health.Answer("ready", True, "It answers."))
    assert all(part.ok for part in health.duty_lately())
    with ThreadPoolExecutor(1) as pool:
        again = pool.submit(health.duty_lately)
        assert looking.wait(30)
        assert [part.name for part in health.duty_lately()] == ["database", "disk"]
        monkeypatch.setattr(health, "LOOKS_FOR", -1.0)
        assert [(part.name, part.ok) for part in health.duty_lately()] == [("database", True), ("look", False)]
        may_go_on.set()
        assert all(part.ok for part in again.result(30))


class Wire:
    """Between the book and PostgreSQL; once it ``is_cut``, whatever comes is swallowed, as by a hung server."""

    def __init__(self, behind: Path) -> None:
        self.folder, self._behind, self.is_cut = short_folder(), behind, False
        self._listener = socket.socket(socket.AF_UNIX)
        self._listener.bind(str(self.folder / behind.name))
        self._listener.listen()
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        while True:
            try:
                near, _ = self._listener.accept()
            except OSError:
                return
            far = socket.socket(socket.AF_UNIX)
            far.connect(str(self._behind))
            for one, other in ((near, far), (far, near)):
                threading.Thread(target=self._carry, args=[one, other], daemon=True).start()

    def _carry(self, one: socket.socket, other: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := one.recv(65_536):
                if not self.is_cut:
                    other.sendall(data)
        # The other end hears of it, and each closes what it reads.
        with contextlib.suppress(OSError):
            other.shutdown(socket.SHUT_RDWR)
        one.close()

    def close(self) -> None:
        self._listener.close()


@pytest.fixture
def wire() -> Iterator[Wire]:
    if not run.on_postgresql():
        pytest.skip("SQLite is no server that could hang")
    wire = Wire(run.postgresql().folder / ".s.PGSQL.5432")
    yield wire
    wire.close()


def test_a_real_process_whose_database_hangs_is_live_and_soon_says_that_it_is_not_ready(
    wire: Wire, book_process: Start
) -> None:
    name = connection.settings_dict["NAME"]
    visitor = served(book_process, DATABASE_URL=f"postgres://postgres@/{wire.folder}/{name}")
    wait_until(lambda: visitor.get(READY).status == 200, "the first look, which a busy machine may make a slow one")
    assert [visitor.get(path).status for path in (LIVE, DUTY)] == [200, 200]
    wire.is_cut = True
    # What asks without a limit of its own would wait for as long as the line is cut; the visitor gives up before.
    assert [visitor.get(path).status for path in (READY, DUTY, LIVE, READY)] == [503, 503, 200, 503]
    assert "The database does not answer." in visitor.get(DUTY).body
    wire.is_cut = False
    wait_until(lambda: visitor.get(READY).status == 200, "the look that hung to give up, and the next to find it well")


def test_a_real_process_without_queue_and_database_is_live(book_process: Start, tmp_path: Path) -> None:
    """The database goes away under it."""
    if run.on_postgresql():
        pytest.skip("one of all tests; see the hung one")
    address = copied("book", tmp_path)
    visitor = served(book_process, DATABASE_URL=address, REDIS_URL="redis+socket:///nowhere/redis.sock")
    assert [visitor.get(path).status for path in (LIVE, READY)] == [200, 200]
    Path(address.removeprefix("sqlite:///")).write_bytes(b"no database" * 1_000)
    assert [visitor.get(path).status for path in (LIVE, READY, DUTY)] == [200, 503, 503]


def served(start: Start, **variables: str) -> Visitor:
    process = start(
        "-m", "gunicorn", "config.wsgi", "--bind=127.0.0.1:0", "--threads=4", "--no-control-socket", **variables
    )
    process.wait_for_output("Booting worker")

    port = int(process.output().partition("http://127.0.0.1:")[2].split()[0])
    return Visitor(port)
