"""Putting a mail in the queue. The row is the work; the nudge after the commit only makes it soon."""

from django.db import transaction
from django.utils import timezone
from django.utils.module_loading import import_string

from fleet.models import MailKind, ReminderMail
from instructors.models import Member

#: Looked up by name when it is needed: a task is a door above the actions.
_SEND_MAIL = "fleet.tasks.send_mail"


def queue_mail(*, to: Member, kind: MailKind, about: str = "", asked_by: Member | None = None) -> ReminderMail | None:
    """Queue today's mail of that kind to one member; None if there is one already, sent or not."""
    today = timezone.localdate()
    mail, is_new = ReminderMail.objects.get_or_create(
        recipient=to, day=today, kind=kind, about=about, defaults={"asked_by": asked_by}
    )
    if not is_new:
        return None
    transaction.on_commit(lambda: nudge(mail.pk), robust=True)
    return mail


def nudge(mail_id: int) -> None:
    """Ask the task queue to send a mail; a queue that cannot be reached loses nothing, the sweep finds the row."""
    import_string(_SEND_MAIL).delay(mail_id)
