"""Putting a mail in the queue. The row is the work; the nudge after the commit only makes it soon."""

from django.utils import timezone

from config.outbox import nudge_after_commit
from fleet.models import MailKind, ReminderMail
from instructors.actions import record_act
from instructors.models import ActKind, Member

_SEND_MAIL = "fleet.tasks.send_mail"


def queue_mail(*, to: Member, kind: MailKind, about: str = "", asked_by: Member | None = None) -> ReminderMail | None:
    """Queue today's mail of that kind to one member; None if there is one already, sent or not."""
    today = timezone.localdate()
    mail, is_new = ReminderMail.objects.get_or_create(
        recipient=to, day=today, kind=kind, about=about, defaults={"asked_by": asked_by}
    )
    if not is_new:
        return None
    if asked_by is not None:
        record_act(by=asked_by, kind=ActKind.CONDITION, concerns=to, field="reminded", is_mailed=False)
    nudge_after_commit(_SEND_MAIL, mail.pk)
    return mail
