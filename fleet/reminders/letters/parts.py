"""The parts that the mails share: a letter, and one thing in it with the ways to deal with it."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Any, NamedTuple

from config.look.mail import sign
from config.showing import day
from config.site import address_of
from fleet.core import registration as marks
from fleet.core.due import State
from fleet.core.readiness import TREAD, OffRoadReason
from fleet.models import Car
from fleet.queries import DueLine, Subject
from fleet.reminders.letters.ahead import line_sign
from fleet.reminders.matters import Matter, is_told_unknown
from fleet.wording import forecast_words, reason_words, to_do, when_booked


class ToldStep(NamedTuple):
    """One step that a recipient was told. ``subject_of``: the car's mark, or the member's e-mail address."""

    recipient: str
    kind: str
    subject_of: str
    due_on: date | None
    step: int


class Letter(NamedTuple):
    """A mail ready to be sent: its template and context, the steps that it tells, and headers of its own."""

    template: str
    context: Mapping[str, Any]
    told: tuple[ToldStep, ...] = ()
    headers: Mapping[str, str] = MappingProxyType({})


class Way(NamedTuple):
    """One way to deal with something: the words of its key, and its address."""

    words: str
    link: str


class MailItem(NamedTuple):
    """One thing in a mail: a due item, or a reason to be off the road. ``ways``: the likeliest first.

    What is to be done about a reason, the law says: it stands at the head of the mail.
    """

    sign: str
    of: str
    title: str
    said: tuple[str, ...]
    link: str
    ways: tuple[Way, ...]
    to_do: str = ""
    keeper: str = ""
    note: str = ""
    is_off_the_road: bool = False


class Entry(NamedTuple):
    """One thing that a mail lists, with its rows, by its rank among others; ``line`` is None if it is no due item."""

    rank: tuple[int, ...]
    subject: Subject
    line: DueLine | None
    items: list[MailItem]


def item_of_line(line: DueLine) -> MailItem:
    """A line of the report in words for a mail."""
    car, status = line.subject.car, line.status
    return MailItem(
        sign=line_sign(line),
        of=line.subject.words,
        title=line.title,
        said=tuple(_said(line)),
        to_do=to_do(status, line.nation),
        link=address_of("fleet:car", car.registration) if car else address_of("fleet:profile"),
        ways=tuple(_ways(line)),
        keeper=line.subject.member.name if car else "",
        note=line.note if line.note != line.title else "",
        is_off_the_road=line.kind.stops_car and status.state is State.OVERDUE,
    )


def items_of(matter: Matter) -> list[MailItem]:
    """What is told, in words for a mail: each reason to be off the road by itself."""
    if matter.line is not None:
        return [item_of_line(matter.line)]
    return [_item_of_reason(matter.subject, reason) for reason in matter.reasons]


def _said(line: DueLine) -> list[str]:
    """How an item stands, and what a forecast of it rests on."""
    status = line.status
    words = when_booked(status)
    if status.state is State.UNKNOWN:
        return [f"Not known: {words}."]
    if status.state is State.BOOKED or (status.is_by_rule and status.state is State.OVERDUE):
        said = f"{words[:1].upper()}{words[1:]}."
    else:
        said = f"Due {'at ' if status.is_by_miles else ''}{words}."
    return [said, forecast_words(status)] if status.is_by_miles else [said]


def _ways(line: DueLine) -> list[Way]:
    car, item_id = line.subject.car, line.item_id
    if car and is_told_unknown(line) and item_id is None:
        return [Way("Enter it", f"{address_of('fleet:due-item-add', car.registration)}?kind={line.kind.name}")]
    if item_id is None:
        return []
    if is_told_unknown(line):
        return [Way("Enter it", address_of("fleet:due-item-correct", item_id))]
    ways = []
    if car and line.status.is_past_by_forecast:
        ways.append(Way("Enter what the odometer shows", address_of("fleet:odometer-add", car.registration)))
    if not line.kind.is_cover:
        words = "Change the booking" if line.status.booked_for else "Say when it is booked"
        ways.append(Way(words, address_of("fleet:due-item-book", item_id)))
    done = "Say that it is renewed" if line.kind.is_cover else "Say that it is done"
    return [*ways, Way(done, address_of("fleet:due-item-complete", item_id))]


def _item_of_reason(subject: Subject, reason: OffRoadReason) -> MailItem:
    car = subject.car
    assert car is not None  # noqa: S101 - only a car is off the road
    found = "Read" if reason.name == TREAD else "Found"
    return MailItem(
        sign=sign("off"),
        of=marks.show(car.registration),
        title=reason_words(reason),
        said=(f"{found} on {day(reason.since)}.",) if reason.since else (),
        link=address_of("fleet:car", car.registration),
        ways=(_way_of_reason(car, reason),),
        keeper=subject.member.name,
        is_off_the_road=True,
    )


def _way_of_reason(car: Car, reason: OffRoadReason) -> Way:
    if reason.defect is not None:
        return Way("See the defect", address_of("fleet:defect", reason.defect))
    if reason.name == TREAD:
        return Way("See the tyres", address_of("fleet:tread", car.registration))
    return Way("See what the policy covers", address_of("fleet:ready", car.registration))
