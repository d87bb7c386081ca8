"""Papers when the worker is killed, run twice at once, or is told of one more than once.

Every process here is a real one, on the test's own database, queue and folder of files.
"""

import re
from collections.abc import Callable
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from costing.actions import ask_for_paper
from costing.models import Paper, PaperState
from costing.tasks import make_paper, make_waiting_papers
from fleet.models import Car
from instructors.models import Member
from tests.factories import FillFactory
from tests.faults.serving import signed_in
from tests.processes import BookProcess
from tests.servers import Redis, wait_until

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("files_folder")]
Start = Callable[..., BookProcess]

DAYS = (date(2026, 2, 1), date(2026, 2, 28))

#: Claims the paper as the worker does, says so, and never gets to the end.
CLAIM_AND_HANG = """
import django
django.setup()
import time
from costing.actions import make_paper
from costing.models import Paper

def hang(paper, told):
    told(1, 12)
    print("page 1", flush=True)
    time.sleep(600)

make_paper(Paper.objects.get().pk, {"statement": hang})
"""


@pytest.fixture
def paper(car: Car, keeper: Member, redis_server: Redis) -> Paper:
    """A statement of one fill that the keeper asked for; the queue is told of it."""
    FillFactory(car=car, member=keeper, filled_on="2026-02-12", amount="51.83")
    return ask_for_paper(by=keeper, kind="statement", days=DAYS)


def made(paper: Paper) -> Paper:
    """The paper once it is made."""
    wait_until(lambda: Paper.objects.get(pk=paper.pk).is_made, "the paper")
    return Paper.objects.get(pk=paper.pk)


def test_the_worker_makes_what_was_asked_for(
    paper: Paper, celery_worker_process: Start, tmp_path: Path, client_of: Callable[[Member], Client]
) -> None:
    celery_worker_process(DATA_DIR=str(tmp_path))
    assert made(paper).attempt_count == 1
    answer = client_of(paper.member).get(reverse("costing:paper-file", args=[paper.pk]))
    assert "51.83" in PdfReader(BytesIO(answer.content)).pages[0].extract_text()


def test_what_a_killed_worker_left_is_made_by_the_next(
    paper: Paper, book_process: Start, celery_worker_process: Start, redis_server: Redis, tmp_path: Path
) -> None:
    with redis_server.client() as client:
        client.flushall()  # the nudge was with the worker that is killed
    with book_process("-c", CLAIM_AND_HANG) as first:
        first.wait_for_output("page 1")
        assert Paper.objects.values_list("state", "page", "pages").get() == (PaperState.MAKING, 1, 12)
        make_waiting_papers()
        with redis_server.client() as client:
            assert client.llen("celery") == 0  # its claim is respected while it runs
        first.kill()
    make_waiting_papers()
    celery_worker_process(DATA_DIR=str(tmp_path))
    assert made(paper).attempt_count == 2
    assert [path.name for path in (tmp_path / "files/papers").iterdir()] == [f"{paper.pk}.pdf"]


def test_told_of_it_often_two_workers_make_it_once(
    paper: Paper, celery_worker_process: Start, tmp_path: Path, redis_server: Redis
) -> None:
    for _ in range(5):
        make_paper.delay(str(paper.pk))
    for _ in range(2):
        celery_worker_process(DATA_DIR=str(tmp_path))
    assert made(paper).attempt_count == 1
    with redis_server.client() as client:
        wait_until(lambda: client.llen("celery") == 0, "the queue to be empty")
    assert len(list((tmp_path / "files/papers").iterdir())) == 1


def test_one_that_was_removed_is_not_made(paper: Paper, celery_worker_process: Start, tmp_path: Path) -> None:
    paper.delete()
    worker = celery_worker_process(DATA_DIR=str(tmp_path))
    worker.wait_for_output("succeeded")
    assert not list(tmp_path.rglob("*.pdf"))


def test_the_embedded_server_has_it_made_by_a_process_that_takes_its_memory_along(
    car: Car, coordinator: Member, book_process: Start, tmp_path: Path
) -> None:
    """What lays out pages takes hundreds of megabytes for many; the server has never loaded it."""
    with book_process("manage.py", "serve", "127.0.0.1:0", REDIS_URL="", DATA_DIR=str(tmp_path)) as server:
        visitor = signed_in(coordinator, server.port())
        # Of few cars the page of the list is the list itself, and has no form.
        token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', visitor.get(reverse("fleet:car-add")).body)
        assert token
        assert visitor.send(reverse("fleet:board-sheet"), csrfmiddlewaretoken=token[1]).status == 303
        made(Paper.objects.get())
        loaded = [Path(f"/proc/{pid}/maps").read_text() for pid in (server.pid, *children_of(server.pid))]
        assert [("python" in maps, "libpango" in maps) for maps in loaded] == [(True, False)] * 2
    assert len(PdfReader(tmp_path / "files" / Paper.objects.get().file.name).pages) == 1


def children_of(pid: int) -> list[int]:
    return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
