"""How a member's cars stand, in words: what must be said before a lesson, and what falls due next."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from config.showing import day
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries import CarDue, DueLine, due_report
from fleet.wording import STATE_WORDS, when
from instructors.models import Member


class OffTheRoad(NamedTuple):
    """A car in which no lesson may be given now, and why."""

    car: Car
    reasons: list[str]


class DueRow(NamedTuple):
    """One thing that falls due: what, of whom or which car, when, and its state as shape and word."""

    title: str
    subject: str
    when: str
    state: str
    state_words: str
    registration: str


class Standing(NamedTuple):
    """How a member's cars stand today."""

    off_the_road: list[OffTheRoad]
    due_next: list[DueRow]


def standing_of(cars: Iterable[Car], today: date, *, member: Member | None = None) -> Standing:
    """How ``cars`` stand, with the credentials of ``member`` if one is given; worst first."""
    report = due_report(today, cars=cars, members=[member] if member else [])
    lines = report.lines()
    return Standing(
        [OffTheRoad(entry.car, _reasons(entry)) for entry in report.cars if entry.off_the_road],
        [_row(line) for line in lines],
    )


def _reasons(entry: CarDue) -> list[str]:
    lines = {line.status.kind: line for line in entry.items}
    return [_reason(lines[kind]) for kind in entry.reasons if kind in lines]


def _reason(line: DueLine) -> str:
    ended = line.status.governing_on
    return f"{line.title} ran out on {day(ended)}" if ended else f"{line.title} has run out"


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
