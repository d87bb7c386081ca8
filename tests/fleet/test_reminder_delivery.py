"""Sending one mail: claimed once, read again before it goes, kept in the queue when refused."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import time_machine
from django.utils import timezone
from pytest_django.fixtures import Settings

from config.claims import this_process
from fleet.actions import book_due_item, change_due_item, complete_due_item
from fleet.models import Car, DueItem, MailState, Notice, ReminderMail
from fleet.reminders import DeliveryResult, deliver_mail, mails_to_send, plan_reminders, run_reminders
from instructors.models import Member
from tests.fleet.reminding import TODAY, due_item, in_days, steps_told_to, text_of
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today", "in_order")]
NOON = datetime(2026, 3, 16, 12, tzinfo=UTC)


@pytest.fixture
def mail(car: Car) -> ReminderMail:
    """The keeper's mail of today, waiting: the MOT in seven days."""
    due_item(car=car, due_on=in_days(7))
    [mail_id] = plan_reminders(TODAY).mail_ids
    return ReminderMail.objects.get(pk=mail_id)


def the_item() -> DueItem:
    """The due item that the notice is of."""
    notice = Notice.objects.get()
    return DueItem.objects.get(car=notice.car, kind=notice.kind)


def test_it_is_sent_once(mail: ReminderMail, smtp_server: MailServer) -> None:
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.LEFT_ALONE
    assert len(smtp_server.messages) == 1
    mail.refresh_from_db()
    assert (mail.state, mail.attempt_count, mail.sent_at, mail.last_error) == ("sent", 1, NOON, "")


