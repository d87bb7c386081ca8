"""All cars at a glance, for the board and its printed list."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from fleet.core import registration as marks
from fleet.core.board import (
    CHECK,
    DEFECTS,
    OBLIGATIONS,
    TYRES,
    Obligation,
    Urgency,
    needs_attention,
    urgency_of,
    urgency_of_check,
    urgency_of_defects,
    urgency_of_tread,
)
from fleet.core.due import State, by_urgency
from fleet.core.points import NextCheck, next_check_due
from fleet.models import Car, MailKind, ReminderMail
from fleet.queries.access import cars_visible_to
from fleet.queries.checks import last_checks_of
from fleet.queries.condition import least_treads_of
from fleet.queries.due import CarDue, DueLine, DueReport, due_report
from instructors.models import Member
from instructors.queries import active_members


class Cell(NamedTuple):
    """How one obligation of a car stands. ``line`` is the due item that decides it, if one does."""

    obligation: Obligation
    urgency: Urgency
    line: DueLine | None = None

    @property
    def rank(self) -> tuple[int, int]:
        """Sort key, worst first: by urgency, then by the days left."""
        days_left = self.line.status.days_left if self.line else None
        return list(Urgency).index(self.urgency), days_left or 0

    def is_pressing(self, within: int | None) -> bool:
        """Whether something must be done about it, by its notice or within so many days."""
        if self.line is not None and self.urgency is not Urgency.OFF:
            return needs_attention(self.line.status, within)
        return self.urgency is not Urgency.LATER


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One car on the board: how it stands, and each of its obligations by name, as far as the book knows of any.

    ``least_tread`` is in mm. ``asked_by`` is the coordinator who sent its keeper a reminder today.
    """

    due: CarDue
    urgency: Urgency
    cells: dict[str, Cell]
    check: NextCheck
    least_tread: Decimal | None
    asked_by: Member | None
    may_be_reminded: bool

    @property
    def car(self) -> Car:
        return self.due.car

    def lines(self, within: int | None) -> list[DueLine]:
        """The due items that need attention, worst first."""
        return [line for line in self.due.items if needs_attention(line.status, within)]


@dataclass(frozen=True, slots=True)
class BoardFilters:
    """Which cars of the board are asked for; without any, all.

    ``text`` is looked for in mark, keeper's name and description. An ``obligation`` alone asks for the cars on which
    something must be done about it; an ``urgency`` alone for the cars that stand so; both, for those on which the
    obligation stands so. ``within`` asks for the cars off the road, and those with something overdue, unknown or due in
    so many days.
    """

    text: str = ""
    keeper_id: int | None = None
    obligation: str = ""
    urgency: Urgency | None = None
    within: int | None = None

    def let_through(self, row: BoardRow) -> bool:
        """Whether the car is among those asked for."""
        return (
            (not self.text or self._names(row.car))
            and self.keeper_id in (None, row.car.keeper_id)
            and self._stands_so(row)
            and (self.within is None or row.due.off_the_road or bool(row.lines(self.within)))
        )

    def _names(self, car: Car) -> bool:
        text = " ".join(self.text.split()).casefold()
        mark = marks.normalise(text)
        texts = (car.keeper.name.casefold(), car.description.casefold())
        return bool(mark and mark in car.registration) or any(text in one for one in texts)

    def _stands_so(self, row: BoardRow) -> bool:
        if not self.obligation:
            return self.urgency in (None, row.urgency)
        cell = row.cells.get(self.obligation)
        if cell is None:
            return False
        return cell.is_pressing(self.within) if self.urgency is None else cell.urgency is self.urgency


@dataclass(frozen=True, slots=True)
class Board:
    """The cars that a member may see, worst first, as they stand on one day.

    ``rows`` are those that the ``filters`` let through. ``counts`` is of all, by urgency, and ``keepers`` are of all,
    by name. ``credentials`` are those that need attention, for coordinators only. ``without_licence`` are the keepers
    with no licence to teach recorded. ``former_cars`` are out of service, latest first.
    """

    on: date
    filters: BoardFilters
    rows: list[BoardRow]
    counts: Counter[Urgency]
    keepers: list[Member]
    credentials: list[DueLine]
    without_licence: list[Member]
    former_cars: list[Car]

    @property
    def car_count(self) -> int:
        """How many cars there are, filtered or not."""
        return sum(self.counts.values())

    @property
    def hidden_count(self) -> int:
        """How many cars the filters hide."""
        return self.car_count - len(self.rows)


