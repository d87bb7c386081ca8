"""The news that a defect keeps a car off the road, from the moment it is queued to the inbox."""

import pytest
from django.test import Client

from fleet.actions import close_defect, queue_mail, reassess_defect
from fleet.core.defects import Severity
from fleet.models import Car, Defect, DefectState, DefectStep, MailKind, MailState, ReminderMail
from fleet.reminders import DeliveryResult, deliver_mail, mails_to_send, plan_reminders, run_reminders
from fleet.tasks import send_mail
from instructors.models import Member
from tests.factories import DefectFactory, DefectStepFactory, PhotoFactory
from tests.fleet.reminding import TODAY, both_parts, in_days
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


@pytest.fixture
def defect(car: Car) -> Defect:
    return DefectFactory.create(
        car=car, severity=Severity.DANGEROUS, description="Brake pedal soft", found_on=TODAY, reported_by=car.keeper
    )


def queued(to: Member, defect: Defect) -> ReminderMail:
    """News of the defect's last step, waiting."""
    step = DefectStep.objects.filter(defect=defect).latest("pk")
    mail = queue_mail(to=to, kind=MailKind.DEFECT, about=f"defect-{step.pk}")
    assert mail is not None
    return mail


def test_a_dangerous_one_says_do_not_drive_and_why(
    defect: Defect, coordinator: Member, keeper: Member, smtp_server: MailServer
) -> None:
    mail = queued(coordinator, defect)
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.SENT
    [message] = smtp_server.messages
    assert (message["To"], message["Subject"]) == (coordinator.email, "Do not use QA51 ABC: Brake pedal soft")
    assert message["Message-ID"] == f"<{mail.message_id}@localhost>"
    for text in both_parts(message):
        assert "do not drive qa51 abc at all" in text.lower()
        assert "Brake pedal soft" in text
        assert "Dangerous, do not drive." in text
        assert f"Reported by {keeper.name}, found on 16 March 2026." in text
        assert "before a qualified technician has looked at it" in text
        assert f"http://localhost:8000/defects/{defect.pk}/" in text
        assert "photo" not in text
        assert "judged" not in text


def test_one_before_the_next_lesson_forbids_the_lesson_alone(
    defect: Defect, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    defect.severity = Severity.BEFORE_NEXT_LESSON
    defect.save()
    DefectStepFactory.create(
        defect=defect, severity=defect.severity, by=coordinator, happened_on=TODAY, words="Bled again, still low"
    )
    deliver_mail(queued(keeper, defect).pk, TODAY)
    [message] = smtp_server.messages
    assert message["Subject"] == "No lesson in QA51 ABC: Brake pedal soft"
    for text in both_parts(message):
        assert "give no lesson in qa51 abc until this is put right" in text.lower()
        assert "the law, its handbook and a qualified technician" in text
        assert f"{coordinator.name} set how serious it is on 16 March 2026: Bled again, still low" in text
        assert "safe" not in text


def test_its_links_open_only_after_sign_in(
    defect: Defect, keeper: Member, smtp_server: MailServer, client: Client
) -> None:
    defect.photo = PhotoFactory.create(car=defect.car, is_of_defect=True)
    defect.save()
    deliver_mail(queued(keeper, defect).pk, TODAY)
    for address in (f"/defects/{defect.pk}/", f"/photos/{defect.photo.pk}/"):
        assert all(f"http://localhost:8000{address}" in text for text in both_parts(smtp_server.messages[0]))
        assert client.get(address)["Location"] == f"/account/login/?next={address}"


@pytest.mark.parametrize("what", ["closed", "only watched", "left", "gave up the role", "changed hands"])
def test_what_holds_no_more_is_not_sent(
    defect: Defect, keeper: Member, coordinator: Member, stranger: Member, smtp_server: MailServer, what: str
) -> None:
    mail = queued(keeper if what in ("left", "changed hands") else coordinator, defect)
    if what == "closed":
        Defect.objects.update(state=DefectState.CLOSED, closed_on=TODAY)
    elif what == "only watched":
        Defect.objects.update(severity=Severity.WATCH)
    elif what == "left":
        Member.objects.filter(pk=keeper.pk).update(left_on=in_days(-1))
    elif what == "gave up the role":
        Member.objects.filter(pk=coordinator.pk).update(role="member")
    else:
        Car.objects.update(keeper=stranger)
    assert deliver_mail(mail.pk, TODAY).result == DeliveryResult.NOTHING_LEFT
    mail.refresh_from_db()
    assert (mail.state, smtp_server.messages) == (MailState.SUPERSEDED, [])


def test_one_found_less_serious_and_closed_before_the_mail_goes_is_told_all_the_same(
    defect: Defect, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    """Else a keeper who is quicker than the mail would end a grave defect with nobody told."""
    Defect.objects.update(severity=Severity.BEFORE_NEXT_LESSON)
    DefectStep.objects.update(severity=Severity.BEFORE_NEXT_LESSON)
    seen = {"done_by": "Wharf Lane Motors", "done_on": TODAY}
    reassess_defect(by=keeper, defect=defect, severity=Severity.WATCH, words="Seems fine now", **seen)
    close_defect(by=keeper, defect=defect, closed_on=TODAY, words="Looked once more")
    for mail in ReminderMail.objects.filter(recipient=coordinator):
        deliver_mail(mail.pk, TODAY)
    [message] = smtp_server.messages
    assert message["Subject"] == "QA51 ABC, found less serious: Brake pedal soft"
    for text in both_parts(message):
        assert f"{keeper.name} set how serious it is" in text
        assert f"Put right on 16 March 2026: Looked once more. Recorded by {keeper.name}." in text


def test_refused_it_is_tried_again_on_later_days(defect: Defect, keeper: Member, smtp_server: MailServer) -> None:
    mail = queued(keeper, defect)
    smtp_server.refusing = True
    deliver_mail(mail.pk, TODAY)
    smtp_server.refusing = False
    plan_reminders(in_days(1))
    mail.refresh_from_db()
    assert mail.state == MailState.QUEUED
    assert mails_to_send(in_days(1), kinds=[MailKind.DEFECT], at_once=True) == [mail.pk]
    assert deliver_mail(mail.pk, in_days(3)).result == DeliveryResult.LEFT_ALONE  # its wait goes by the clock
    assert deliver_mail(mail.pk, in_days(3), at_once=True).result == DeliveryResult.SENT


def test_a_run_of_the_reminders_leaves_it_to_its_own_task(
    defect: Defect, keeper: Member, smtp_server: MailServer
) -> None:
    mail = queued(keeper, defect)
    """The day's reminder names the car too: it is off the road. The news goes by itself."""
    assert {told.kind for told in run_reminders(TODAY).told} >= {"dangerous"}
    smtp_server.clear()
    send_mail(mail.pk)
    assert len(smtp_server.messages) == 1
