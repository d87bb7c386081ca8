"""The parts that the mails share."""

from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from config.site import address_of
from fleet.core.due import State
from fleet.queries import DueLine
from fleet.reminders.letters.ahead import line_sign
from fleet.wording import forecast_words, to_do, when


class ToldStep(NamedTuple):
    """One step that a recipient was told. ``subject_of``: the car's mark, or the member's e-mail address."""

    recipient: str
    kind: str
    subject_of: str
    due_on: date | None
    step: int


class Letter(NamedTuple):
    """A mail ready to be sent: its template and context, and the steps that it tells."""

    template: str
    context: Mapping[str, Any]
    told: tuple[ToldStep, ...] = ()


class MailItem(NamedTuple):
    """One due item in a mail; ``book_link`` and ``done_link`` are empty if there is nothing to record."""

    sign: str
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
    done_words: str
    is_off_the_road: bool
    is_unknown: bool

    @property
    def brief(self) -> str:
        """One line, for a subject."""
        return f"{self.of}, {self.title}, {self.when}"

    @property
    def ways(self) -> list[tuple[str, str]]:
        """How to deal with it, the likeliest first: the words and the link of each."""
        found = [("Say when it is booked", self.book_link), (self.done_words, self.done_link)]
        return [(words, link) for words, link in found if link]


def mail_item(line: DueLine) -> MailItem:
    """A line of the report in words for a mail."""
    car, status = line.subject.car, line.status
    return MailItem(
        sign=line_sign(line),
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
        done_words="Say that it is renewed" if line.kind.is_cover else "Say that it is done",
        is_off_the_road=line.kind.stops_car and status.state is State.OVERDUE,
        is_unknown=status.state is State.UNKNOWN,
    )


def and_more(count: int) -> str:
    """The end of a subject that names only the worst: "; and 2 more", or nothing."""
    return f"; and {count} more" if count else ""
