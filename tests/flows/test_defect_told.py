"""A dangerous defect, from the phone of whoever finds it to the inbox of whoever must know."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from fleet.models import Car, Defect, ReminderMail
from instructors.models import Member
from tests.factories import CoordinatorFactory
from tests.fleet.defects import defect_data
from tests.fleet.reminding import text_of
from tests.mailserver import MailServer
from tests.processes import BookProcess

pytestmark = pytest.mark.django_db(transaction=True)


def test_keeper_and_coordinator_have_it_in_their_inbox_within_a_minute_and_once(
    client_of: Callable[[Member], Client],
    car: Car,
    keeper: Member,
    coordinator: Member,
    smtp_server: MailServer,
    celery_worker_process: Callable[..., BookProcess],
) -> None:
    celery_worker_process()
    sent: dict[str, Any] = defect_data(found_on=timezone.localdate().isoformat())
    finder = client_of(CoordinatorFactory.create())
    for _ in range(2):
        finder.post(reverse("fleet:defect-report", args=["QA51ABC"]), sent)
    mails = smtp_server.wait_for(2)
    assert sorted(str(mail["To"]) for mail in mails) == [coordinator.email, keeper.email]
    assert ReminderMail.objects.count() == 2
    for mail in mails:
        text = text_of(mail)
        assert "QA51 ABC" in str(mail["Subject"])
        assert "Brake pedal goes to the floor" in text
        assert "qualified technician" in text
        assert reverse("fleet:defect", args=[Defect.objects.get().pk]) in text
        assert " safe" not in text
