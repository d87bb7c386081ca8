"""The book without changes that people were told of too late to object.

When somebody changes another member's car or details, or the co-op's settings, the book mails everyone affected. A
closing counts the change only if the mail server accepted that mail at least 7 days before; otherwise it uses the
earlier value. So nobody can change the group's figure behind somebody's back, not even for five minutes at midnight.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.utils import timezone

from costing.core.keeping import keeper_on
from costing.core.periods import closing_date
from costing.core.records import CarBook, Fill, Keeping, Period, Reading, Service
from costing.queries.entries import has_logged_on
from fleet.core.days import ONE_DAY, add_months
from fleet.models import Car
from fleet.queries import Keepership, ended_by, every_car, keeperships_of_cars
from instructors.models import Act, Cooperative, Member
from instructors.queries import cooperative, everybody, late_changes

_SETTINGS, _READING, _DAY_OF_HANDOVER = "settings", "reading:", "handed_over_on"
#: The fields that affect the group's figures, as the record of acts names them.
_FIELDS = (
    "car",
    "keeper",
    _DAY_OF_HANDOVER,
    "fuel",
    "in_service_from",
    "in_service_to",
    _READING,
    "joined_on",
    "left_on",
    "minimum_contributors",
    "depreciation_rate",
    "rounding",
)


@dataclass(frozen=True)
class BookAsNotified:
    """The book without ``changes``: the acts that were notified too late, newest first."""

    changes: tuple[Act, ...]

    @cached_property
    def cooperative(self) -> Cooperative:
        """The co-op's settings that count."""
        row = cooperative()
        row.minimum_contributors = int(self.before(_SETTINGS, "minimum_contributors", row.minimum_contributors))
        rate = f"{row.depreciation_rate.normalize():f}"
        row.depreciation_rate = Decimal(self.before(_SETTINGS, "depreciation_rate", rate))
        row.rounding = int(self.before(_SETTINGS, "rounding", row.rounding))
        return row

    def members(self) -> list[Member]:
        """Every present and former member, with the days of joining and leaving that count."""
        members = everybody()
        for member in members:
            subject = f"member:{member.pk}"
            member.joined_on = _day(self.before(subject, "joined_on", member.joined_on))
            member.left_on = _day(self.before(subject, "left_on", member.left_on))
        return members

    def cars_by_keeper(self) -> dict[int, list[Car]]:
        """The cars that each member ever kept, by member id, with the fuel that counts.

        A car that was entered for somebody too late counts only if they have logged on it.
        """
        found: dict[int, list[Car]] = defaultdict(list)
        for car in self._cars:
            car.fuel = self.before(f"car:{car.pk}", "fuel", car.fuel)
            for keeper_id in {one.keeper_id for one in self._times[car.pk]}:
                if not self._is_new(car) or has_logged_on(keeper_id, car):
                    found[keeper_id].append(car)
        return found

    def _is_new(self, car: Car) -> bool:
        return any((act.subject, act.field) == (f"car:{car.pk}", "car") for act in self.changes)

    @cached_property
    def _times(self) -> dict[int, list[Keepership]]:
        """Who kept each car from when to when, as far as it counts, by car id."""
        left_on = {member.pk: member.left_on for member in self.members()}
        recorded = keeperships_of_cars([car.pk for car in self._cars])
        return {
            car.pk: [
                cut
                for one in self.keeperships(car, recorded[car.pk])
                for cut in ended_by([one], left_on[one.keeper_id])
            ]
            for car in self._cars
        }

    @cached_property
    def _cars(self) -> list[Car]:
        return every_car()

    def needed(self, period: Period) -> Period:
        """Extend ``period`` back far enough that an earlier reading or fill is there if a late one is left out."""
        days = [date.fromisoformat(act.field.removeprefix(_READING)) for act in self._readings()]
        days += [date.fromisoformat(act.now) for act in self.changes if act.field == _DAY_OF_HANDOVER and act.now]
        return Period(min([period.first, *days]), period.last)

    def keeperships(self, car: Car, recorded: Iterable[Keepership]) -> list[Keepership]:
        """Who kept the car from when to when, without the handovers that count for nothing yet.

        ``recorded`` are the car's times as the table has them, oldest first. After a handover that was notified too
        late its taker has no time yet, and the former keeper's goes on.
        """
        times = list(recorded)
        days: dict[int, date] = {}
        for act in self.changes:
            if act.subject != f"car:{car.pk}":
                continue
            if act.field == _DAY_OF_HANDOVER:
                days[act.concerns_id] = date.fromisoformat(act.now)  # of the handover that comes next
            elif act.field == "keeper" and _still_ends(times, act, days.get(act.concerns_id)):
                times = _without_handover(times, act.was, days.get(act.concerns_id))
        return times

    def book(self, car: Car, book: CarBook) -> CarBook:
        """A member's book of a car, with the keepers, days in service, readings and others' fills that count."""
        of_car = f"car:{car.pk}"
        book = book._replace(
            keepings=tuple(Keeping(one.keeper_id, one.first or date.min, one.last) for one in self._times[car.pk])
        )
        if not any(act.subject == of_car for act in self.changes):
            return book
        first = _day(self.before(of_car, "in_service_from", book.service.first)) or book.service.first
        last = _day(self.before(of_car, "in_service_to", book.service.last))
        miles: dict[date, int | None] = {reading.read_on: reading.miles for reading in book.readings}
        for field in {act.field for act in self._readings() if act.subject == of_car}:
            read_on = date.fromisoformat(field.removeprefix(_READING))
            before = self.before(of_car, field, miles.get(read_on))
            miles[read_on] = None if before in (None, "") else int(before)
        readings = tuple(Reading(read_on, shown) for read_on, shown in miles.items() if shown is not None)
        return book._replace(service=Service(first, last), readings=readings, fills=self._fills(of_car, book))

    def _fills(self, of_car: str, book: CarBook) -> tuple[Fill, ...]:
        """The fills of ``book`` without those that others logged by a handover that counts for nothing yet.

        Whoever has a car for a minute could otherwise move its keeper's miles, and the days that their fuel covers.
        """
        days = [act.now for act in self.changes if (act.subject, act.field) == (of_car, _DAY_OF_HANDOVER)]
        if not days:
            return book.fills
        since = date.fromisoformat(min(days))
        return tuple(
            fill
            for fill in book.fills
            if not (fill.is_anothers and fill.filled_on >= since and keeper_on(book, fill.filled_on) == book.whose)
        )

    def _readings(self) -> Collection[Act]:
        return [act for act in self.changes if act.field.startswith(_READING)]

    def before(self, subject: str, field: str, value: Any) -> Any:
        """What ``value`` was before the late changes that led to it; a value that its owner has set since stands."""
        text = _text(value)
        for act in self.changes:
            if (act.subject, act.field) == (subject, field) and act.now == text:
                value = text = act.was
        return value