def board(member: Member, on: date, filters: BoardFilters | None = None) -> Board:
    """The board as ``member`` sees it; the number of queries does not grow with the cars.

    A filter sees no more than the member does: it is applied to the member's own rows. One for a keeper is ignored if
    they keep none of these cars, or all.
    """
    cars = list(cars_visible_to(member))
    report = due_report(on, cars=cars, members=active_members(on) if member.is_coordinator else ())
    rows = _rows(report, member)
    keepers = {row.car.keeper_id: row.car.keeper for row in rows}
    asked_for = filters or BoardFilters()
    if asked_for.keeper_id not in keepers or len(keepers) == 1:
        asked_for = replace(asked_for, keeper_id=None)
    lines = [line for one in report.members for line in one.items if needs_attention(line.status, asked_for.within)]
    return Board(
        on,
        asked_for,
        [row for row in rows if asked_for.let_through(row)],
        Counter(row.urgency for row in rows),
        sorted(keepers.values(), key=lambda keeper: (keeper.name.casefold(), keeper.pk)),
        sorted(lines, key=lambda line: by_urgency(line.status)),
        _without_licence(report),
        _out_of_service(cars, on),
    )


def asked_for_on(day: date) -> dict[int, Member]:
    """The coordinator who sent a reminder on that day, by the id of the member who got it."""
    mails = ReminderMail.objects.filter(kind=MailKind.ASKED, day=day, asked_by__isnull=False)
    return {mail.recipient_id: mail.asked_by for mail in mails.select_related("asked_by").order_by() if mail.asked_by}


def may_be_reminded_by(member: Member, car: Car, on: date) -> bool:
    """Whether ``member`` may remind the keeper of ``car``, and there is anything to remind of."""
    report = due_report(on, cars=[car])
    return any(may_be_reminded(due, member, on) for due in report.cars)


def _rows(report: DueReport, viewer: Member) -> list[BoardRow]:
    """A row a car of the report, in its order: worst first."""
    ids = [due.car.pk for due in report.cars]
    last_checks, treads = last_checks_of(ids), least_treads_of(ids, report.on)
    asked = asked_for_on(report.on) if viewer.is_coordinator else {}
    rows = []
    for due in report.cars:
        check, least = next_check_due(last_checks.get(due.car.pk), report.on), treads.get(due.car.pk)
        cells = {cell.obligation.name: cell for cell in _cells(due, check, least)}
        asked_by, may = asked.get(due.car.keeper_id), may_be_reminded(due, viewer, report.on)
        rows.append(BoardRow(due, urgency_of(due.verdict), cells, check, least, asked_by, may))
    return rows


def _cells(due: CarDue, check: NextCheck, least_tread: Decimal | None) -> list[Cell]:
    """How each obligation of a car stands: its items, the tread of its tyres, its last check and its open defects."""
    items: Mapping[str, Cell] = {line.kind.name: _cell_of(line, due) for line in due.items}
    tread = Cell(TYRES, urgency_of_tread(least_tread))
    defects = due.condition.defects
    return [
        *(cell for name, cell in items.items() if name != TYRES.name),
        min(items.get(TYRES.name, tread), tread, key=lambda cell: cell.rank),
        Cell(OBLIGATIONS[CHECK], urgency_of_check(check)),
        *([Cell(OBLIGATIONS[DEFECTS], urgency_of_defects(defects))] if defects else []),
    ]


def _cell_of(line: DueLine, due: CarDue) -> Cell:
    leaves_out_tuition = line.kind.confirms_tuition and due.condition.no_tuition_cover_on is not None
    urgency = Urgency.OFF if leaves_out_tuition else Urgency(line.status.state.value)
    return Cell(OBLIGATIONS[line.kind.name], urgency, line)


def may_be_reminded(due: CarDue, member: Member, on: date) -> bool:
    """Coordinators may, but not themselves, nor a keeper who has left."""
    keeper = due.car.keeper
    if not member.is_coordinator or keeper == member or not keeper.belongs_on(on):
        return False
    pressing = {State.OVERDUE, State.UNKNOWN, State.DUE}
    return bool(due.reasons or due.condition.defects) or any(line.status.state in pressing for line in due.items)


def _without_licence(report: DueReport) -> list[Member]:
    keepers = {due.car.keeper_id for due in report.cars}
    return [
        one.member
        for one in report.members
        if one.member.pk in keepers and not any(line.kind.lets_teach for line in one.items)
    ]


def _out_of_service(cars: list[Car], on: date) -> list[Car]:
    former = [car for car in cars if car.in_service_to and car.in_service_to < on]
    return sorted(former, key=lambda car: car.in_service_to or on, reverse=True)
