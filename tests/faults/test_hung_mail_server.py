"""A mail server that takes connections and never says a word, beside the embedded server: no page waits for it."""

import socket
from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from fleet.models import Car, ReminderMail
from instructors.models import Member
from tests.faults.serving import PATIENCE, signed_in, timed
from tests.processes import BookProcess
from tests.servers import wait_until

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("in_order")]


@pytest.fixture
def hung() -> Iterator[str]:
    """Its address, as EMAIL_URL takes it."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(50)
        yield f"smtp://127.0.0.1:{listening.getsockname()[1]}"


def test_a_dangerous_defect_is_reported_in_time(
    car: Car, keeper: Member, coordinator: Member, hung: str, book_process: Callable[..., BookProcess], tmp_path: Path
) -> None:
    server = book_process("manage.py", "serve", "localhost:0", REDIS_URL="", EMAIL_URL=hung, DATA_DIR=str(tmp_path))
    visitor = signed_in(keeper, server.port())
    page = reverse("fleet:defect-report", args=[car.registration])
    visitor.get(page)
    for number in range(3):
        sent = {"ref": str(uuid4()), "description": f"Brake hose {number}", "severity": "dangerous"}
        sent |= {"found_on": timezone.localdate().isoformat(), "found_by": "other"}
        answer, seconds = timed(visitor.post, page, **sent)
        assert (answer.status, seconds < PATIENCE) == (303, True), (seconds, server.output())
    assert ReminderMail.objects.count() >= 3
    wait_until(lambda: ReminderMail.objects.filter(state="sending").exists(), "the first try")
    answer, seconds = timed(visitor.get, reverse("fleet:car-list"))
    assert (answer.status, seconds < PATIENCE) == (200, True), seconds