def _keeper_now(times: Sequence[Keepership]) -> str:
    """The keeper of the last of these times as an act has them; nobody once it has ended."""
    return f"member:{times[-1].keeper_id}" if times and times[-1].last is None else ""


def _still_ends(times: Sequence[Keepership], act: Act, on: date | None) -> bool:
    """Whether the handover of an act is in these times: another act about it may have taken it out already.

    What its taker did with the car afterwards may be no act, because nobody is told of what they do with their own.
    Where the former keeper has it again, what the book has done since stands.
    """
    if act.now == _keeper_now(times):
        return True
    formers = [time for time in times if act.was == f"member:{time.keeper_id}"]
    return on is not None and bool(formers) and formers[-1].last == on


def _without_handover(times: Sequence[Keepership], was: str, on: date | None) -> list[Keepership]:
    """The times as they were before the car passed from ``was`` to the last keeper.

    An act without its day is older than the record of times, or of a car that only the act says was handed over.
    """
    before = list(times[:-1]) if on is None else ended_by(times, on)
    keeper_id = int(was.removeprefix("member:")) if was else None
    if keeper_id is None:
        return before
    last = before[-1] if before else None
    if last and last.keeper_id == keeper_id and on in (None, last.last):
        return [*before[:-1], last._replace(last=None)]
    begins = last.last if last and on is None else on
    return [*before, Keepership(keeper_id, begins + ONE_DAY if begins else None, None)]


def book_as_notified(accepted_by: datetime) -> BookAsNotified:
    """The book without the changes whose mail had not been accepted by ``accepted_by``."""
    return BookAsNotified(tuple(late_changes(_FIELDS, accepted_by=accepted_by)))


def closing_day_for(month: date) -> int:
    """The day of the following month on which the month beginning on ``month`` is closed.

    A change counts from the month after the one it is made in, and only if everybody was notified before that month
    ended: at least a week before the earliest closing day that can be set.
    """
    month_over = timezone.make_aware(datetime.combine(add_months(month, 1), time.min))
    notified = BookAsNotified(tuple(late_changes(["closing_day"], accepted_by=month_over)))
    return int(notified.before(_SETTINGS, "closing_day", cooperative().closing_day_of(month)))


def closes_on(month: date) -> date:
    """The day on which the month beginning on ``month`` is closed."""
    return closing_date(month, closing_day_for(month))


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def _day(value: Any) -> date | None:
    return date.fromisoformat(value) if isinstance(value, str) and value else value or None
