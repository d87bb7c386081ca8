"""Work that takes longer than a page may: who takes it, with a broker, in the embedded server, and without either."""

import threading
from typing import Any

import pytest

from config import later, server
from config.celery import app

pytestmark = pytest.mark.django_db(transaction=True)


class Task:
    """Stands in for a task: it writes down what it was asked, and where."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, tuple[object, ...]]] = []
        self.ran = threading.Event()

    def apply_async(self, arguments: tuple[object, ...], headers: dict[str, str]) -> None:
        self.asked.append(("queue", arguments))

    def apply(self, args: tuple[object, ...], throw: bool) -> None:
        self.asked.append((threading.current_thread().name, args))
        self.ran.set()


@pytest.fixture
def task(monkeypatch: pytest.MonkeyPatch) -> Task:
    found = Task()
    monkeypatch.setattr(later, "import_string", {"some.task": found}.__getitem__)
    return found


@pytest.mark.parametrize("embedded", [True, False])
def test_without_a_loop_the_queue_takes_it(task: Task, settings: Any, embedded: bool) -> None:
    settings.EMBEDDED = embedded
    later.soon("some.task", "one")
    assert task.asked == [("queue", ("one",))]


def test_the_loop_of_the_embedded_server_takes_it_at_once(
    task: Task, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.EMBEDDED = True
    monkeypatch.setitem(app.tasks, "some.task", task)
    stop = threading.Event()
    loop = threading.Thread(target=server.take_what_is_handed_over, args=[stop], name="loop", daemon=True)
    loop.start()
    try:
        while not later._loops:
            stop.wait(0.01)
        later.soon("some.task", "one")
        assert task.ran.wait(10)
        assert task.asked == [("loop", ("one",))]
    finally:
        stop.set()
        later._handed.put(("no.such.task", (), ""))  # wakes it
        loop.join(10)
    assert not loop.is_alive()
    assert not later._loops
