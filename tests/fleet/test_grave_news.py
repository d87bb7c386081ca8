"""What the mails of grave news say besides that a defect stops its car: who did what, and what is left."""

from datetime import date

import pytest

from fleet.actions import close_defect, confirm_repair, deny_repair, reassess_defect, record_mot_failure, reopen_defect
from fleet.core.defects import Severity
from fleet.models import Car, Defect, MailKind, ReminderMail
from fleet.queries import secret_of
from fleet.reminders import deliver_mail
from instructors.models import Member
from tests.factories import DefectFactory, DueItemFactory
from tests.fleet.defects import done
from tests.fleet.reminding import TODAY, both_parts
from tests.mailserver import MailServer

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


@pytest.fixture
def defect(car: Car) -> Defect:
    return DefectFactory.create(car=car, severity="dangerous", description="Brake pedal soft", reported_by=car.keeper)


def sent(to: Member, server: MailServer) -> tuple[str, str, str]:
    """The subject of the newest mail of grave news to somebody, and its text and HTML in one line each."""
    mail = ReminderMail.objects.filter(recipient=to, kind=MailKind.DEFECT).latest("pk")
    server.clear()
    deliver_mail(mail.pk, TODAY)
    [message] = server.messages
    plain, html = (" ".join(part.split()) for part in both_parts(message))
    return message["Subject"], plain, html


def test_what_waits_asks_for_a_second_member_with_the_link(
    defect: Defect, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    close_defect(by=keeper, defect=defect, **done(words="Bled, new seals"))
    subject, *texts = sent(coordinator, smtp_server)
    assert subject == "Do not use QA51 ABC, waits for a second member: Brake pedal soft"
    for text in texts:
        assert "Do not drive QA51 ABC at all." in text
        assert "Put right by Wharf Lane Motors on 16 March 2026: Bled, new seals. Recorded by Wren Applegarth." in text
        assert "It counts as open until somebody else has seen it." in text
        assert f"/put-right/{secret_of(defect.steps.latest('pk'))}/" in text


def test_what_is_confirmed_says_by_whom_and_what_is_left(
    car: Car, defect: Defect, keeper: Member, coordinator: Member, colleague: Member, smtp_server: MailServer
) -> None:
    DueItemFactory.create(car=car, kind="mot", due_on=date(2026, 3, 1))
    close_defect(by=keeper, defect=defect, **done(words="Bled"))
    confirm_repair(by=colleague, step=defect.steps.latest("pk"), words="Drove it")
    subject, *texts = sent(keeper, smtp_server)
    assert subject == "QA51 ABC, recorded as put right: Brake pedal soft"
    for text in texts:
        assert f"{colleague.name} has seen it and confirms that, 16 March 2026: Drove it." in text
        assert "QA51 ABC is still off the road:" in text
        assert "MOT ran out on 1 March 2026" in text
        assert "safe" not in text


def test_what_is_denied_says_what_is_still_wrong(
    defect: Defect, keeper: Member, colleague: Member, smtp_server: MailServer
) -> None:
    close_defect(by=keeper, defect=defect, **done(words="Bled"))
    deny_repair(by=colleague, step=defect.steps.latest("pk"), words="It still sinks")
    subject, *texts = sent(keeper, smtp_server)
    assert subject == "Do not use QA51 ABC, it is not put right: Brake pedal soft"
    for text in texts:
        assert f"{colleague.name} says that it is not put right, 16 March 2026: It still sinks." in text
        assert "/put-right/" not in text


def test_what_is_closed_with_the_paper_says_so(
    defect: Defect, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    close_defect(by=keeper, defect=defect, **done(picture=b"jpeg"))
    subject, *texts = sent(coordinator, smtp_server)
    assert subject == "QA51 ABC, recorded as put right: Brake pedal soft"
    for text in texts:
        assert "Recorded by Wren Applegarth with a photo of the paper." in text
        assert "Nothing else that the book knows keeps it off the road." in text
        assert f"/photos/{defect.steps.latest('pk').photo_id}/" in text


def test_what_is_found_less_serious_says_who_says_so(
    car: Car, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    lamp = DefectFactory.create(car=car, severity="before_next_lesson", description="Lamp dim")
    less = {"severity": "watch", "words": "Within limits", "done_by": "Wharf Lane", "done_on": TODAY}
    reassess_defect(by=keeper, defect=lamp, **less)
    subject, *texts = sent(coordinator, smtp_server)
    assert subject == "QA51 ABC, found less serious: Lamp dim"
    words = "Wren Applegarth set how serious it is on 16 March 2026, as Wharf Lane says: Within limits."
    assert all(words in text for text in texts)


def test_a_failed_mot_is_one_mail_with_all_that_stops_the_car(
    car: Car, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    item = DueItemFactory.create(car=car, kind="mot", due_on=date(2026, 3, 30))
    findings = {Severity.DANGEROUS: ["Hose weeps"], Severity.BEFORE_NEXT_LESSON: ["Lamp out"], Severity.WATCH: ["Chip"]}
    record_mot_failure(by=keeper, item=item, ref="f", tested_on=TODAY, findings=findings)
    assert ReminderMail.objects.filter(kind=MailKind.DEFECT).count() == 1
    subject, *texts = sent(coordinator, smtp_server)
    assert subject == "Do not use QA51 ABC: Hose weeps; and 1 more"
    for text in texts:
        assert "Hose weeps" in text
        assert "Lamp out" in text
        assert "Chip" not in text


def test_of_what_was_overtaken_only_the_last_is_sent(
    defect: Defect, keeper: Member, coordinator: Member, smtp_server: MailServer
) -> None:
    close_defect(by=keeper, defect=defect, **done())
    reopen_defect(by=keeper, defect=defect, words="Soft again")
    close_defect(by=keeper, defect=defect, **done(picture=b"jpeg"))
    mails = ReminderMail.objects.filter(kind=MailKind.DEFECT, recipient=coordinator).order_by("pk")
    results = [deliver_mail(mail.pk, TODAY).result for mail in mails]
    assert results == ["nothing_left", "nothing_left", "sent"]
