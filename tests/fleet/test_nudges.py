"""The word to a member who has logged nothing for a week: to whom, when, and in which mail."""

import json
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from costing.actions import make_all_due
from fleet.models import Car, MailKind, Notice, ReminderMail
from fleet.reminders import plan_reminders, run_reminders
from fleet.reminders.nudges import LOG
from instructors.models import Member
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    FillFactory,
    MemberFactory,
    OdometerReadingFactory,
    RepeatFactory,
    TeachingRecordFactory,
)
from tests.fleet.keepers import hand_on
from tests.fleet.reminding import both_parts, due_item, in_days, steps_told_to, text_of
from tests.mailserver import MailServer

TODAY = date(2026, 3, 16)

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("today", "in_order")]


def logged(days_ago: int) -> dict[str, Any]:
    """What an entry has that was logged so many days ago."""
    return {"created_at": datetime(2026, 3, 16, 12, tzinfo=UTC) - timedelta(days=days_ago)}


@pytest.fixture
def willing(car: Car) -> Member:
    """The car's keeper, who has the word switched on, as everybody has at first."""
    Member.objects.filter(pk=car.keeper_id).update(wants_log_mail=True)
    car.keeper.refresh_from_db()
    return car.keeper


def said_on(*days: date) -> list[date]:
    """The days among ``days`` on which the word goes out, if the reminders run on each of them."""
    for day in days:
        run_reminders(day)
    return list(Notice.objects.filter(kind=LOG).order_by("mail__day").values_list("mail__day", flat=True))


def test_everybody_has_it_until_they_switch_it_off() -> None:
    assert Member(email="new@book.example").wants_log_mail


def test_after_a_week_without_an_entry_it_comes_once_a_week(willing: Member, smtp_server: MailServer, car: Car) -> None:
    FillFactory.create(car=car, filled_on=TODAY, **logged(0))
    days = [in_days(number) for number in range(23)]
    assert said_on(*days) == [in_days(7), in_days(14), in_days(21)]
    assert len(smtp_server.messages) == 3


def test_a_server_that_was_down_says_it_later_and_not_twice(willing: Member, smtp_server: MailServer, car: Car) -> None:
    FillFactory.create(car=car, filled_on=TODAY, **logged(0))
    assert said_on(in_days(13), in_days(14), in_days(19), in_days(20)) == [in_days(13), in_days(20)]


def test_a_mail_of_its_own_is_short_and_has_one_key(willing: Member, smtp_server: MailServer, car: Car) -> None:
    FillFactory.create(car=car, filled_on=date(2026, 3, 2), **logged(14))
    run_reminders(TODAY)
    [message] = smtp_server.messages
    assert message["Subject"] == "Anything to log since 2 March 2026?"
    for part in both_parts(message):
        assert "Nothing has been logged since 2 March 2026." in part
        assert "leaves this month" in part
        assert "Log now" in part
        assert "/log-mail/" in part
        assert "you must" not in part.lower()
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert "/log-mail/" in message["List-Unsubscribe"]


def test_if_something_falls_due_it_goes_in_that_mail(willing: Member, smtp_server: MailServer, car: Car) -> None:
    due_item(car=car, due_on=in_days(7))
    run_reminders(TODAY)
    [message] = smtp_server.messages
    assert "MOT" in message["Subject"]
    assert message["List-Unsubscribe"] is None
    for part in both_parts(message):
        assert "Anything to log?" in part
        assert "Log now" in part
    assert [kind for kind, _ in steps_told_to(willing)] == ["mot", LOG]
    assert ReminderMail.objects.get().kind == MailKind.REMINDER


def test_the_reminder_alone_does_not_speak_of_logging(willing: Member, smtp_server: MailServer, car: Car) -> None:
    FillFactory.create(car=car, **logged(1))
    due_item(car=car, due_on=in_days(7))
    run_reminders(TODAY)
    assert "log" not in text_of(smtp_server.messages[0]).lower()


@pytest.mark.parametrize(
    "log",
    [
        lambda car: FillFactory.create(car=car, **logged(6)),
        lambda car: CostEntryFactory.create(car=car, **logged(6)),
        lambda car: TeachingRecordFactory.create(car=car, **logged(6)),
        lambda car: OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 10)),
        # Said beforehand that there will be no lessons.
        lambda car: TeachingRecordFactory.create(
            car=car, from_on=date(2026, 3, 1), to_on=date(2026, 3, 12), lesson_count=0, minutes=0, **logged(20)
        ),
    ],
)
def test_nobody_who_logged_something_this_week_hears_it(
    willing: Member, car: Car, log: Callable[[Car], object]
) -> None:
    log(car)
    assert said_on(TODAY) == []


@pytest.mark.parametrize(
    "log",
    [
        lambda car: FillFactory.create(car=car, **logged(7)),
        lambda car: FillFactory.create(car=car, voided_at=datetime(2026, 3, 15, tzinfo=UTC), **logged(1)),
        lambda car: CostEntryFactory.create(car=car, member=MemberFactory.create(), **logged(1)),
        lambda car: [RepeatFactory.create(car=car), make_all_due(TODAY)],
    ],
)
def test_what_is_older_voided_anothers_or_made_by_the_book_is_no_entry(
    willing: Member, smtp_server: MailServer, car: Car, log: Callable[[Car], object]
) -> None:
    log(car)
    assert said_on(TODAY) == [TODAY]


