"""The doors through which the schedule reaches the reminders: what they put in the queue."""

from collections.abc import Iterator
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest
import time_machine

from config.celery import WATCHED, app
from fleet.models import Car, ReminderMail, ReminderRun
from fleet.reminders import run_reminders
from fleet.tasks import remind_today, retry_mail, send_mail
from instructors.models import Member
from tests.factories import CooperativeFactory
from tests.fleet.reminding import TODAY, due_item, in_days
from tests.mailserver import MailServer
from tests.servers import Redis

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("in_order")]


@pytest.fixture
def at_seven() -> Iterator[time_machine.Traveller]:
    """Seven in the morning in London on the tests' today."""
    with time_machine.travel(datetime(2026, 3, 16, 7, tzinfo=ZoneInfo("Europe/London")), tick=False) as clock:
        yield clock


@pytest.fixture
def due_soon(car: Car) -> None:
    due_item(car=car, due_on=in_days(7))


def queued(server: Redis) -> int:
    with server.client() as client:
        return int(client.llen("celery"))


@pytest.mark.usefixtures("due_soon")
def test_the_day_is_planned_once_at_the_co_ops_hour(at_seven: time_machine.Traveller, redis_server: Redis) -> None:
    CooperativeFactory.create(reminder_hour=8)
    remind_today()
    assert (ReminderRun.objects.count(), queued(redis_server)) == (0, 0)
    at_seven.shift(3600)
    remind_today()
    at_seven.shift(3600)
    remind_today()
    run = ReminderRun.objects.get()
    assert (run.day, run.new_notice_count, run.mail_count, run.finished_at is not None) == (TODAY, 1, 1, True)
    assert queued(redis_server) == 1


@pytest.mark.usefixtures("due_soon", "redis_server")
def test_each_member_is_served_at_their_own_hour(
    at_seven: time_machine.Traveller, keeper: Member, coordinator: Member
) -> None:
    Member.objects.filter(pk=coordinator.pk).update(reminder_hour=9)
    served = []
    for _ in range(7, 12):
        remind_today()
        served.append(list(ReminderMail.objects.order_by("pk").values_list("recipient", flat=True)))
        at_seven.shift(3600)
    both = [keeper.pk, coordinator.pk]
    assert served == [[keeper.pk], [keeper.pk], both, both, both]
    assert list(ReminderRun.objects.order_by("pk").values_list("hour", flat=True)) == [7, 9]


@pytest.mark.usefixtures("due_soon", "redis_server")
def test_missed_hours_are_caught_up_in_one(
    at_seven: time_machine.Traveller, keeper: Member, coordinator: Member
) -> None:
    Member.objects.filter(pk=coordinator.pk).update(reminder_hour=4)
    at_seven.shift(4 * 3600)
    remind_today()
    run = ReminderRun.objects.get()
    assert (run.hour, run.mail_count) == (11, 2)


@pytest.mark.usefixtures("due_soon", "redis_server")
def test_who_takes_an_earlier_hour_after_it_has_passed_is_served_once(
    at_seven: time_machine.Traveller, keeper: Member, coordinator: Member
) -> None:
    Member.objects.filter(pk=keeper.pk).update(reminder_hour=18)
    remind_today()
    Member.objects.filter(pk=keeper.pk).update(reminder_hour=6)
    at_seven.shift(24 * 3600)
    remind_today()
    assert ReminderMail.objects.filter(recipient=keeper).count() == 1


@pytest.mark.usefixtures("due_soon", "redis_server")
def test_after_the_command_served_everybody_nobody_is_left(
    at_seven: time_machine.Traveller, keeper: Member, smtp_server: MailServer
) -> None:
    Member.objects.filter(pk=keeper.pk).update(reminder_hour=20)
    run_reminders(TODAY)
    at_seven.shift(13 * 3600)
    remind_today()
    assert (ReminderRun.objects.get().hour, len(smtp_server.messages)) == (23, 1)


@pytest.mark.usefixtures("due_soon", "redis_server")
def test_a_run_that_came_to_grief_is_done_again_at_the_next_hour(at_seven: time_machine.Traveller) -> None:
    ReminderRun.objects.create(day=TODAY, hour=7)
    remind_today()
    assert ReminderRun.objects.filter(finished_at__isnull=False).count() == 1


@pytest.mark.usefixtures("due_soon", "at_seven")
def test_a_mail_whose_nudge_was_lost_is_sent_all_the_same(redis_server: Redis, smtp_server: MailServer) -> None:
    remind_today()
    with redis_server.client() as client:
        client.flushall()
    for _ in range(2):
        retry_mail()
    assert (len(smtp_server.messages), queued(redis_server)) == (1, 0)


@pytest.mark.usefixtures("due_soon")
def test_a_refused_mail_is_sent_once_its_wait_is_over(
    at_seven: time_machine.Traveller, redis_server: Redis, smtp_server: MailServer
) -> None:
    remind_today()
    smtp_server.refuse_next(1)
    send_mail(ReminderMail.objects.get().pk)
    retry_mail()
    assert (smtp_server.refused_count, len(smtp_server.messages)) == (1, 0)
    at_seven.shift(5 * 60)
    for _ in range(2):
        retry_mail()
    assert (smtp_server.refused_count, len(smtp_server.messages)) == (1, 1)


@pytest.mark.usefixtures("due_soon", "redis_server")
def test_a_mail_of_a_day_that_is_over_is_left_to_the_next_plan(
    at_seven: time_machine.Traveller, smtp_server: MailServer
) -> None:
    remind_today()
    mail = ReminderMail.objects.get()
    at_seven.shift(24 * 3600)
    send_mail(mail.pk)
    retry_mail()
    assert smtp_server.messages == []
    mail.refresh_from_db()
    assert (mail.state, mail.day) == ("queued", date(2026, 3, 16))


def test_schedule_and_watch_name_tasks_that_exist() -> None:
    app.loader.import_default_modules()
    scheduled = {entry["task"] for entry in app.conf.beat_schedule.values()}
    assert {"fleet.tasks.remind_today", "fleet.tasks.watch"} <= scheduled
    assert {"fleet.tasks.retry_mail", "instructors.tasks.retry_act_mail"} == set(WATCHED)
    assert {*scheduled, *WATCHED} <= set(app.tasks)
