"""The world of the matrix: made once in each process, and found by each test as it was made."""

from collections.abc import Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.db import transaction
from django.db.models import Max
from pytest_django.plugin import DjangoDbBlocker

from instructors.models import Act
from tests.conftest import TODAY
from tests.mailserver import MailServer
from tests.matrix.asking import Asker
from tests.matrix.looking import money_of
from tests.matrix.world import World, build

_NOON = datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=ZoneInfo("Europe/London"))


@pytest.fixture(scope="package")
def _made_world(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[World]:
    """The world, in a transaction of which each test's own is a part; it is gone after the last."""
    with django_db_blocker.unblock(), transaction.atomic():
        with time_machine.travel(_NOON, tick=False):
            world = build()
        world.untouched = money_of(world.now)
        world.last_act = Act.objects.aggregate(last=Max("pk"))["last"]
        yield world
        transaction.set_rollback(True)


@pytest.fixture
def world(_made_world: World, db: None, today: object) -> World:
    """The world, at noon of the frozen today; what a test writes is undone after it."""
    return _made_world


@pytest.fixture
def asker(world: World, smtp_server: MailServer, caplog: pytest.LogCaptureFixture) -> Asker:
    """Who asks as anybody in the world."""
    return Asker(world, smtp_server, caplog)
