"""One way to send a message: text and HTML from templates, with a message id of the sender's choosing."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string


def send_rendered(template: str, context: Mapping[str, Any], *, to: str, message_id: UUID) -> None:
    """Send ``template``'s .subject.txt, .txt and .html to one address.

    Sent twice with the same ``message_id``, a mail program can tell that it is the same message. Raises what
    Django's mail backend raises: OSError, smtplib.SMTPException among them, if it cannot be handed over.
    """
    subject = " ".join(render_to_string(f"{template}.subject.txt", context).split())
    message = EmailMultiAlternatives(
        subject,
        render_to_string(f"{template}.txt", context),
        to=[to],
        headers={
            "Message-ID": f"<{message_id}@{urlsplit(settings.SITE_URL).hostname}>",
            "Auto-Submitted": "auto-generated",
        },
    )
    message.attach_alternative(render_to_string(f"{template}.html", context), "text/html")
    message.send()
