"""The mail about what somebody else did: told only once the mail server has taken it."""

import re
import threading
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
import time_machine
from django.contrib.sessions.models import Session
from django.db import connection, transaction
from django.utils import timezone
from pytest_django.fixtures import Settings

from config.claims import this_process
from config.site import site_url
from instructors.actions import record_act, record_leaving
from instructors.models import Act, ActKind, ActMail, Member
from instructors.notification import act_mails_to_send, deliver_act_mail
from instructors.tasks import clean, retry_act_mail, send_act_mail
from instructors.wording import acts_in_words, subject_of
from tests.fleet.reminding import both_parts
from tests.mailserver import MailServer
from tests.servers import Redis

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
NOON = datetime(2026, 3, 16, 12, tzinfo=UTC)


def change(by: Member | None, concerns: Member, **words: str) -> Act:
    words = {"about": "QA51 ABC", "field": "in_service_to", "now": "2026-02-28"} | words
    return record_act(by=by, kind=ActKind.CAR, concerns=concerns, subject="car:7", **words, is_mailed=True)


@pytest.fixture
def act(coordinator: Member, keeper: Member) -> Act:
    """The coordinator has ended the service of the keeper's car; the mail waits."""
    return change(coordinator, keeper)


def test_it_says_who_changed_what_from_what_to_what(
    act: Act, coordinator: Member, keeper: Member, smtp_server: MailServer, settings: Settings
) -> None:
    change(coordinator, keeper, field="in_service_from", was="2024-01-08", now="2024-02-01")
    change(coordinator, keeper, field="reading:2026-03-05", was="48210", now="")
    change(coordinator, keeper, field="keeper", was=f"member:{keeper.pk}", now=f"member:{coordinator.pk}")
    assert deliver_act_mail(act.mail_id)
    [message] = smtp_server.messages
    assert message["Subject"].strip() == "QA51 ABC: days in service, odometer and keeper changed by Zdzisława Łąkowska"
    assert message["To"] == "keeper@book.example"
    for text in both_parts(message):
        said = " ".join(re.sub("<[^>]+>", " ", text).replace("* ", "").split())
        assert said.count("Hello Wren Applegarth,") == 1
        assert "Zdzisława Łąkowska changed this in the book. QA51 ABC: last day in service" in said
        assert "QA51 ABC: last day in service It was not set. It is now: 28 February 2026" in said
        assert "QA51 ABC: first day in service It was: 8 January 2024 It is now: 1 February 2024" in said
        assert "QA51 ABC: odometer on 5 March 2026 It was: 48,210 miles It was removed." in said
        assert "QA51 ABC: keeper It was: Wren Applegarth It is now: Zdzisława Łąkowska" in said
        assert "Ask Zdzisława Łąkowska to put it right." in said
        assert f"{site_url()}/me/record/" in text


def test_about_oneself_the_subject_names_who_did_it_first(coordinator: Member, keeper: Member) -> None:
    acts = [
        record_act(by=by, kind=ActKind.PERSON, concerns=keeper, field="name", now="Wren", is_mailed=True)
        for by in (coordinator, None)
    ]
    assert [subject_of([act]) for act in acts] == [
        "Zdzisława Łąkowska changed your name in the book",
        "The book itself changed your name",
    ]
    assert subject_of([acts[0], change(coordinator, keeper)]).endswith("changed your name in the book; and 1 more")


@pytest.mark.parametrize(
    ("kept", "words"), [("1", "1st"), ("2", "2nd"), ("10", "10th"), ("12", "12th"), ("23", "23rd"), ("28", "28th")]
)
def test_a_closing_day_is_said_with_the_month_from_which_it_counts(keeper: Member, kept: str, words: str) -> None:
    """Now it is March: what is changed counts from the next calendar month on."""
    act = record_act(
        by=None,
        kind=ActKind.SETTINGS,
        concerns=keeper,
        subject="settings",
        field="closing_day",
        was="10",
        now=kept,
        is_mailed=True,
    )
    [said] = acts_in_words([act], keeper.pk)
    assert (said.was, said.now) == (
        "the 10th of the next month",
        f"the {words} of the next month, from April's figures on",
    )


def test_it_counts_as_told_only_when_the_server_has_taken_it(act: Act, smtp_server: MailServer) -> None:
    smtp_server.refusing = True
    assert not deliver_act_mail(act.mail_id)
    act.refresh_from_db()
    mail = ActMail.objects.get()
    assert (act.told_at, mail.state, mail.attempt_count, mail.sent_at) == (None, "queued", 1, None)
    assert mail.last_error == "451 4.3.0 Not now, try again later"
    smtp_server.refusing = False
    assert not deliver_act_mail(act.mail_id)  # the wait of five minutes is not over
    with time_machine.travel(NOON + timedelta(minutes=5), tick=False):
        assert act_mails_to_send() == [act.mail_id]
        assert deliver_act_mail(act.mail_id)
        act.refresh_from_db()
        assert act.told_at == NOON + timedelta(minutes=5)
    assert len(smtp_server.messages) == 1


def test_every_attempt_has_the_same_message_id(act: Act, smtp_server: MailServer) -> None:
    deliver_act_mail(act.mail_id)
    # As if the process had been killed between the server's yes and the row's update.
    dead = this_process().rpartition("/")[0] + "/1"
    ActMail.objects.update(state="sending", claimed_by=dead)
    deliver_act_mail(act.mail_id)
    first, second = smtp_server.messages
    assert first["Message-ID"] == second["Message-ID"]


