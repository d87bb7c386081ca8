"""The mails about what somebody else did to a member's car or person."""

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
    """The ids of the mails that may be tried now: refused ones that have waited, and those left half done."""
    return outbox.to_send(_mails())


def deliver_act_mail(mail_id: int) -> bool:
    """Send a mail if it can be claimed; never inside a transaction. Returns whether it was accepted.

    Only then its acts count as told. A refusal puts the mail back in the queue with the reason.
    """
    mail = outbox.claim(_mails(), mail_id)
    if mail is None:
        return False
    try:
        # Read after the claim: whoever adds an act to a mail that waits keeps it from being claimed.
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
