"""A session that cannot be written: ended meanwhile, or the database out of reach."""

from typing import Any, NoReturn

import pytest
from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.models import Session
from django.db import OperationalError, connection

from config.sessions import SessionStore

pytestmark = pytest.mark.django_db


@pytest.fixture
def session() -> SessionStore:
    session = SessionStore()
    session["seen"] = 1
    session.save()
    return session


def test_one_that_somebody_ended_meanwhile_is_gone(session: SessionStore) -> None:
    Session.objects.all().delete()
    with pytest.raises(UpdateError):
        session.save()


def test_a_database_out_of_reach_is_not_taken_for_one_that_was_ended(session: SessionStore) -> None:
    def fail(*_: Any) -> NoReturn:
        raise OperationalError("the server closed the connection")

    with connection.execute_wrapper(fail), pytest.raises(OperationalError, match="closed the connection"):
        session.save()
