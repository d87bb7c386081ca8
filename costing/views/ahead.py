"""What is to come on the home page: the road with what falls due, the same as rows, and a lane for each car."""

from collections.abc import Iterable
from datetime import date
from typing import NamedTuple

from django.urls import reverse

from config.charts.lanes import Lane, LanesAhead
from config.charts.road import Item, RoadAhead
from config.showing import within
from costing.views.verdict import place_of
from fleet.core.ahead import is_on_road, stands_on
from fleet.core.due import State
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries import CarDue, DueLine, DueReport, may_be_reminded
from fleet.wording import road_items, sentence, when_booked
from instructors.models import Member

#: Of the member's own and of the co-op; all of them are one tap away.
_MOST_ROWS, _MOST_LANES, _MOST_UNRECORDED = 8, 24, 12


class Row(NamedTuple):
    """One due item as a row: ``car`` where it is not plain whose it is; what can be done at once may be empty."""

    line: DueLine
    sentence: str
    when: str
    to: str
    car: Car | None
    to_do: str = ""
    do: str = ""
    remind: Car | None = None

    @property
    def state(self) -> State:
        return self.line.status.state


class Ahead(NamedTuple):
    """The road, the same as rows, and a lane for each car.

    ``unrecorded`` are the first cars of which nothing is recorded, and ``more_unrecorded`` how many more there are.
    """

    road: RoadAhead
    rows: list[Row]
    lanes: LanesAhead | None
    unrecorded: list[Car]
    more_unrecorded: int = 0


def own_ahead(own: DueReport) -> Ahead:
    """What falls due in the next twelve weeks on the member's own cars and for the member, nearest first."""
    lines = _nearest_first(_named(own.lines(), own), own)
    several = len(own.cars) > 1
    rows = [_with_deed(_row(line, own.on, line.subject.car if several else None)) for line in lines[:_MOST_ROWS]]
    closed = bool(own.cars) and all(due.off_the_road for due in own.cars)
    return Ahead(_road(lines, own, is_closed=closed), rows, None, [])


def _named(lines: Iterable[DueLine], report: DueReport) -> list[DueLine]:
    """Those on the road, and those of which no day is known."""
    return [line for line in lines if line.status.days_left is None or is_on_road(line.status, report.on)]


def co_op_ahead(report: DueReport, viewer: Member) -> Ahead:
    """What falls due next on all cars: in its notice time, booked, overdue without stopping its car, or not known."""
    unrecorded = [due.car for due in report.cars if _nothing_recorded(due)]
    lines = [line for due in report.cars for line in _pressing(due)]
    shown = _nearest_first(lines, report)[:_MOST_ROWS]
    dues = {due.registration: due for due in report.cars}
    rows = [_co_op_row(line, dues[line.subject.key], report.on, viewer) for line in shown]
    recorded = [due for due in report.cars if not _nothing_recorded(due)]
    lanes = [_lane(due, report) for due in recorded[:_MOST_LANES]]
    drawn = LanesAhead("Twelve weeks, a lane for each car", report.on, tuple(lanes)) if lanes else None
    named = unrecorded[:_MOST_UNRECORDED]
    return Ahead(_road(shown, report), _reminded_once(rows), drawn, named, len(unrecorded) - len(named))


def _pressing(due: CarDue) -> list[DueLine]:
    """What the co-op is to see to on a car besides why it is off the road; of all that is not known, the first."""
    reasons = {reason.name for reason in due.reasons}
    lines = [line for line in due.items if line.status.state is not State.LATER and line.kind.name not in reasons]
    unknown = [line for line in lines if line.status.state is State.UNKNOWN]
    return [line for line in lines if line not in unknown[1:]]


def _co_op_row(line: DueLine, due: CarDue, on: date, viewer: Member) -> Row:
    row = _row(line, on, due.car)
    if row.state is State.UNKNOWN:
        unknown = [within(one.title) for one in due.items if one.status.state is State.UNKNOWN]
        words = "Nothing is recorded for it" if _nothing_recorded(due) else f"Not known: {', '.join(unknown)}"
        row = row._replace(sentence=words)
    if due.car.keeper == viewer:
        return _with_deed(row)
    booked_for = line.status.booked_for
    is_booked = booked_for is not None and booked_for >= on
    return row._replace(remind=due.car if not is_booked and may_be_reminded(due, viewer, on) else None)


def _reminded_once(rows: Iterable[Row]) -> list[Row]:
    """The same rows; one reminder is of all that presses on a car, so only the first row of a car offers it."""
    seen: set[Car | None] = set()
    once = []
    for row in rows:
        once.append(row._replace(remind=None) if row.remind in seen else row)
        seen.add(row.remind)
    return once


def _nothing_recorded(due: CarDue) -> bool:
    return all(line.item_id is None for line in due.items)


def _nearest_first(lines: Iterable[DueLine], report: DueReport) -> list[DueLine]:
    """Overdue items, then those of which no day is known, then the others by the day at which they stand."""

    def place(line: DueLine) -> tuple[int, int]:
        on = stands_on(line.status)
        return (0, 0) if on is None else (1 if on >= report.on else -1, (on - report.on).days)

    return sorted(lines, key=place)


def _row(line: DueLine, on: date, car: Car | None) -> Row:
    status = line.status
    return Row(line, sentence(line.title, status, on), when_booked(status), place_of(line), car)


def _with_deed(row: Row) -> Row:
    """The row with what the member may do about it at once: enter what is not known, or book what is due."""
    line, car = row.line, row.line.subject.car
    if line.item_id is None:
        unknown = car is not None and row.state is State.UNKNOWN
        to_enter = f"{reverse('fleet:due-item-add', args=[line.subject.key])}?kind={line.kind.name}" if unknown else ""
        return row._replace(to_do=to_enter, do="Enter")
    if line.kind.is_cover or row.state not in {State.DUE, State.OVERDUE}:
        return row
    return row._replace(to_do=reverse("fleet:due-item-book", args=[line.item_id]), do="Book")


def _road(lines: Iterable[DueLine], report: DueReport, *, is_closed: bool = False) -> RoadAhead:
    items = _items(lines, report)
    first = min(items, key=lambda item: item.on, default=None)
    finding = f"Next: {first.words}, {first.day}" if first else "Nothing falls due in twelve weeks"
    return RoadAhead(finding, report.on, items, is_closed)


def _items(lines: Iterable[DueLine], report: DueReport) -> tuple[Item, ...]:
    return road_items(((line.title, line.status) for line in lines), report.on)


def _lane(due: CarDue, report: DueReport) -> Lane:
    return Lane(show(due.registration), due.car.keeper.name, _items(due.items, report), is_closed=due.off_the_road)
