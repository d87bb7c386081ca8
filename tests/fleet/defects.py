"""What the tests of defects share: a defect as a browser sends it, and whom it was told."""

from datetime import date
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
    """For each step of a defect, first to last, the addresses of those in whose mail queue its event is."""
    mails = ReminderMail.objects.filter(kind=MailKind.DEFECT)
    about = [f"defect-{step.began_with_id or step.pk}" for step in defect.steps.order_by("pk")]
    return [sorted(mails.filter(about=event).values_list("recipient__email", flat=True)) for event in about]


def done(**changes: Any) -> dict[str, Any]:
    """What a grave defect takes to be closed, as the action has it."""
    return {"closed_on": date(2026, 3, 16), "words": "New hose", "done_by": "Wharf Lane Motors"} | changes
