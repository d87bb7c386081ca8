"""The store of the book's files frozen while the book is used: what needs no picture goes on.

Web process and store are real ones.
"""

import signal
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse

from config.environment import ObjectStore
from config.pictures import Page
from costing.actions import keep_receipts
from costing.models import Receipt
from fleet.models import Car
from instructors.models import Member
from tests.factories import CostEntryFactory
from tests.faults.serving import PATIENCE, Start, serve, signed_in, timed
from tests.objectserver import kept_in, object_process, url_of
from tests.processes import OtherProcess

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.filterwarnings("ignore:datetime.datetime.utcnow:DeprecationWarning"),
]

#: What lies in the store is shown as it is.
PICTURE = b"a picture" * 1000


@pytest.fixture
def store(settings: Any, tmp_path: Path, files_folder: Path) -> Iterator[tuple[ObjectStore, OtherProcess]]:
    with object_process(tmp_path) as (store, process):
        kept_in(store, settings)
        yield store, process


@pytest.fixture
def receipt(store: object, keeper: Member, car: Car) -> Receipt:
    cost = CostEntryFactory.create(car=car, member=keeper)
    keep_receipts(by=keeper, entry=cost, pages=[Page(PICTURE, PICTURE[:9])])
    return Receipt.objects.get()


def test_pages_give_it_up_and_those_without_pictures_answer(
    store: tuple[ObjectStore, OtherProcess], receipt: Receipt, keeper: Member, book_process: Start
) -> None:
    port = serve(book_process, FILES_URL=url_of(store[0]))
    small = reverse("costing:receipt-small", args=[receipt.pk])
    assert signed_in(keeper, port).get(small).status == 200
    visitors = [signed_in(keeper, port) for _ in range(10)]
    store[1].process.send_signal(signal.SIGSTOP)
    with ThreadPoolExecutor(len(visitors)) as browser:
        pictures = [browser.submit(timed, visitor.get, small) for visitor in visitors]
        for page in ("/health/live/", "/health/ready/", reverse("costing:home")):
            answer, seconds = timed(signed_in(keeper, port).get, page)
            assert (answer.status, seconds < PATIENCE) == (200, True), (page, seconds)
        for answer, seconds in (picture.result() for picture in pictures):
            assert (answer.status, seconds < PATIENCE) == (503, True), seconds