@pytest.mark.parametrize(
    "changes",
    [
        {"wants_log_mail": False},
        {"joined_on": date(2026, 3, 10)},
        {"left_on": date(2026, 3, 15)},
    ],
)
def test_nobody_new_gone_or_unwilling_hears_it(willing: Member, changes: dict[str, Any]) -> None:
    Member.objects.filter(pk=willing.pk).update(**changes)
    assert said_on(TODAY) == []


@pytest.mark.parametrize(
    "changes",
    [{"in_service_to": date(2026, 3, 15)}, {"in_service_from": date(2026, 3, 10)}, {"in_service_from": in_days(3)}],
)
def test_nobody_without_a_car_in_service_hears_it_nor_in_its_first_week(
    willing: Member, changes: dict[str, Any]
) -> None:
    Car.objects.update(**changes)
    assert said_on(TODAY) == []


def test_whoever_takes_a_car_over_has_a_week(
    willing: Member, smtp_server: MailServer, car: Car, colleague: Member, coordinator: Member
) -> None:
    Member.objects.filter(pk=colleague.pk).update(wants_log_mail=True)
    hand_on(car, colleague, date(2026, 3, 10), coordinator)
    assert said_on(TODAY, in_days(1)) == []
    assert said_on(in_days(2)) == [in_days(2)]
    assert set(Notice.objects.filter(kind=LOG).values_list("recipient", flat=True)) == {colleague.pk}


def test_on_the_day_of_a_handover_the_reminders_go_out_though_the_former_keeper_wants_no_word(
    willing: Member, smtp_server: MailServer, car: Car, colleague: Member, coordinator: Member
) -> None:
    Member.objects.filter(pk=colleague.pk).update(wants_log_mail=True)
    Member.objects.filter(pk=willing.pk).update(wants_log_mail=False)
    hand_on(car, colleague, TODAY, coordinator)
    due_item(car=car, due_on=TODAY)
    assert said_on(TODAY) == []
    assert [message["To"] for message in smtp_server.messages].count(colleague.email) == 1


def test_logged_between_plan_and_sending_it_is_not_said(willing: Member, smtp_server: MailServer, car: Car) -> None:
    from fleet.reminders import deliver_mail

    [mail_id] = plan_reminders(TODAY).mail_ids
    FillFactory.create(car=car, **logged(0))
    assert deliver_mail(mail_id, TODAY).result == "nothing_left"
    assert (smtp_server.messages, Notice.objects.count()) == ([], 0)


def test_logged_before_a_reminder_goes_that_goes_without_it(willing: Member, smtp_server: MailServer, car: Car) -> None:
    from fleet.reminders import deliver_mail

    due_item(car=car, due_on=in_days(7))
    [mail_id] = plan_reminders(TODAY).mail_ids
    FillFactory.create(car=car, **logged(0))
    deliver_mail(mail_id, TODAY)
    assert "Log now" not in text_of(smtp_server.messages[0])
    assert not Notice.objects.filter(kind=LOG).exists()


def test_refused_today_it_is_said_tomorrow(willing: Member, smtp_server: MailServer) -> None:
    smtp_server.refuse_next(1)
    assert len(run_reminders(TODAY).failures) == 1
    run_reminders(in_days(1))
    assert len(smtp_server.messages) == 1
    assert [mail.day for mail in ReminderMail.objects.filter(notices__kind=LOG)] == [in_days(1)]


def test_the_command_tells_what_falls_due_and_nothing_of_it(willing: Member, smtp_server: MailServer, car: Car) -> None:
    due_item(car=car, due_on=in_days(7))
    for already_told in (0, 1):
        out = StringIO()
        call_command("send_reminders", "--json", stdout=out)
        answer = json.loads(out.getvalue())
        assert set(answer) == {"on", "told", "already_told", "failed"}
        assert [told["kind"] for told in answer["told"]] == ["mot"][already_told:]
        assert answer["already_told"] == already_told
    assert len(smtp_server.messages) == 1


def test_a_coordinator_sees_nothing_of_it(
    willing: Member, smtp_server: MailServer, everyone: dict[str, Client], coordinator: Member
) -> None:
    run_reminders(TODAY)
    assert [str(message["To"]) for message in smtp_server.messages] == [willing.email]
    smtp_server.refuse_next(1)
    run_reminders(in_days(7))
    page = everyone["coordinator"].get(reverse("fleet:reminder-log")).content.decode()
    assert "What falls due" in page
    for words in ("Anything to log", "logging", "logged"):
        assert words not in page


def test_ten_members_take_no_more_queries_than_one(
    willing: Member, django_assert_num_queries: Callable[[int], Any]
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from fleet.reminders.nudges import nudges

    with CaptureQueriesContext(connection) as one:
        nudges(TODAY, [willing])
    others = [car.keeper for car in CarFactory.create_batch(9)]
    Member.objects.update(wants_log_mail=True)
    for member in others:
        member.refresh_from_db()
    with django_assert_num_queries(len(one)):
        assert len(nudges(TODAY, [willing, *others])) == 10
