"""A coordinator's reminder to one keeper."""

import pytest

from fleet.actions import book_due_item, queue_mail
from fleet.core.defects import Severity
from fleet.models import Car, MailKind, MailState, ReminderMail
from fleet.reminders import DeliveryResult, deliver_mail, plan_reminders
from instructors.models import Member
from tests.factories import ConfirmationFactory, DefectFactory, DueItemFactory, put_in_order
from tests.fleet.reminding import TODAY, both_parts, in_days
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


@pytest.fixture
def mail(keeper: Member, coordinator: Member) -> ReminderMail:
    """The coordinator has asked the keeper."""
    mail = queue_mail(to=keeper, kind=MailKind.ASKED, asked_by=coordinator)
    assert mail is not None
    return mail


def test_it_says_who_asks_and_all_that_is_to_be_seen_to(
    car: Car, colleague_car: Car, keeper: Member, mail: ReminderMail, smtp_server: MailServer
) -> None:
    DueItemFactory.create(car=car, due_on=in_days(400))
    DueItemFactory.create(car=car, kind="insurance", due_on=in_days(-1))
    item = DueItemFactory.create(car=car, kind="service", due_on=in_days(30))
    DueItemFactory.create(car=car, kind="dual_controls", due_on=in_days(31))
    booked = DueItemFactory.create(car=car, kind="tyres", due_on=in_days(5))
    book_due_item(by=keeper, item=booked, booked_for=in_days(2))
    DueItemFactory.create(car=None, member=keeper, kind="driving_licence", due_on=in_days(3))
    DueItemFactory.create(car=colleague_car, kind="vehicle_tax", due_on=in_days(-3))
    defect = DefectFactory.create(car=car, description="Wiper smears", severity=Severity.WATCH)
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT
    [message] = smtp_server.messages
    assert message["To"] == keeper.email
    assert message["Subject"].strip() == (
        "Zdzisława Łąkowska asks you to act. Off the road: QA51 ABC, insurance ran out on 15 March 2026; and 4 more"
    )
    for text in both_parts(message):
        assert "Zdzisława Łąkowska asks you to deal with the following." in text
        assert "Insurance ran out on 15 March 2026" in text
        assert "Due 15 March 2026, 1 day overdue" in text
        assert "Not known: nothing is recorded." in text  # the vehicle tax
        assert "Due 15 April 2026, in 30 days" in text
        assert "Driving licence photocard" in text
        assert f"http://localhost:8000/due/{item.pk}/book/" in text
        assert f"http://localhost:8000/defects/{defect.pk}/" in text
        assert "Dual controls" not in text
        assert "Tyres" not in text
        assert "QB02" not in text
        assert "safe" not in text


def test_the_subject_names_the_worst_defect(car: Car, mail: ReminderMail, smtp_server: MailServer) -> None:
    DefectFactory.create(car=car, description="Wiper smears", severity=Severity.WATCH, found_on=in_days(-9))
    DefectFactory.create(car=car, description="Brake pipe leaks", severity=Severity.DANGEROUS, found_on=in_days(-1))
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT
    [message] = smtp_server.messages
    assert "Off the road: QA51 ABC, dangerous, do not drive: Brake pipe leaks" in message["Subject"].replace("\n", "")
    for text in both_parts(message):
        assert text.index("defects/", text.index("Brake pipe leaks")) < text.index("Wiper smears")


def test_it_goes_to_who_wants_no_reminders_too(
    car: Car, keeper: Member, mail: ReminderMail, smtp_server: MailServer
) -> None:
    Member.objects.update(wants_due_mail=False)
    DueItemFactory.create(car=car, kind="service", due_on=in_days(3))
    deliver_mail(mail.pk, TODAY)
    assert all("Service" in text for text in both_parts(smtp_server.messages[0]))


def test_a_car_stopped_by_nothing_that_falls_due_is_named(
    car: Car, mail: ReminderMail, smtp_server: MailServer
) -> None:
    put_in_order(car)
    ConfirmationFactory.create(car=car, is_met=False, confirmed_on=TODAY)
    deliver_mail(mail.pk, TODAY)
    [message] = smtp_server.messages
    assert "Off the road: QA51 ABC, the insurance does not cover driving tuition" in message["Subject"]
    assert all("The insurance does not cover driving tuition" in text for text in both_parts(message))


@pytest.mark.parametrize("what", ["nothing to see to", "left"])
def test_with_nothing_to_say_or_nobody_to_say_it_to_it_is_dropped(
    car: Car, keeper: Member, mail: ReminderMail, smtp_server: MailServer, what: str
) -> None:
    if what == "left":
        Member.objects.filter(pk=keeper.pk).update(left_on=in_days(-1))
    else:
        put_in_order(car)
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.NOTHING_LEFT
    assert smtp_server.messages == []


def test_once_its_day_is_over_it_is_given_up(car: Car, mail: ReminderMail, smtp_server: MailServer) -> None:
    assert deliver_mail(mail.pk, in_days(1)).result == DeliveryResult.LEFT_ALONE
    plan_reminders(in_days(1))
    mail.refresh_from_db()
    assert (mail.state, smtp_server.messages) == (MailState.SUPERSEDED, [])


def test_a_reminder_of_the_same_day_goes_beside_it(
    car: Car, keeper: Member, mail: ReminderMail, smtp_server: MailServer
) -> None:
    DueItemFactory.create(car=car, due_on=in_days(7))
    [reminder] = plan_reminders(TODAY).mail_ids[:1]
    assert reminder != mail.pk
    assert [deliver_mail(one, TODAY).result for one in (mail.pk, reminder)] == [DeliveryResult.SENT] * 2
