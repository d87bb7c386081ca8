"""What the letters are made of."""

from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from config.site import address_of
from fleet.core.due import State
from fleet.queries import DueLine
from fleet.wording import forecast_words, to_do, when


class ToldStep(NamedTuple):
    """One step that a recipient was told. ``subject_of``: the car's mark, or the member's e-mail address."""

    recipient: str
    kind: str
    subject_of: str
    due_on: date | None
    step: int


class Letter(NamedTuple):
    """A mail ready to be sent: its template, what that needs, and the steps that it tells."""

    template: str
    context: Mapping[str, Any]
    told: tuple[ToldStep, ...] = ()


class MailItem(NamedTuple):
    """One due item as a mail tells it; ``book_link`` and ``done_link`` are empty where there is nothing to record."""

    title: str
    of: str
    keeper: str
    when: str
    forecast: str
    booked_for: date | None
    to_do: str
    note: str
    link: str
    book_link: str
    done_link: str
    is_off_the_road: bool
    is_unknown: bool

    @property
    def brief(self) -> str:
        """It in a line, for a subject."""
        return f"{self.of}, {self.title}, {self.when}"


def mail_item(line: DueLine) -> MailItem:
    """A line of the report in a mail's words."""
    car, status = line.subject.car, line.status
    return MailItem(
        title=line.title,
        of=line.subject.words,
        keeper=line.subject.member.name if car else "",
        when=when(status),
        forecast=forecast_words(status) if status.is_by_miles else "",
        booked_for=status.booked_for,
        to_do=to_do(status, line.nation),
        note=line.note if line.note != line.title else "",
        link=address_of("fleet:car", car.registration) if car else address_of("fleet:profile"),
        book_link=address_of("fleet:due-item-book", line.item_id) if line.item_id and not line.kind.is_cover else "",
        done_link=address_of("fleet:due-item-complete", line.item_id) if line.item_id else "",
        is_off_the_road=line.kind.stops_car and status.state is State.OVERDUE,
        is_unknown=status.state is State.UNKNOWN,
    )


def and_more(count: int) -> str:
    """How a subject ends that names only the worst: "; and 2 more", or nothing."""
    return f"; and {count} more" if count else ""
