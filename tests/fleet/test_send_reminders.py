"""The command ``send_reminders``."""

import json
from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from fleet.models import Car, ReminderRun
from fleet.queries import last_finished_run, recent_runs, unsent_mails
from instructors.models import Member
from tests.fleet.reminding import due_item
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_order")]


def send_reminders(*arguments: str) -> tuple[dict[str, Any], str]:
    out, err = StringIO(), StringIO()
    call_command("send_reminders", "--json", *arguments, stdout=out, stderr=err)
    return json.loads(out.getvalue()), err.getvalue()


@pytest.fixture
def due_soon(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=date(2026, 3, 22))
    due_item(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 4, 15))


@pytest.mark.usefixtures("due_soon")
def test_a_second_run_of_the_night_tells_nothing(coordinator: Member, smtp_server: MailServer) -> None:
    answer, _ = send_reminders("--on", "2026-03-16")
    told = {(one["recipient"], one["kind"], one["subject_of"], one["due_on"], one["step"]) for one in answer["told"]}
    assert told == {
        ("keeper@book.example", "mot", "QA51ABC", "2026-03-22", 7),
        ("keeper@book.example", "adi_registration", "keeper@book.example", "2026-04-15", 30),
        ("coordinator@book.example", "mot", "QA51ABC", "2026-03-22", 7),
    }
    assert (answer["on"], answer["already_told"], answer["failed"]) == ("2026-03-16", 0, 0)
    assert len(smtp_server.messages) == 2

    answer, _ = send_reminders("--on", "2026-03-16")
    assert answer == {"on": "2026-03-16", "told": [], "already_told": 3, "failed": 0}
    assert len(smtp_server.messages) == 2


@pytest.mark.usefixtures("due_soon")
def test_what_was_refused_counts_as_failed_and_goes_with_the_next_run(smtp_server: MailServer) -> None:
    smtp_server.refusing = True
    answer, errors = send_reminders("--on", "2026-03-16")
    assert (answer["told"], answer["already_told"], answer["failed"]) == ([], 0, 1)
    assert "keeper@book.example: 451 4.3.0 Not now, try again later" in errors
    assert [mail.last_error for mail in unsent_mails()] == ["451 4.3.0 Not now, try again later"]

    smtp_server.refusing = False
    answer, errors = send_reminders("--on", "2026-03-16")
    assert (len(answer["told"]), answer["already_told"], answer["failed"], errors) == (2, 0, 0, "")
    assert unsent_mails() == []
    [message] = smtp_server.messages
    assert message["To"] == "keeper@book.example"


@pytest.mark.usefixtures("due_soon")
def test_without_a_day_it_is_today(today: date, smtp_server: MailServer) -> None:
    assert send_reminders()[0]["on"] == "2026-03-16"


@pytest.mark.usefixtures("due_soon", "smtp_server")
def test_each_run_leaves_a_row_with_its_counts() -> None:
    assert last_finished_run() is None
    send_reminders("--on", "2026-03-16")
    send_reminders("--on", "2026-03-16")
    second, first = recent_runs()
    assert (first.new_notice_count, first.already_told_count, first.mail_count) == (2, 0, 1)
    assert (second.new_notice_count, second.already_told_count, second.mail_count) == (0, 2, 0)
    assert last_finished_run() == second
    assert ReminderRun.objects.filter(finished_at=None).count() == 0


@pytest.mark.usefixtures("due_soon", "smtp_server")
def test_a_person_gets_a_table() -> None:
    out = StringIO()
    call_command("send_reminders", "--on", "2026-03-16", stdout=out)
    assert "keeper@book.example  MOT" in out.getvalue()
    assert "Told now: 2. Told before: 0. Mails that could not be sent: 0." in out.getvalue()