def test_a_refusal_keeps_it_with_the_reason_and_a_doubling_wait(mail: ReminderMail, smtp_server: MailServer) -> None:
    smtp_server.refusing = True
    waits = []
    for _ in range(7):
        delivery = deliver_mail(mail.pk, TODAY, at_once=True)
        assert delivery.result == DeliveryResult.REFUSED
        assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.LEFT_ALONE  # the wait is not over
        mail.refresh_from_db()
        waits.append((mail.next_attempt_at - timezone.now()) // timedelta(minutes=1))
    assert waits == [5, 10, 20, 40, 80, 120, 120]
    assert "451" in delivery.error
    assert (mail.state, mail.claimed_by, mail.claimed_at) == ("queued", "", None)
    assert mail.last_error == "451 4.3.0 Not now, try again later"


def test_a_wait_begun_while_the_clock_was_ahead_is_over_once_it_is_right(
    mail: ReminderMail, smtp_server: MailServer
) -> None:
    smtp_server.refusing = True
    with time_machine.travel(NOON + timedelta(days=40), tick=False):
        deliver_mail(mail.pk, TODAY, at_once=True)
    smtp_server.refusing = False
    assert mails_to_send(TODAY) == [mail.pk]
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT


def test_somebody_elses_claim_is_respected_for_ten_minutes(mail: ReminderMail, smtp_server: MailServer) -> None:
    ReminderMail.objects.update(state=MailState.SENDING, claimed_by="elsewhere/1/1", claimed_at=NOON)
    with time_machine.travel(NOON + timedelta(minutes=9, seconds=59), tick=False):
        assert mails_to_send(TODAY, at_once=True) == []
        assert deliver_mail(mail.pk, TODAY, at_once=True).result == DeliveryResult.LEFT_ALONE
    with time_machine.travel(NOON + timedelta(minutes=10), tick=False):
        assert mails_to_send(TODAY) == [mail.pk]
        assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT
    assert len(smtp_server.messages) == 1


def test_a_claim_of_this_hosts_dead_process_is_free_at_once(mail: ReminderMail, smtp_server: MailServer) -> None:
    dead = this_process().rpartition("/")[0] + "/1"  # this id, but a process that started at another time
    ReminderMail.objects.update(state=MailState.SENDING, claimed_by=dead, claimed_at=NOON)
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT


def test_an_item_met_meanwhile_is_not_told(mail: ReminderMail, keeper: Member, smtp_server: MailServer) -> None:
    complete_due_item(by=keeper, item=the_item(), done_on=TODAY)
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.NOTHING_LEFT
    mail.refresh_from_db()
    assert (mail.state, smtp_server.messages, Notice.objects.count()) == ("superseded", [], 0)


def test_what_still_stands_is_told_without_what_fell(
    mail: ReminderMail, car: Car, keeper: Member, smtp_server: MailServer
) -> None:
    due_item(car=car, kind="insurance", due_on=in_days(1))
    plan_reminders(TODAY)
    complete_due_item(by=keeper, item=car.due_items.get(kind="mot"), done_on=TODAY)
    told = deliver_mail(mail.pk, TODAY).told
    assert [(one.kind, one.step) for one in told] == [("insurance", 1)]
    assert "MOT" not in text_of(smtp_server.messages[0])
    assert steps_told_to(keeper) == [("insurance", 1)]


def test_what_was_booked_meanwhile_is_quiet_and_told_later(
    mail: ReminderMail, keeper: Member, smtp_server: MailServer
) -> None:
    book_due_item(by=keeper, item=the_item(), booked_for=in_days(2))
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.NOTHING_LEFT
    assert [len(run_reminders(in_days(day)).told) for day in (1, 2, 3)] == [0, 0, 1]
    assert len(smtp_server.messages) == 1


@pytest.mark.parametrize("what", ["car", "keeper", "handed on", "due day"])
def test_what_does_not_concern_them_any_more_is_not_told(
    mail: ReminderMail, car: Car, keeper: Member, stranger: Member, smtp_server: MailServer, what: str
) -> None:
    if what == "car":
        car.in_service_to = in_days(-1)
    elif what == "handed on":
        car.keeper = stranger
    elif what == "keeper":
        keeper.left_on = in_days(-1)
        keeper.save()
    else:
        change_due_item(by=keeper, item=the_item(), due_on=in_days(8))
    car.save()
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.NOTHING_LEFT
    assert smtp_server.messages == []


def test_a_coordinator_who_gave_up_the_role_is_not_told_of_others(
    mail: ReminderMail, car: Car, coordinator: Member, smtp_server: MailServer
) -> None:
    plan_reminders(TODAY)
    coordinator.role = "member"
    coordinator.save()
    theirs = ReminderMail.objects.get(recipient=coordinator)
    assert deliver_mail(theirs.pk, TODAY).result == DeliveryResult.NOTHING_LEFT


def test_a_mail_given_up_serves_again_the_same_day(
    mail: ReminderMail, keeper: Member, car: Car, smtp_server: MailServer
) -> None:
    complete_due_item(by=keeper, item=the_item(), done_on=TODAY)
    deliver_mail(mail.pk, TODAY)
    due_item(car=car, kind="insurance", due_on=in_days(1))
    assert [told.kind for told in run_reminders(TODAY).told] == ["insurance"]
    mail.refresh_from_db()
    assert mail.state == "sent"


def test_what_breaks_one_mail_does_not_keep_the_others(
    mail: ReminderMail, keeper: Member, colleague_car: Car, colleague: Member, smtp_server: MailServer
) -> None:
    keeper.email = "two\nlines@book.example"  # no mail can be made to this
    keeper.save()
    due_item(car=colleague_car, due_on=in_days(7))
    result = run_reminders(TODAY)
    assert [told.recipient for told in result.told] == [colleague.email]
    assert len(result.failures) == 1
    mail.refresh_from_db()
    assert mail.state == "queued"
    assert mail.last_error.startswith("ValueError: Invalid address")


def test_a_mail_server_that_is_not_there_is_a_refusal_too(
    mail: ReminderMail, smtp_server: MailServer, settings: Settings
) -> None:
    settings.EMAIL_PORT = 1
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.REFUSED
    mail.refresh_from_db()
    assert mail.last_error.startswith("ConnectionRefusedError")


def test_without_a_mail_server_it_is_written_to_a_file(mail: ReminderMail, settings: Settings, tmp_path: Path) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT
    [file] = tmp_path.iterdir()
    assert "QA51 ABC" in file.read_text()


def test_a_mail_that_is_gone_is_left_alone() -> None:
    assert deliver_mail(1_000_000, date(2026, 3, 16)).result == DeliveryResult.LEFT_ALONE
