"""All cars at a glance, for the board and its printed sheet."""

from collections import Counter
from dataclasses import dataclass
from datetime import date

from fleet.core.board import Urgency, needs_attention, urgency_of
from fleet.core.due import by_urgency
from fleet.models import Car, MailKind, ReminderMail
from fleet.queries.access import cars_visible_to
from fleet.queries.checks import last_checks_of
from fleet.queries.due import CarDue, DueLine, DueReport, due_report
from instructors.models import Member
from instructors.queries import active_members


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One car on the board: its due items, and the day of its last check, if any.

    ``asked_by`` is the coordinator who sent its keeper a reminder today.
    """

    due: CarDue
    urgency: Urgency
    last_check_on: date | None
    asked_by: Member | None
    may_be_reminded: bool

    @property
    def car(self) -> Car:
        return self.due.car

    def lines(self, within: int | None) -> list[DueLine]:
        """The due items that need attention, worst first."""
        return [line for line in self.due.items if needs_attention(line.status, within)]


@dataclass(frozen=True, slots=True)
class Board:
    """The cars that a member may see, worst first, as they stand on one day.
    With ``within`` only those off the road, and with something overdue, unknown or due in so many days;
    ``hidden_count`` is the number of the others. ``counts`` is of all, by standing. ``credentials`` are the

    With ``within`` only those off the road, and with something overdue, unknown or due in so many days;
    ``hidden_count`` is the number of the others. ``counts`` is of all, by urgency. ``credentials`` are the
    With ``within``, only cars off the road or with something overdue, unknown or due in that many days;
    ``hidden_count`` is the number of the others. ``counts`` covers all cars, by urgency. ``credentials`` are those that
    need attention, for coordinators only. ``without_licence`` are the keepers with no licence to teach recorded.
    ``former_cars`` are out of service, latest first.
    """

    on: date
    within: int | None
    rows: list[BoardRow]
    hidden_count: int
    counts: Counter[Urgency]
    credentials: list[DueLine]
    without_licence: list[Member]
    former_cars: list[Car]


def board(member: Member, on: date, within: int | None = None) -> Board:
    """The board as ``member`` sees it; the number of queries does not grow with the cars."""
    cars = list(cars_visible_to(member))
    report = due_report(on, cars=cars, members=active_members(on) if member.is_coordinator else ())
    last_checks = last_checks_of([due.car.pk for due in report.cars])
    asked = asked_for_on(on) if member.is_coordinator else {}
    rows = [
        BoardRow(
            due,
            _urgency(due),
            last_checks.get(due.car.pk),
            asked.get(due.car.keeper_id),
            may_be_reminded(due, member, on),
        )
        for due in sorted(report.cars, key=_worst_first)
    ]
    shown = [row for row in rows if within is None or row.due.off_the_road or row.lines(within)]
    lines = [line for one in report.members for line in one.items if needs_attention(line.status, within)]
    return Board(
        on,
        within,
        shown,
        len(rows) - len(shown),
        Counter(row.urgency for row in rows),
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


def may_be_reminded(due: CarDue, member: Member, on: date) -> bool:
    """Coordinators may, but not themselves, nor a keeper who has left."""
    keeper = due.car.keeper
    if not member.is_coordinator or keeper == member or not keeper.belongs_on(on):
        return False
    return bool(due.condition.defects) or _urgency(due) is not Urgency.QUIET


def _urgency(due: CarDue) -> Urgency:
    return urgency_of((line.status for line in due.items), off_the_road=due.off_the_road)


def _worst_first(due: CarDue) -> tuple[bool, tuple[int, bool, int, int], str]:
    """Cars off the road first, then by what is most pressing on each."""
    return not due.off_the_road, by_urgency(due.items[0].status), due.registration


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
