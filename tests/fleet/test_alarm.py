"""The alarm that reminders have stopped, sent by whichever process notices."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fleet.models import Car, MailKind, MailState, ReminderMail
from fleet.reminders import DeliveryResult, deliver_mail, sound_alarm
from fleet.tasks import watch
from instructors.models import Member
from tests.factories import CoordinatorFactory, PulseFactory, ReminderRunFactory
from tests.fleet.reminding import TODAY, both_parts, in_days
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

NOON = datetime(2026, 3, 16, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def kept(db: None) -> None:
    """The schedule has been kept for long."""
    PulseFactory()


@pytest.fixture
def silence(car: Car) -> None:
    """The last run finished 27 hours ago."""
    ReminderRunFactory(finished_at=NOON - timedelta(hours=27))


@pytest.mark.usefixtures("silence")
def test_every_coordinator_is_told_once_a_day(coordinator: Member, keeper: Member, smtp_server: MailServer) -> None:
    second = CoordinatorFactory.create()
    CoordinatorFactory.create(left_on=in_days(-1))
    watch()
    watch()
    assert {message["To"] for message in smtp_server.messages} == {coordinator.email, second.email}
    assert len(smtp_server.messages) == 2
    message = smtp_server.messages[0]
    assert message["Subject"] == "Reminders have stopped: nobody is being told what falls due"
    for text in both_parts(message):
        assert "No reminder run has finished since 15 March 2026 at 09:00." in text
        assert "http://localhost:8000/reminders/" in text
    with time_machine.travel(NOON + timedelta(days=1), tick=False):
        watch()
    assert len(smtp_server.messages) == 4


@pytest.mark.usefixtures("silence", "coordinator")
def test_whoever_asks_whether_the_book_is_well_sounds_it(client: Client, smtp_server: MailServer) -> None:
    assert client.post(reverse("fleet:health")).status_code == 503
    assert client.post(reverse("fleet:health")).status_code == 503
    assert len(smtp_server.messages) == 1


@pytest.mark.usefixtures("silence", "coordinator")
def test_whoever_only_looks_whether_the_book_is_well_writes_nothing(client: Client, smtp_server: MailServer) -> None:
    assert client.get(reverse("fleet:health")).status_code == 503
    assert (smtp_server.messages, ReminderMail.objects.count()) == ([], 0)


def test_a_book_that_never_ran_them_says_since_when(car: Car, coordinator: Member, smtp_server: MailServer) -> None:
    car.history.update(history_date=NOON - timedelta(hours=30))
    sound_alarm(NOON)
    for text in both_parts(smtp_server.messages[0]):
        assert "since the first car came into the book, on 15 March 2026 at 06:00" in text


@pytest.mark.parametrize("ago", [1, 26])
def test_while_they_run_nothing_is_said(car: Car, coordinator: Member, smtp_server: MailServer, ago: int) -> None:
    ReminderRunFactory(finished_at=NOON - timedelta(hours=ago))
    sound_alarm(timezone.now())
    assert (smtp_server.messages, ReminderMail.objects.count()) == ([], 0)


@pytest.mark.usefixtures("silence", "coordinator")
@pytest.mark.parametrize(("hour", "count"), [(0, 0), (3, 0), (4, 1)])
def test_nothing_is_said_in_the_hours_in_which_nothing_runs(hour: int, count: int, smtp_server: MailServer) -> None:
    at = NOON.replace(day=17, hour=hour, minute=30)
    with time_machine.travel(at, tick=False):
        sound_alarm(at)
    assert len(smtp_server.messages) == count


@pytest.mark.usefixtures("silence", "coordinator")
def test_refused_it_waits_and_is_dropped_once_they_run_again(smtp_server: MailServer) -> None:
    smtp_server.refusing = True
    watch()
    watch()
    assert smtp_server.refused_count == 1  # the second time it waits
    smtp_server.refusing = False
    ReminderRunFactory(finished_at=NOON)
    mail = ReminderMail.objects.get(kind=MailKind.ALARM)
    assert deliver_mail(mail.pk, TODAY, at_once=True).result == DeliveryResult.NOTHING_LEFT
    mail.refresh_from_db()
    assert (mail.state, smtp_server.messages) == (MailState.SUPERSEDED, [])
