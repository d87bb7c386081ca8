"""What falls due next on a member's cars, in words."""

from typing import NamedTuple

from config.showing import day
from fleet.core.registration import show
from fleet.queries import DueLine, DueReport
from fleet.wording import STATE_WORDS, when


class DueRow(NamedTuple):
    """One thing that falls due: what, of whom or which car, when, and its state as shape and word."""

    title: str
    subject: str
    when: str
    state: str
    state_words: str
    registration: str


def due_next(report: DueReport) -> list[DueRow]:
    """What falls due, worst first."""
    return [_row(line) for line in report.lines()]


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
