"""What the tests of defects share: a defect as a browser sends it, and whom it was told."""

from typing import Any
from uuid import uuid4

from fleet.models import Defect, MailKind, ReminderMail


def defect_data(**changes: Any) -> dict[str, Any]:
    """A defect as the form sends it."""
    typed = {
        "ref": str(uuid4()),
        "description": "Brake pedal goes to the floor",
        "severity": "dangerous",
        "found_on": "2026-03-16",
        "found_by": "other",
    }
    return typed | changes


def told_of(defect: Defect) -> list[list[str]]:
    """For each step of a defect, first to last, the addresses of those in whose mail queue it is."""
    mails = ReminderMail.objects.filter(kind=MailKind.DEFECT)
    steps = defect.steps.order_by("pk")
    return [
        sorted(mails.filter(about=f"defect-{step.pk}").values_list("recipient__email", flat=True)) for step in steps
    ]
