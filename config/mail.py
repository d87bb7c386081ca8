"""Sending mail: text and HTML from templates, with a message id that the sender chooses."""

import logging
import re
import smtplib
import textwrap
import threading
import time
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.core.mail import EmailMessage, EmailMultiAlternatives
from django.template.loader import render_to_string
from django.utils import timezone

from config.site import site_url

logger = logging.getLogger(__name__)

#: Seconds before each try of a mail that is sent soon.
_TRIES_AFTER = (0, 5, 30)
#: An enhanced code, and those of the address or its mailbox; 1.7 and 1.8 are of the sender, which is the book.
_ENHANCED_CODE = re.compile(r"\d{3} [45]\.(\d+\.\d+)\b")
_OF_ADDRESS = re.compile(r"1\.(?![78]$)|2\.")
#: Without one, what RFC 5321 has for a mailbox that is not there, is full or has no such name.
_NO_MAILBOX = {550, 551, 552, 553}


def send_rendered(
    template: str,
    context: Mapping[str, Any],
    *,
    to: str,
    message_id: UUID,
    headers: Mapping[str, str] = MappingProxyType({}),
) -> None:
    """Send ``template``'s .subject.txt, .txt and .html to one address, with ``headers`` besides the usual ones.

    If it is sent twice with the same ``message_id``, mail programs can tell. Raises OSError (smtplib.SMTPException is
    one) if the mail server does not take it.
    """
    context = {"sent_on": timezone.localdate(), **context}
    subject = " ".join(render_to_string(f"{template}.subject.txt", context).split())
    message = EmailMultiAlternatives(
        subject,
        wrapped(render_to_string(f"{template}.txt", context)),
        to=[to],
        headers={
            "Message-ID": f"<{message_id}@{urlsplit(site_url()).hostname}>",
            "Auto-Submitted": "auto-generated",
            **headers,
        },
    )
    message.attach_alternative(render_to_string(f"{template}.html", context), "text/html")
    message.send()


def wrapped(text: str) -> str:
    """The text with lines of at most 76 characters, but for addresses, and never more than one empty line.

    A line that begins with spaces goes on below them, and one of a list below its first word.
    """
    lines = [_fold(line.rstrip()) for line in text.strip().splitlines()]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)) + "\n"


def _fold(line: str) -> str:
    words = line.lstrip(" *")
    lead = line[: len(line) - len(words)]
    return textwrap.fill(
        words,
        width=76,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_long_words=False,
        break_on_hyphens=False,
    )


def refusal_words(error: Exception) -> str:
    """Why the mail server did not take a message, in its own words if it gave any."""
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, said = next(iter(error.recipients.values()))
        return f"{code} {_decoded(said)}"
    if isinstance(error, smtplib.SMTPResponseException):
        return f"{error.smtp_code} {_decoded(error.smtp_error)}"
    return " ".join(f"{type(error).__name__}: {error}".split())


def is_of_address(error: Exception) -> bool:
    """Whether the mail server refused this one address, as of nobody or of a full mailbox, and not the book.

    Where it gives an enhanced code (RFC 3463), that says whose fault it is: a server may refuse the sender only once it
    hears the address. Else only what is for good, and of a mailbox, counts: "for now" may be anything.
    """
    if not isinstance(error, smtplib.SMTPRecipientsRefused):
        return False
    [(code, _)] = error.recipients.values()
    enhanced = _ENHANCED_CODE.match(refusal_words(error))
    return bool(_OF_ADDRESS.match(enhanced[1])) if enhanced else code in _NO_MAILBOX


def says_whose_fault(words: str) -> bool:
    """Whether a refusal in words has an enhanced code: without one, a server that relays nothing reads alike."""
    return bool(_ENHANCED_CODE.match(words))


def _decoded(said: bytes | str) -> str:
    return said.decode(errors="replace") if isinstance(said, bytes) else said


def send_soon(message: EmailMessage) -> None:
    """Send a message in a thread of its own, so that the request does not wait for the mail server.

    It is for mails that are useless later, or hold a secret that no queue should keep: codes, links for a new password,
    and notices of a change. After three tries it gives up and logs that. A mail that must not be lost is a row in the
    database instead (``config.outbox``).
    """
    threading.Thread(target=_send, args=[message], name="mail", daemon=True).start()


def _send(message: EmailMessage) -> None:
    for seconds in _TRIES_AFTER:
        time.sleep(seconds)
        try:
            message.send()
        except OSError as error:
            logger.warning("A mail could not be handed to the mail server: %s", type(error).__name__)
        else:
            return
