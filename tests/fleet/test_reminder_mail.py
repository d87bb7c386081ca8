"""What a reminder mail says, received by a real mail server."""

import re
from datetime import date
from email.message import EmailMessage

import pytest
from django.test import Client
from django.urls import resolve

from fleet.actions import book_due_item
from fleet.core.defects import Severity
from fleet.models import Car
from fleet.reminders import run_reminders
from instructors.models import Member
from tests.factories import (
    ConfirmationFactory,
    CostEntryFactory,
    DefectFactory,
    OdometerReadingFactory,
    TreadReadingFactory,
)
from tests.fleet.reminding import TODAY, both_parts, due_item, html_of, in_days, text_of
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today", "in_order")]


def mail_to(server: MailServer, member: Member) -> EmailMessage:
    [message] = [message for message in server.messages if message["To"] == member.email]
    return message


def test_it_says_what_whose_when_and_what_to_do(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    due_item(car=car, due_on=in_days(7), note="Ask about the wipers")
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert message["Subject"] == "QA51 ABC: MOT runs out in 7 days"
    for text in both_parts(message):
        assert "Hello Wren Applegarth" in text
        assert "QA51 ABC: MOT runs out in 7 days." in text.replace("\u00a0", " ")
        assert "Due 23 March 2026, in 7 days." in text
        assert "Book an MOT test. If it passes from now on, no days are lost." in text
        assert "Ask about the wipers" in text
        assert "http://localhost:8000/cars/QA51ABC/" in text
        assert "your insurer, not the book" in text
        assert "ff the road" not in text


def test_its_message_id_is_the_rows(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    due_item(car=car, due_on=in_days(7))
    run_reminders(TODAY)
    row = keeper.reminder_mails.get()
    assert mail_to(smtp_server, keeper)["Message-ID"] == f"<{row.message_id}@localhost>"
    assert mail_to(smtp_server, keeper)["Auto-Submitted"] == "auto-generated"


def test_a_car_off_the_road_comes_first_and_plainly(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    due_item(car=car, kind="breakdown_cover", due_on=in_days(-40))
    due_item(car=car, kind="insurance", due_on=in_days(-3))
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert message["Subject"] == "Off the road: QA51 ABC, insurance ran out on 13 March 2026; and 1 more"
    for text in both_parts(message):
        assert "QA51 ABC is off the road: no lesson may be given in it until this is put right." in text.replace(
            "\u00a0", " "
        )
        assert text.index("Insurance") < text.index("Breakdown cover")


def test_a_mileage_says_that_its_day_is_a_forecast_and_on_what_it_rests(
    car: Car, keeper: Member, smtp_server: MailServer
) -> None:
    OdometerReadingFactory.create(car=car, read_on=in_days(-90), miles=40_000)
    OdometerReadingFactory.create(car=car, read_on=in_days(-2), miles=41_800)
    due_item(car=car, kind="service", due_on=None, due_miles=42_000)
    run_reminders(TODAY)
    for text in both_parts(mail_to(smtp_server, keeper)):
        # 200 miles after 14 March at 1,800 in 88 days: ten days.
        assert "Due at 42,000 miles, about 24 March 2026, in 8 days." in text
        assert "Forecast from 1,800 miles in 88 days before the odometer was last read on 14 March 2026," in text


def test_a_credential_is_told_with_its_name_and_not_a_car(keeper: Member, smtp_server: MailServer) -> None:
    due_item(car=None, member=keeper, kind="adi_registration", due_on=in_days(1))
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert message["Subject"] == "Your ADI registration runs out tomorrow"
    assert "http://localhost:8000/me/" in text_of(message)


def test_the_coordinators_list_is_complete_and_not_only_what_is_new(
    car: Car,
    colleague_car: Car,
    keeper: Member,
    colleague: Member,
    coordinator: Member,
    smtp_server: MailServer,
) -> None:
    due_item(car=car, due_on=in_days(6))
    run_reminders(TODAY)
    smtp_server.clear()
    booked = due_item(car=colleague_car, kind="vehicle_tax", due_on=in_days(5))
    book_due_item(by=colleague, item=booked, booked_for=in_days(3))
    due_item(car=colleague_car, kind="insurance", due_on=in_days(-1))
    due_item(car=colleague_car, kind="service", due_on=in_days(9))
    run_reminders(in_days(1))
    message = mail_to(smtp_server, coordinator)
    for text in both_parts(message):
        assert "Everything in the co-op that is overdue, not known, or due within 7 days" in " ".join(text.split())
        assert "Ελπίδα Καραβίδα" in text
        assert "Due 22 March 2026, in 5 days" in text  # told yesterday, listed still
        assert "Booked for 19 March 2026; due on 21 March 2026, in 4 days." in text
        assert "Service" not in text
    assert message["Subject"].startswith("Off the road: QB02 XYZ, insurance")
    assert {message["To"] for message in smtp_server.messages} == {coordinator.email, colleague.email}


def test_the_coordinators_list_names_what_nobody_knows(
    car: Car, colleague_car: Car, coordinator: Member, smtp_server: MailServer
) -> None:
    due_item(car=car, due_on=in_days(6))
    due_item(car=car, kind="service", due_on=None, due_miles=60_000)
    colleague_car.due_items.filter(kind="vehicle_tax").delete()
    run_reminders(TODAY)
    message = mail_to(smtp_server, coordinator)
    assert message["Subject"] == "QB02 XYZ, not known: vehicle tax; and 1 more"
    for text in both_parts(message):
        assert "Not known: nothing is recorded." in text
        assert "http://localhost:8000/cars/QB02XYZ/due/new/?kind=vehicle_tax" in text
        assert "Service" not in text


def test_a_policy_that_nobody_confirmed_is_said_in_one_sentence(
    car: Car, keeper: Member, smtp_server: MailServer
) -> None:
    car.confirmations.all().delete()
    run_reminders(TODAY)
    text = " ".join(text_of(mail_to(smtp_server, keeper)).split())
    assert re.search(r"Not known: recorded until \d+ \w+ \d{4}, but nobody has confirmed", text)


def test_a_coordinators_own_items_are_not_listed_twice(
    colleague_car: Car, coordinator: Member, car: Car, smtp_server: MailServer
) -> None:
    colleague_car.keeper = coordinator
    colleague_car.save()
    due_item(car=colleague_car, due_on=in_days(7))
    due_item(car=car, due_on=in_days(7))
    run_reminders(TODAY)
    text = " ".join(text_of(mail_to(smtp_server, coordinator)).split())
    # Among others' cars the reader must be told which one is meant.
    assert text.count("* QB02 XYZ: MOT ") == 1
    assert "Twelve weeks from today: MOT of QB02 XYZ in the second" in text
    assert text.count("* QA51 ABC: MOT ") == 1
    assert "Everything else in the co-op" in text


def test_no_mail_speaks_of_money(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    CostEntryFactory.create(car=car, category="insurance", amount="913.27", covers_to=in_days(1), covers_from=TODAY)
    due_item(car=car, kind="insurance", due_on=in_days(1))
    run_reminders(TODAY)
    for text in both_parts(mail_to(smtp_server, keeper)):
        assert "913" not in text
        assert "£" not in text


def test_a_members_words_are_text_in_the_html(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    due_item(car=car, kind="other", due_on=in_days(1), note="<b>Tow bar</b> & \r\n more")
    run_reminders(TODAY)
    message = mail_to(smtp_server, keeper)
    assert "&lt;b&gt;Tow bar&lt;/b&gt; &amp;" in html_of(message)
    assert "<b>Tow bar</b> &" in text_of(message)
    assert message["Subject"] == "QA51 ABC: <b>Tow bar</b> & more due tomorrow"


@pytest.mark.parametrize(("kind", "ways"), [("mot", ["book", "done"]), ("insurance", ["done"])])
def test_one_tap_leads_through_sign_in_to_the_form(
    car: Car, keeper: Member, smtp_server: MailServer, client: Client, kind: str, ways: list[str]
) -> None:
    item = due_item(car=car, kind=kind, due_on=in_days(7))
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


@pytest.mark.parametrize("due_on", [date(2026, 4, 15), date(2026, 3, 23)])
def test_nothing_is_asked_for_by_a_day_that_has_passed(
    car: Car, keeper: Member, smtp_server: MailServer, due_on: date
) -> None:
    due_item(car=car, due_on=due_on)
    run_reminders(TODAY)
    words = "If it passes from now on, no days are lost"
    assert all(words in text for text in both_parts(mail_to(smtp_server, keeper)))


def test_a_defect_is_told_with_its_words_and_where_it_is_dealt_with(
    car: Car, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    """A car that must not move comes before any date, in the mail and in its subject."""
    defect = DefectFactory.create(
        car=car, severity=Severity.DANGEROUS, description="Brake pedal soft", found_on=in_days(-2)
    )
    due_item(car=car, due_on=in_days(1))
    run_reminders(TODAY)
    for member in (keeper, coordinator):
        message = mail_to(smtp_server, member)
        assert message["Subject"] == "Off the road: QA51 ABC, dangerous, do not drive: Brake pedal soft; and 1 more"
        for text in both_parts(message):
            assert text.index("Dangerous, do not drive: Brake pedal soft.") < text.index("Due 17 March 2026, tomorrow.")
    for text in both_parts(mail_to(smtp_server, keeper)):
        assert "Do not drive it at all, not even to a garage." in text
        assert text.index("Found on 14 March 2026.") < text.index("Due 17 March 2026, tomorrow.")
        assert f"http://localhost:8000/defects/{defect.pk}/" in text


def test_a_tyre_and_a_policy_are_told_with_where_they_are_dealt_with(
    car: Car, keeper: Member, smtp_server: MailServer
) -> None:
    TreadReadingFactory.create(car=car, wheel="front_left", read_on=in_days(-1), inner="1.5")
    ConfirmationFactory.create(car=car, is_met=False, confirmed_on=in_days(-4))
    run_reminders(TODAY)
    for text in both_parts(mail_to(smtp_server, keeper)):
        assert "Front left tyre: less than 1.6 mm of tread" in text
        assert "Read on 15 March 2026." in text
        assert "http://localhost:8000/cars/QA51ABC/tyres/" in text
        assert "The insurance does not cover driving tuition" in text
        assert "http://localhost:8000/cars/QA51ABC/ready/" in text


def test_what_is_past_by_forecast_asks_to_read_the_odometer(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    """1,000 miles after 10 January at 2,800 in 90 days are 33 days: 12 February, 32 days ago."""
    OdometerReadingFactory.create(car=car, read_on=in_days(-155), miles=38_200)
    OdometerReadingFactory.create(car=car, read_on=in_days(-65), miles=41_000)
    due_item(car=car, kind="service", due_on=None, due_miles=42_000)
    told = run_reminders(TODAY).told
    assert [(one.kind, one.due_on, one.step) for one in told] == [("service", None, -28)]
    message = mail_to(smtp_server, keeper)
    assert message["Subject"] == "QA51 ABC: Service: by forecast, about 32 days ago: read the odometer"
    for text in both_parts(message):
        assert "by forecast, about 32 days ago: read the odometer" in text
        assert "http://localhost:8000/cars/QA51ABC/odometer/" in text
        assert "overdue" not in text


def test_a_lapsed_licence_heads_the_mail(
    car: Car, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    due_item(car=None, member=keeper, kind="adi_registration", due_on=in_days(-3))
    due_item(car=car, kind="insurance", due_on=in_days(1))
    run_reminders(TODAY)
    own = "No paid lessons: your ADI registration ran out 3 days ago"
    assert mail_to(smtp_server, keeper)["Subject"] == f"{own}; and 1 more"
    assert all(text.index(own) < text.index("Insurance") for text in both_parts(mail_to(smtp_server, keeper)))
    others = "No paid lessons by Wren Applegarth: ADI registration ran out 3 days ago"
    assert mail_to(smtp_server, coordinator)["Subject"] == f"{others}; and 1 more"


def test_booked_and_overdue_is_said_truthfully(car: Car, keeper: Member, smtp_server: MailServer) -> None:
    due_item(car=car, due_on=in_days(-1), booked_for=in_days(15))
    run_reminders(TODAY)
    for text in both_parts(mail_to(smtp_server, keeper)):
        assert "booked for 31 March 2026; until it has passed the car stays off the road" in text
        assert "Change the booking" in text


def test_what_is_booked_heads_the_mail_on_days_on_which_it_is_not_told(
    car: Car, keeper: Member, smtp_server: MailServer
) -> None:
    due_item(car=car, due_on=in_days(-3), booked_for=in_days(15))
    run_reminders(TODAY)
    smtp_server.clear()
    due_item(car=car, kind="service", due_on=in_days(2))
    assert [one.kind for one in run_reminders(in_days(1)).told] == ["service"]
    assert mail_to(smtp_server, keeper)["Subject"].startswith("Off the road: QA51 ABC, MOT ran out on 13 March 2026")
