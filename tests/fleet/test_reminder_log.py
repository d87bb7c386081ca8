"""The page /reminders/: the last runs, and the e-mails that wait."""

import re
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import Car, MailKind, MailState
from instructors.models import ActMail, Member
from instructors.notification import deliver_act_mail
from tests.costing.pages import text_of
from tests.factories import (
    ActFactory,
    BackupDrillFactory,
    BackupRunFactory,
    DueItemFactory,
    NoticeFactory,
    PulseFactory,
    ReminderMailFactory,
    ReminderRunFactory,
)
from tests.mailserver import MailServer

pytestmark = pytest.mark.usefixtures("today")

LOG = reverse("fleet:reminder-log")


def log(everyone: dict[str, Client]) -> str:
    return " ".join(everyone["coordinator"].get(LOG).content.decode().split())


@pytest.mark.parametrize(
    ("who", "status"),
    [("coordinator", 200), ("keeper", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_only_a_coordinator_sees_it(everyone: dict[str, Client], who: str, status: int) -> None:
    assert everyone[who].get(LOG).status_code == status


def test_before_the_first_run_it_says_what_to_expect(everyone: dict[str, Client]) -> None:
    page = log(everyone)
    assert "No reminders have gone out yet. The first run is due at 7:00" in page
    assert "Members may not be told" not in page


def test_a_run_is_shown_with_its_counts(everyone: dict[str, Client]) -> None:
    ReminderRunFactory(new_notice_count=7, mail_count=3, already_told_count=1)
    page = log(everyone)
    assert "16 March 2026" in page
    assert "Finished. 7 new reminders in 3 e-mails. 1 sent before." in page
    assert "No e-mail is waiting." in page


@pytest.mark.parametrize(
    ("started_at", "words"),
    [("2026-03-16T11:50Z", "Running."), ("2026-03-16T07:00Z", "Stopped before it finished.")],
)
def test_a_run_that_has_not_finished_is_told(everyone: dict[str, Client], started_at: str, words: str) -> None:
    ReminderRunFactory(started_at=started_at, finished_at=None)
    assert words in log(everyone)


@pytest.mark.parametrize(("hour", "is_said"), [(9, True), (23, False)])
def test_a_run_for_some_hours_says_so(everyone: dict[str, Client], hour: int, is_said: bool) -> None:
    ReminderRunFactory(hour=hour)
    assert ("For hours up to 9:00. Finished." in log(everyone)) == is_said


def test_mails_of_a_fortnight_are_counted_by_what_they_are_about(
    everyone: dict[str, Client], keeper: Member, colleague: Member, coordinator: Member
) -> None:
    first, too_old = date(2026, 3, 3), date(2026, 3, 2)
    for member in (keeper, colleague):
        ReminderMailFactory(recipient=member, day=first, state=MailState.SENT)
    ReminderMailFactory(recipient=keeper, day=too_old, state=MailState.SENT)
    ReminderMailFactory(recipient=coordinator, day=first, state=MailState.SUPERSEDED)
    ReminderMailFactory(recipient=coordinator, kind=MailKind.DEFECT, about="defect-1")
    page = re.sub(r"<[^>]*>", " ", log(everyone))
    assert re.search(r"What falls due +2 +0 +1 +A car off the road +0 +1 +0 ", page)


def test_what_a_coordinator_asked_for_is_shown(
    everyone: dict[str, Client], keeper: Member, coordinator: Member
) -> None:
    mail = ReminderMailFactory(recipient=keeper, kind=MailKind.ASKED, asked_by=coordinator, state=MailState.SENT)
    page = log(everyone)
    assert keeper.name in page
    assert f"Asked by {coordinator.name}. {mail.get_state_display()}." in page


@pytest.mark.usefixtures("car")
def test_a_book_that_never_ran_them_says_so_too(everyone: dict[str, Client]) -> None:
    PulseFactory()
    Car.history.update(history_date="2026-03-15T09:59Z")
    assert "No run of the reminders has finished since 15 March 2026 at 09:59" in log(everyone)


@pytest.mark.parametrize(("finished_at", "is_told"), [("2026-03-15T10:01Z", False), ("2026-03-15T09:59Z", True)])
def test_silence_is_told_after_a_day_and_two_hours(
    everyone: dict[str, Client], finished_at: str, is_told: bool
) -> None:
    PulseFactory()
    ReminderRunFactory(day=date(2026, 3, 15), started_at="2026-03-15T09:55Z", finished_at=finished_at)
    page = text_of(everyone["coordinator"].get(LOG))
    assert ("Members may not be told No run of the reminders has finished since" in page) == is_told


def test_an_email_that_waits_is_shown_with_its_error_and_next_attempt(
    everyone: dict[str, Client], keeper: Member, colleague: Member
) -> None:
    ReminderMailFactory(
        recipient=keeper,
        attempt_count=2,
        last_error="451 4.3.0 Not now",
        next_attempt_at="2026-03-16T12:14Z",
    )
    ReminderMailFactory(recipient=colleague, state=MailState.SENT)
    page = log(everyone)
    assert "Waiting to be sent, for 16 March 2026. Tried 2 times." in page
    assert "The mail server said: 451 4.3.0 Not now." in page
    assert "Next try 16 March 2026 at 12:14." in page
    assert colleague.name not in page


def test_hours_are_those_of_london_in_summer_too(everyone: dict[str, Client]) -> None:
    ReminderRunFactory(day=date(2025, 7, 1), started_at="2025-07-01T06:00Z", finished_at="2025-07-01T06:01Z")
    assert '<span class="num">07:00</span>' in log(everyone)


def test_nothing_private_of_a_message_is_shown(everyone: dict[str, Client], keeper: Member) -> None:
    DueItemFactory(car=None, member=keeper, kind="other", due_on=date(2026, 3, 23), note="Eye operation")
    NoticeFactory(car=None, member=keeper, kind="other", recipient=keeper, mail__last_error="451 Not now")
    page = log(everyone)
    assert "Eye operation" not in page
    assert "451 Not now" in page


def test_a_mail_about_a_change_that_was_refused_is_seen_with_the_reason(
    everyone: dict[str, Client], keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    mail = ActFactory(concerns=keeper, by=coordinator).mail
    smtp_server.refusing = True
    deliver_act_mail(mail.pk)
    shown = text_of(everyone["coordinator"].get(reverse("fleet:reminder-log")))
    assert (
        "Wren Applegarth News of a change to somebody's car or details. Waiting to be sent, for 10 March 2026." in shown
    )
    assert "Tried 1 time. The mail server said: 451 4.3.0 Not now, try again later." in shown
    assert "QA51 ABC" not in shown  # what it tells is for its recipient
    smtp_server.refusing = False
    ActMail.objects.update(next_attempt_at=mail.created_at)
    deliver_act_mail(mail.pk)
    assert "News of a change" not in text_of(everyone["coordinator"].get(reverse("fleet:reminder-log")))


def test_a_book_without_a_backup_says_so(everyone: dict[str, Client]) -> None:
    assert "The book has not been backed up yet." in log(everyone)


def test_the_last_backup_is_shown_and_a_try_that_failed_since(everyone: dict[str, Client]) -> None:
    BackupRunFactory(error="No space left on device")
    BackupRunFactory(made_at="2026-03-15T04:20Z", missing_count=1)
    page = log(everyone)
    assert "Last backup: 15 March 2026 at 04:20, 20.0 MB. The book names 1 file that was not there." in page
    assert "The try on" not in page
    BackupRunFactory(made_at="2026-03-16T04:20Z", ended_at="2026-03-16T04:20Z", error="No space left on device")
    assert "The try on 16 March 2026 failed: No space left on device." in log(everyone)


def test_a_trial_of_a_backup_that_lacks_files_says_how_many(everyone: dict[str, Client]) -> None:
    BackupDrillFactory(backup=BackupRunFactory(missing_count=1))
    assert "all as they were backed up. 1 file that the book names was not there, so it is not in it." in log(everyone)


def test_a_book_that_was_never_restored_as_a_trial_says_so(everyone: dict[str, Client]) -> None:
    assert "No backup has been restored as a trial yet." in log(everyone)


def test_it_says_what_was_restored_as_a_trial_and_what_was_not(everyone: dict[str, Client]) -> None:
    BackupDrillFactory()
    page = log(everyone)
    assert "Last restored as a trial: 15 March 2026 at 04:36. The backup of 15 March 2026 became a book again" in page
    assert "12,345 rows and 120 files, all as they were backed up." in page
    assert "sealed" not in page
    BackupDrillFactory(ended_at="2026-03-16T04:36Z", was_opened=False, row_count=1, file_count=1)
    page = log(everyone)
    assert (
        "lies there byte for byte as it was written. It is sealed, and its key is not on the server, so a copy" in page
    )
    assert "1 row and 1 file, all as they were" in page
    BackupDrillFactory(ended_at="2026-03-16T05:36Z", error="The file receipts/a.jpg did not come back.")
    assert "The trial on 16 March 2026 failed: The file receipts/a.jpg did not come back." in log(everyone)
