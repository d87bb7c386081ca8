"""What falls due next on a member's cars, in words."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from config.showing import day
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries import DueLine, due_report
from fleet.wording import STATE_WORDS, when
from instructors.models import Member


class DueRow(NamedTuple):
    """One thing that falls due: what, of whom or which car, when, and its state as shape and word."""

    title: str
    subject: str
    when: str
    state: str
    state_words: str
    registration: str


def due_next(cars: Iterable[Car], today: date, *, member: Member) -> list[DueRow]:
    """What falls due on ``cars`` and of the credentials of ``member``, worst first."""
    return [_row(line) for line in due_report(today, cars=cars, members=[member]).lines()]


def _row(line: DueLine) -> DueRow:
    car, status = line.subject.car, line.status
    booked = f", booked for {day(status.booked_for)}" if status.booked_for else ""
    return DueRow(
        title=line.title,
        subject=show(car.registration) if car else "Your own",
        when=f"{when(status)}{booked}",
        state=status.state,
        state_words=STATE_WORDS[status.state],
        registration=car.registration if car else "",
    )
