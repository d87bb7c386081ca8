"""What a reminder mail says, received by a real mail server."""

import re
from datetime import date
from email.message import EmailMessage

import pytest
from django.test import Client
from django.urls import resolve

from fleet.actions import book_due_item
from fleet.models import Car
from fleet.reminders import run_reminders
from instructors.models import Member
from tests.factories import CostEntryFactory, DueItemFactory, OdometerReadingFactory
from tests.fleet.reminding import TODAY, both_parts, html_of, in_days, text_of
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


def mail_to(server: MailServer, member: Member) -> EmailMessage:
    [message] = [message for message in server.messages if message["To"] == member.email]
    return message


def test_it_says_what_whose_when_and_what_to_do(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    DueItemFactory.create(car=car, due_on=in_days(7), note="Ask about the wipers")
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert message["Subject"] == "QA51 ABC, MOT, 23 March 2026, in 7 days"
    for text in both_parts(message):
        assert "Hello Wren Applegarth" in text
        assert "23 March 2026, in 7 days" in text
        assert "Book an MOT test. If it passes on or after 24 February 2026, no days are lost." in text
        assert "Ask about the wipers" in text
        assert "http://localhost:8000/cars/QA51ABC/" in text
        assert "your insurer, not the book" in text
        assert "ff the road" not in text


def test_its_message_id_is_the_rows(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    DueItemFactory.create(car=car, due_on=in_days(7))
    run_reminders(TODAY)
    row = keeper.reminder_mails.get()
    assert mail_to(smtp_server, keeper)["Message-ID"] == f"<{row.message_id}@localhost>"
    assert mail_to(smtp_server, keeper)["Auto-Submitted"] == "auto-generated"


def test_a_car_off_the_road_comes_first_and_plainly(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    DueItemFactory.create(car=car, kind="breakdown_cover", due_on=in_days(-40))
    DueItemFactory.create(car=car, kind="insurance", due_on=in_days(-3))
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert message["Subject"] == ("Off the road: QA51 ABC, Insurance, 13 March 2026, 3 days overdue; and 1 more")
    for text in both_parts(message):
        assert "QA51 ABC is off the road: no lesson may be given in it until this is put right." in text
        assert "Do not give a lesson in QA51 ABC." in text
        assert text.index("Insurance") < text.index("Breakdown cover")


def test_a_mileage_says_that_its_day_is_a_forecast_and_on_what_it_rests(
    car: Car, keeper: Member, smtp_server: MailServer
) -> None:
    OdometerReadingFactory.create(car=car, read_on=in_days(-90), miles=40_000)
    OdometerReadingFactory.create(car=car, read_on=in_days(-2), miles=41_800)
    DueItemFactory.create(car=car, kind="service", due_on=None, due_miles=42_000)
    run_reminders(TODAY)
    for text in both_parts(mail_to(smtp_server, keeper)):
        assert "42,000 miles, about 26 March 2026, in 10 days" in text
        assert "Forecast from 1,800 miles in 90 days; last read on 14 March 2026." in text


def test_a_credential_is_told_with_its_name_and_not_a_car(keeper: Member, smtp_server: MailServer) -> None:
    DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=in_days(1))
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert message["Subject"] == "Wren Applegarth, ADI registration, 17 March 2026, tomorrow"
    assert "http://localhost:8000/me/" in text_of(message)


def test_the_coordinators_list_is_complete_and_not_only_what_is_new(
    car: Car,
    colleague_car: Car,
    keeper: Member,
    colleague: Member,
    coordinator: Member,
    smtp_server: MailServer,
) -> None:
    DueItemFactory.create(car=car, due_on=in_days(6))
    run_reminders(TODAY)
    smtp_server.clear()
    booked = DueItemFactory.create(car=colleague_car, kind="vehicle_tax", due_on=in_days(5))
    book_due_item(by=colleague, item=booked, booked_for=in_days(3))
    DueItemFactory.create(car=colleague_car, kind="insurance", due_on=in_days(-1))
    DueItemFactory.create(car=colleague_car, kind="service", due_on=in_days(9))
    run_reminders(in_days(1))
    message = mail_to(smtp_server, coordinator)
    for text in both_parts(message):
        assert "Everything in the co-op that is overdue, not known, or due within 7 days" in " ".join(text.split())
        assert "Ελπίδα Καραβίδα" in text
        assert "22 March 2026, in 5 days" in text  # told yesterday, listed still
        assert "booked for 19 March 2026" in text
        assert "Service" not in text
    assert message["Subject"].startswith("Off the road: QB02 XYZ, Insurance")
    assert {message["To"] for message in smtp_server.messages} == {coordinator.email, colleague.email}


def test_the_coordinators_list_names_what_nobody_knows(
    car: Car, colleague_car: Car, coordinator: Member, smtp_server: MailServer
) -> None:
    DueItemFactory.create(car=car, due_on=in_days(6))
    DueItemFactory.create(car=car, kind="service", due_on=None, due_miles=60_000)
    run_reminders(TODAY)
    for text in both_parts(mail_to(smtp_server, coordinator)):
        assert "Look at" not in text
        assert "not known: nothing is recorded" in text.lower()
        assert "QB02 XYZ" in text
        assert "Service" not in text


def test_a_coordinators_own_items_are_not_listed_twice(
    colleague_car: Car, coordinator: Member, car: Car, smtp_server: MailServer
) -> None:
    colleague_car.keeper = coordinator
    colleague_car.save()
    DueItemFactory.create(car=colleague_car, due_on=in_days(7))
    DueItemFactory.create(car=car, due_on=in_days(7))
    run_reminders(TODAY)
    text = text_of(mail_to(smtp_server, coordinator))
    assert text.count("QB02 XYZ: MOT") == 1
    assert "Everything else in the co-op" in text


def test_no_mail_speaks_of_money(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    CostEntryFactory.create(car=car, category="insurance", amount="913.27", covers_to=in_days(1), covers_from=TODAY)
    DueItemFactory.create(car=car, kind="insurance", due_on=in_days(1))
    run_reminders(TODAY)
    for text in both_parts(mail_to(smtp_server, keeper)):
        assert "913" not in text
        assert "£" not in text


def test_a_members_words_are_text_in_the_html(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    DueItemFactory.create(car=car, kind="other", due_on=in_days(1), note="<b>Tow bar</b> & \r\n more")
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert "&lt;b&gt;Tow bar&lt;/b&gt; &amp;" in html_of(message)
    assert "<b>Tow bar</b> &" in text_of(message)
    assert message["Subject"] == "QA51 ABC, <b>Tow bar</b> & more, 17 March 2026, tomorrow"


@pytest.mark.parametrize(("kind", "ways"), [("mot", ["book", "done"]), ("insurance", ["done"])])
def test_one_tap_leads_through_sign_in_to_the_form(
    car: Car, keeper: Member, smtp_server: MailServer, client: Client, kind: str, ways: list[str]
) -> None:
    item = DueItemFactory.create(car=car, kind=kind, due_on=in_days(7))
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    expected = [f"/due/{item.pk}/{way}/" for way in ways]
    for part in (text_of(message), html_of(message)):
        assert re.findall(r"http://localhost:8000(/due/[^\s\"]+)", part) == expected
    for address in expected:
        answer = client.get(address)
        assert (answer.status_code, answer["Location"]) == (302, f"/account/login/?next={address}")
    client.force_login(keeper)
    assert all(client.get(address).status_code == 200 for address in expected)


def test_its_links_lead_to_pages_of_the_book() -> None:
    assert resolve("/cars/QA51ABC/").view_name == "fleet:car"
    assert resolve("/me/").view_name == "fleet:profile"


@pytest.mark.parametrize(
    ("due_on", "words"),
    [
        (date(2026, 3, 30), "on or after 1 March 2026 (check that day with the test station), no days are lost"),
        (date(2026, 3, 23), "on or after 24 February 2026, no days are lost"),
    ],
)
def test_the_earliest_test_day_of_a_month_end_asks_to_be_checked(
    car: Car, keeper: Member, smtp_server: MailServer, due_on: date, words: str
) -> None:
    DueItemFactory.create(car=car, due_on=due_on)
    run_reminders(TODAY)
    assert all(words in text for text in both_parts(mail_to(smtp_server, keeper)))
