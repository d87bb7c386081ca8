"""The mails that tell a member what somebody else did to their car or their own entry."""

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from config import outbox
from config.mail import send_rendered
from config.site import address_of
from instructors.models import Act, ActMail
from instructors.queries import coordinators
from instructors.wording import acts_in_words, subject_of


def act_mails_to_send() -> list[int]:
    """The ids of the mails that may be tried now: new ones, refused ones that have waited, and those left half sent."""
    return outbox.to_send(_mails())


def deliver_act_mail(mail_id: int) -> bool:
    """Send a mail if this process can claim it, and return whether the mail server took it.

    The acts in it count as told only then. A refused mail goes back into the queue with the reason. Never call this
    inside a transaction.
    """
    mail = outbox.claim(_mails(), mail_id)
    if mail is None:
        return False
    try:
        # Read after the claim, because an act can be added to the mail until it is claimed.
        acts = list(mail.acts.select_related("by").order_by("pk"))
        send_rendered(
            "instructors/mail/acts", _context(mail, acts), to=mail.recipient.email, message_id=mail.message_id
        )
    except Exception as error:
        outbox.put_back(mail, error)
        return False
    with transaction.atomic():
        outbox.mark_sent(mail)
        Act.objects.filter(pk__in=[act.pk for act in acts]).update(told_at=timezone.now())
    return True


def _context(mail: ActMail, acts: list[Act]) -> dict[str, object]:
    today = timezone.localdate()
    return {
        "recipient": mail.recipient,
        "by": mail.by,
        "acts": acts_in_words(acts, mail.recipient_id),
        "subject": subject_of(acts),
        "others": [one for one in coordinators(today) if one not in (mail.by, mail.recipient)],
        "may_sign_in": mail.recipient.belongs_on(today),
        "link": address_of("instructors:record"),
    }


def _mails() -> QuerySet[ActMail]:
    return ActMail.objects.select_related("recipient", "by")
