"""Work that takes longer than a page may: who takes it, with a broker, in the embedded server, and without either."""

import threading
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction

from config import later, loops
from config.celery import app
from config.later import Lane

pytestmark = pytest.mark.django_db(transaction=True)


class Task:
    """Stands in for a task: it writes down what it was asked, and where."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, tuple[object, ...]]] = []
        self.ran = threading.Event()

    app = app

    def apply_async(
        self, args: tuple[object, ...], headers: dict[str, str], producer: object = None, retry: bool = True
    ) -> None:
        self.asked.append(("queue" if producer else "here", args))

    def __call__(self, *arguments: object) -> None:
        self.asked.append((threading.current_thread().name, arguments))
        self.ran.set()


@pytest.fixture
def task(monkeypatch: pytest.MonkeyPatch) -> Task:
    found = Task()
    monkeypatch.setattr(later, "import_string", {"some.task": found}.__getitem__)
    return found


@pytest.mark.parametrize(("embedded", "where"), [(True, "here"), (False, "queue")])
def test_without_a_loop_the_queue_takes_it_or_whoever_asks(
    task: Task, settings: Any, embedded: bool, where: str
) -> None:
    settings.EMBEDDED = embedded
    later.soon("some.task", "one")
    assert task.asked == [(where, ("one",))]


def test_it_is_done_only_once_the_transaction_commits(task: Task) -> None:
    with transaction.atomic():
        later.soon("some.task", "one")
        assert task.asked == []
    assert task.asked == [("queue", ("one",))]


@pytest.fixture
def in_loops(task: Task, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A loop for each lane takes what is handed over."""
    monkeypatch.setitem(app.tasks, "some.task", task)
    stop = threading.Event()
    taking = [
        threading.Thread(target=loops.take_what_is_handed_over, args=[lane, stop], name=lane.value, daemon=True)
        for lane in Lane
    ]
    for loop in taking:
        loop.start()
    while len(later._loops) < len(Lane):
        stop.wait(0.01)
    yield
    stop.set()
    for lane, loop in zip(Lane, taking, strict=True):
        later._handed[lane].put(("no.such.task", (), ""))  # wakes it
        loop.join(30)
        assert not loop.is_alive()
    assert not later._loops


@pytest.mark.usefixtures("in_loops")
@pytest.mark.parametrize("lane", Lane)
def test_the_loop_of_the_embedded_server_takes_it_at_once(task: Task, settings: Any, lane: Lane) -> None:
    settings.EMBEDDED = True
    later.soon("some.task", "one", lane=lane)
    assert task.ran.wait(30)
    assert task.asked == [(lane.value, ("one",))]


@pytest.mark.usefixtures("in_loops")
def test_the_workers_loop_takes_what_the_queue_does_not(task: Task, no_redis: None) -> None:
    app.loader.import_default_modules()
    task.apply_async = app.tasks["fleet.tasks.send_mail"].apply_async
    later.soon("some.task", "one")
    assert task.ran.wait(30)
    assert task.asked == [("work", ("one",))]


@pytest.mark.usefixtures("in_loops")
def test_the_workers_loop_leaves_to_the_queue_what_that_takes(task: Task) -> None:
    later.soon("some.task", "one")
    assert task.asked == [("queue", ("one",))]
    assert not task.ran.is_set()
