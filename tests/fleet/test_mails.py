"""Putting a mail in the queue, once a day for what it is about, with a nudge once that is committed."""

from datetime import date
from typing import Any

import pytest
from django.db import transaction

from fleet.actions import queue_mail
from fleet.models import MailKind, MailState, ReminderMail
from instructors.models import Member
from tests.servers import Redis

pytestmark = pytest.mark.usefixtures("today")


def waiting(server: Redis) -> int:
    with server.client() as client:
        return int(client.llen("celery"))


def test_a_mail_is_queued_for_today(keeper: Member, coordinator: Member) -> None:
    mail = queue_mail(to=keeper, kind=MailKind.ASKED, about="QA51ABC", asked_by=coordinator)
    assert mail == ReminderMail.objects.get()
    assert (mail.recipient, mail.day, mail.state) == (keeper, date(2026, 3, 16), MailState.QUEUED)
    assert (mail.kind, mail.about, mail.asked_by) == ("asked", "QA51ABC", coordinator)


def test_one_of_a_kind_about_the_same_goes_to_each_once_a_day(keeper: Member, coordinator: Member) -> None:
    assert queue_mail(to=keeper, kind=MailKind.DEFECT, about="defect-1")
    assert queue_mail(to=keeper, kind=MailKind.DEFECT, about="defect-1") is None
    ReminderMail.objects.update(state=MailState.SENT)
    assert queue_mail(to=keeper, kind=MailKind.DEFECT, about="defect-1") is None
    assert queue_mail(to=keeper, kind=MailKind.DEFECT, about="defect-2")
    assert queue_mail(to=coordinator, kind=MailKind.DEFECT, about="defect-1")
    assert ReminderMail.objects.count() == 3


@pytest.mark.django_db(transaction=True)
def test_it_is_nudged_after_the_commit_and_not_where_that_failed(keeper: Member, redis_server: Redis) -> None:
    with transaction.atomic():
        queue_mail(to=keeper, kind=MailKind.DEFECT, about="defect-1")
        transaction.set_rollback(True)
    assert (ReminderMail.objects.count(), waiting(redis_server)) == (0, 0)
    with transaction.atomic():
        queue_mail(to=keeper, kind=MailKind.DEFECT, about="defect-1")
        assert waiting(redis_server) == 0
    assert waiting(redis_server) == 1


def test_a_queue_that_cannot_be_reached_loses_nothing(
    keeper: Member, django_capture_on_commit_callbacks: Any, no_redis: None, caplog: pytest.LogCaptureFixture
) -> None:
    for about in ("defect-1", "defect-2"):
        with django_capture_on_commit_callbacks(execute=True):
            queue_mail(to=keeper, kind=MailKind.DEFECT, about=about)
    assert set(ReminderMail.objects.values_list("state", flat=True)) == {MailState.QUEUED}
    [said] = caplog.messages
    assert said.startswith("Redis does not answer")
