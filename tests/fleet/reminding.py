"""What the tests of the reminders share."""

from datetime import date, timedelta
from email.message import EmailMessage
from typing import Any

from fleet.models import DueItem, Notice
from instructors.models import Member
from tests.factories import DueItemFactory

TODAY = date(2026, 3, 16)


def in_days(days: int) -> date:
    """So many days after the tests' today."""
    return TODAY + timedelta(days=days)


def steps_told_to(member: Member) -> list[tuple[str, int]]:
    """Kind and step of each notice to a member, in the order in which they were written."""
    notices = Notice.objects.filter(recipient=member).order_by("pk")
    return list(notices.values_list("kind", "step"))


def due_item(**values: Any) -> DueItem:
    """A due item, in the place of the one of its kind if its car has one already."""
    found = DueItem.objects.filter(car=values.get("car"), kind=values.get("kind", "mot"), car__isnull=False).first()
    if found is None:
        return DueItemFactory.create(**values)
    for name, value in values.items():
        setattr(found, name, value)
    found.save()
    return found


def text_of(message: EmailMessage) -> str:
    """The text part of a mail."""
    part = message.get_body(("plain",))
    assert part is not None
    return str(part.get_content())


def html_of(message: EmailMessage) -> str:
    """The HTML part of a mail."""
    part = message.get_body(("html",))
    assert part is not None
    return str(part.get_content())


def both_parts(message: EmailMessage) -> list[str]:
    """Text and HTML with white space evened out: what is said of one must be in both."""
    return [" ".join(part.split()) for part in (text_of(message), html_of(message))]
