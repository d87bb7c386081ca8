"""What a reminder mail says."""

from typing import Any, NamedTuple

from django.conf import settings

from fleet.core.due import State, by_urgency
from fleet.queries import DueLine, DueReport
from fleet.reminders.planning import COORDINATORS_FROM
from fleet.wording import forecast_words, to_do, when
from instructors.models import Member


class Entry(NamedTuple):
    """One due item as a mail tells it."""

    title: str
    of: str
    keeper: str
    when: str
    forecast: str
    booked_for: Any
    to_do: str
    note: str
    link: str
    is_off_the_road: bool


def reminder(recipient: Member, told: list[DueLine], report: DueReport) -> dict[str, Any]:
    """The context of the reminder templates: the recipient's own items, and for a coordinator the group's.

    The coordinator's list holds everything that is overdue or due within a week, told before or not.
    """
    own = sorted((line for line in told if line.subject.member == recipient), key=lambda line: by_urgency(line.status))
    group = [line for line in report.lines() if _concerns_coordinators(line) and line not in own]
    listed = [_entry(line) for line in group] if recipient.is_coordinator else []
    entries = [_entry(line) for line in own]
    return {
        "recipient": recipient,
        "on": report.on,
        "own": entries,
        "group": listed,
        "off_the_road": [entry for entry in (*entries, *listed) if entry.is_off_the_road],
        "subject": _subject(entries or listed, also=len(listed) if entries else 0),
        "days": COORDINATORS_FROM,
        "site_url": settings.SITE_URL,
    }


def _concerns_coordinators(line: DueLine) -> bool:
    return line.status.days_left is not None and line.status.days_left <= COORDINATORS_FROM


def _entry(line: DueLine) -> Entry:
    car, status = line.subject.car, line.status
    return Entry(
        title=line.title,
        of=line.subject.words,
        keeper=line.subject.member.name if car else "",
        when=when(status),
        forecast=forecast_words(status) if status.is_by_miles else "",
        booked_for=status.booked_for,
        to_do=to_do(status),
        note=line.note if line.note != line.title else "",
        link=f"{settings.SITE_URL}/cars/{car.registration}/" if car else f"{settings.SITE_URL}/me/",
        is_off_the_road=line.kind.stops_car and status.state is State.OVERDUE,
    )


def _subject(entries: list[Entry], also: int) -> str:
    """The worst of them, and how many more."""
    worst = entries[0]
    lead = "Off the road: " if worst.is_off_the_road else ""
    more = len(entries) - 1 + also
    return f"{lead}{worst.of}, {worst.title}, {worst.when}" + (f"; and {more} more" if more else "")