def test_it_is_sent_once(act: Act, smtp_server: MailServer) -> None:
    assert [deliver_act_mail(act.mail_id) for _ in range(2)] == [True, False]
    assert (len(smtp_server.messages), act_mails_to_send()) == (1, [])


def test_somebody_elses_claim_is_respected(act: Act, smtp_server: MailServer) -> None:
    ActMail.objects.update(state="sending", claimed_by="elsewhere/1/1", claimed_at=NOON)
    assert not deliver_act_mail(act.mail_id)
    with time_machine.travel(NOON + timedelta(minutes=10), tick=False):
        assert deliver_act_mail(act.mail_id)


def test_a_mail_that_cannot_be_made_is_seen_and_told_nobody(act: Act, keeper: Member, smtp_server: MailServer) -> None:
    keeper.email = "two\nlines@book.example"
    keeper.save()
    deliver_act_mail(act.mail_id)
    assert ActMail.objects.get().last_error.startswith("ValueError")
    assert Act.objects.get().told_at is None


def test_somebody_who_has_left_is_told_too(coordinator: Member, keeper: Member, smtp_server: MailServer) -> None:
    record_leaving(by=coordinator, member=keeper, left_on=date(2026, 3, 1))
    deliver_act_mail(ActMail.objects.get().pk)
    [message] = smtp_server.messages
    assert message["Subject"].strip() == "Zdzisława Łąkowska changed your last day as a member in the book"
    for text in both_parts(message):
        assert "You can no longer sign in to the book." in text
        assert "/me/record/" not in text


def test_the_other_coordinators_are_named_and_the_book_itself(
    coordinator: Member, keeper: Member, colleague: Member, smtp_server: MailServer
) -> None:
    colleague.role = "coordinator"
    colleague.save()
    for by in (coordinator, None):
        deliver_act_mail(change(by, keeper).mail_id)
    by_one, by_itself = ("\n".join(both_parts(message)) for message in smtp_server.messages)
    assert "or Ελπίδα Καραβίδα, who can do so too" in " ".join(by_one.split())
    assert "Ask a coordinator to put it right." in by_itself


def test_a_car_entered_for_somebody_heads_the_mail(
    coordinator: Member, keeper: Member, smtp_server: MailServer
) -> None:
    act = change(coordinator, keeper, field="car", now="QA51 ABC")
    change(coordinator, keeper, field="reading:2026-03-05", now="48210")
    change(coordinator, keeper, about="QB02 XYZ")
    deliver_act_mail(act.mail_id)
    [message] = smtp_server.messages
    assert message["Subject"].strip() == "QA51 ABC: entered for you by Zdzisława Łąkowska; and 1 more"
    assert "QA51 ABC: entered in the book, with you as its keeper" in both_parts(message)[0]


def test_without_a_mail_server_the_file_counts_as_accepted(act: Act, settings: Settings, tmp_path: Path) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.filebased.EmailBackend"
    settings.EMAIL_FILE_PATH = tmp_path
    assert deliver_act_mail(act.mail_id)
    act.refresh_from_db()
    assert act.told_at == NOON
    [file] = tmp_path.iterdir()
    assert "QA51 ABC" in file.read_text()


@pytest.mark.django_db(transaction=True)
def test_one_whose_nudge_was_lost_is_sent_all_the_same(act: Act, redis_server: Redis, smtp_server: MailServer) -> None:
    for _ in range(2):
        retry_act_mail()
    send_act_mail(act.mail_id)
    assert len(smtp_server.messages) == 1


@pytest.mark.django_db(transaction=True)
def test_an_act_added_at_the_moment_of_sending_is_told_too(
    act: Act, coordinator: Member, keeper: Member, smtp_server: MailServer
) -> None:
    """Whoever adds holds the mail until the end of the transaction: it is claimed only then."""
    is_added, may_commit = threading.Event(), threading.Event()

    def add() -> None:
        with transaction.atomic():
            change(coordinator, keeper, about="QB02 XYZ")
            is_added.set()
            may_commit.wait(60)
        connection.close()

    def send() -> None:
        deliver_act_mail(act.mail_id)
        connection.close()

    adding, sending = threading.Thread(target=add), threading.Thread(target=send)
    adding.start()
    assert is_added.wait(60)
    sending.start()
    sending.join(0.5)
    assert (sending.is_alive(), smtp_server.messages) == (True, [])
    may_commit.set()
    adding.join(60)
    sending.join(30)
    [message] = smtp_server.messages
    assert "QB02 XYZ" in both_parts(message)[0]
    assert ActMail.objects.count() == 1
    assert not Act.objects.filter(told_at__isnull=True).exists()


@pytest.mark.django_db(transaction=True)
def test_nobody_waits_for_a_mail_that_another_transaction_holds(
    act: Act, coordinator: Member, keeper: Member, settings: Settings
) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("SQLite lets one transaction write at a time")
    is_added, may_commit = threading.Event(), threading.Event()

    def add() -> None:
        with transaction.atomic():
            change(coordinator, keeper)
            is_added.set()
            may_commit.wait(60)
        connection.close()

    adding = threading.Thread(target=add)
    adding.start()
    assert is_added.wait(60)
    second = change(coordinator, keeper)
    may_commit.set()
    adding.join(60)
    assert second.mail_id != act.mail_id


def test_sessions_that_are_over_are_forgotten(db: None) -> None:
    for days in (-1, 1):
        Session.objects.create(session_key=f"over in {days}", expire_date=timezone.now() + timedelta(days=days))
    clean()
    assert list(Session.objects.values_list("session_key", flat=True)) == ["over in 1"]
