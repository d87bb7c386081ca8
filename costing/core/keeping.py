"""The days on which a member keeps a car, and what of the car's records and sums counts in that member's figures.

A car's own book has one such time: the car's service.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from operator import attrgetter
from typing import NamedTuple

from costing.core.periods import ONE_DAY, days_in, overlap
from costing.core.records import Agreement, CarBook, Keeping, Logged, Period, Teaching, Valuation
from costing.core.shares import ByDays, RunningTotal, Span, share, used_in

#: A time that ended within so many days, with neither fill nor value of the member's own, was a loan.
LOAN_DAYS = 28


class OwnTime(NamedTuple):
    """One time with the car, within its service; ``period.last`` is ``date.max`` while no end is recorded."""

    period: Period
    is_loan: bool = False


def own_times(book: CarBook) -> tuple[OwnTime, ...]:
    """Return the times whose figures the book gives, in order: the member's, or the car's service."""
    service = _open(book.service.first, book.service.last)
    if book.whose is None or not book.keepings:
        return (OwnTime(service),) if service.first <= service.last else ()
    spans = (_open(one.first, one.last) for one in in_order(book.keepings) if one.keeper == book.whose)
    inside = [span for raw in spans if (span := overlap(raw, service))]
    return tuple(OwnTime(span, _is_loan(book, span)) for span in inside)


def in_order(keepings: Iterable[Keeping]) -> list[Keeping]:
    """Return the times of a car by day."""
    return sorted(keepings, key=lambda one: one.first)


def keeper_on(book: CarBook, day: date) -> int | None:
    """Return who kept the car on ``day``; before the first time that is the first keeper.

    It is None on a day without a keeper, and always if the book names none.
    """
    times = in_order(book.keepings)
    if times and day < times[0].first:
        return times[0].keeper
    return next((one.keeper for one in times if _holds(one, day)), None)


def own_agreements(book: CarBook) -> list[Agreement]:
    """Return the agreements that count, by day: those of whoever kept the car on their first day.

    Nobody keeps it after its service; what begins then says nothing of the days before.
    """
    last = book.service.last or date.max
    own = (held for held in book.agreements if held.starts_on <= last and _is_own(book, held.starts_on))
    return sorted(own, key=lambda held: held.starts_on)


def own_valuations(book: CarBook) -> list[Valuation]:
    """Return the valuations that count, by day: those of whoever kept the car on their day."""
    return sorted(valued for valued in book.valuations if _is_own(book, valued.valued_on))


def time_of(book: CarBook, day: date) -> Period | None:
    """Return the keeper's time, within the service, in which ``day`` lies; before the first time, that one.

    It is None on a day without a keeper, or if nothing of that time is in the service.
    """
    service = _open(book.service.first, book.service.last)
    times = in_order(book.keepings)
    if not times:
        return service
    if day < times[0].first:
        return overlap(_open(times[0].first, times[0].last), service)
    holding = next((one for one in times if _holds(one, day)), None)
    return overlap(_open(holding.first, holding.last), service) if holding else None


def _is_own(book: CarBook, day: date) -> bool:
    return book.whose is None or not book.keepings or keeper_on(book, day) == book.whose


def _is_loan(book: CarBook, time: Period) -> bool:
    if time.last > book.as_of or days_in(time) > LOAN_DAYS:
        return False
    own_days = [
        *(fill.filled_on for fill in book.fills if not fill.is_anothers),
        *(valued.valued_on for valued in book.valuations),
    ]
    if any(time.first <= day <= time.last for day in own_days):
        return False
    bought = (held for held in own_agreements(book) if held.price is not None and held.way.becomes_own)
    return all(time_of(book, held.starts_on) != time for held in bought)


def _holds(one: Keeping, day: date) -> bool:
    return one.first <= day and (one.last is None or day <= one.last)


def _open(first: date, last: date | None) -> Period:
    return Period(first, last or date.max)


def days_with_a_car(books: Iterable[CarBook], period: Period) -> int:
    """Return the number of days of ``period`` on which the books' member had at least one car in service."""
    return days_of_any((time.period for book in books for time in own_times(book)), period)


def days_of_any(times: Iterable[Period], period: Period) -> int:
    """Return the number of days of ``period`` that lie in at least one of ``times``."""
    count, counted_to = 0, period.first - ONE_DAY
    for time in sorted(times):
        rest = Period(max(time.first, counted_to + ONE_DAY), time.last)
        days = overlap(rest, period) if rest.first <= rest.last else None
        if days:
            count, counted_to = count + days_in(days), days.last
    return count


def gave_up(book: CarBook, period: Period) -> bool:
    """Say whether the last day with the car for good lies in ``period``; the end of a loan is none."""
    kept = [time.period for time in own_times(book) if not time.is_loan]
    return bool(kept) and period.first <= kept[-1].last <= period.last


class InTimes(NamedTuple):
    """Everything that a member pays for a car, inside the member's ``times``.

    What falls before a time counts on its first day; what is left after the last one counts on its last day.
    """

    total: RunningTotal
    times: Sequence[Period]

    @property
    def first(self) -> date:
        """The first day on which something may be used."""
        return max(self.times[0].first, min(self.total.first, self.times[-1].last))

    @property
    def last(self) -> date:
        """The day by which all is used."""
        last = self.total.last
        return next((max(last, time.first) for time in self.times if last <= time.last), self.times[-1].last)

    @property
    def amount(self) -> int:
        """The whole sum."""
        return self.total.amount

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``."""
        if day >= self.times[-1].last:
            return self.total.amount
        begun = [time for time in self.times if time.first <= day]
        return self.total.by(min(day, begun[-1].last)) if begun else 0


def in_times(total: RunningTotal, times: Sequence[Period]) -> RunningTotal:
    """Return all that a member pays of a sum, inside the member's ``times``, of which there is one at least."""
    return total if is_within(total, times) else InTimes(total, times)


def is_within(total: Span, times: Iterable[Period]) -> bool:
    """Say whether all days of a sum, or of any span, lie in one of the times, which are in order and apart."""
    first = total.first
    begun = [ends_on for begins_on, ends_on in times if begins_on <= first]
    return bool(begun) and total.last <= begun[-1]


class OnOwnDays(NamedTuple):
    """What of a sum falls on the days of a member's ``times``; the rest counts in nobody's figures."""

    total: RunningTotal
    times: Sequence[Period]

    @property
    def first(self) -> date:
        """The first day on which something may be used."""
        return max(self.total.first, self.times[0].first)

    @property
    def last(self) -> date:
        """The day by which all is used that ever is."""
        return min(self.total.last, self.times[-1].last)

    @property
    def amount(self) -> int:
        """All that falls on the times."""
        return self.by(self.last)

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``."""
        return sum(
            self.total.by(min(day, time.last)) - self.total.by(time.first - ONE_DAY)
            for time in self.times
            if time.first <= day
        )


class ShareOfDays(NamedTuple):
    """An amount shared over the days of several ``spans`` of days, in order and apart."""

    spans: Sequence[Period]
    amount: int

    @property
    def first(self) -> date:
        """The first day of the first span."""
        return self.spans[0].first

    @property
    def last(self) -> date:
        """The last day of the last span."""
        return self.spans[-1].last

    def by(self, day: date) -> int:
        """Return what is used by the end of ``day``."""
        elapsed = sum(days_in(Period(span.first, min(span.last, day))) for span in self.spans if span.first <= day)
        return share(self.amount, elapsed, sum(map(days_in, self.spans)))


def inside(times: Iterable[OwnTime], span: Period) -> list[Period]:
    """Return the days of ``span`` that lie in ``times``."""
    return [days for time in times if (days := overlap(time.period, span))]


def lesson_days(book: CarBook) -> list[tuple[Teaching, list[Period]]]:
    """Return each teaching record by day, with its days that count: those on which whoever taught kept the car.

    In the car's own book a record without a name is of its keeper.
    """
    times: dict[int | None, tuple[OwnTime, ...]] = {}
    found = []
    for record in sorted(book.teaching, key=attrgetter("from_on", "to_on")):
        whose = record.member if book.whose is None else book.whose
        if whose not in times:
            times[whose] = own_times(book._replace(whose=whose))
        found.append((record, inside(times[whose], Period(record.from_on, record.to_on))))
    return found


def lessons_elsewhere(books: Mapping[int, CarBook]) -> list[Logged]:
    """Return the lessons that a member gave in cars which they kept on no day of them.

    ``books`` are the member's own, by car id; a car that has none here was not kept.
    """
    times = {car: own_times(book) for car, book in books.items()}
    logged = next((book.logged for book in books.values()), None) or ()
    return [
        one for one in logged if one.minutes != 0 and not inside(times.get(one.car, ()), Period(one.from_on, one.to_on))
    ]


def minutes_in(lessons: Iterable[Logged], spans: Sequence[Period]) -> int | None:
    """Return the minutes of lessons on the days of ``spans``, by the share of each record; None if one is not told."""
    minutes = 0
    for one in lessons:
        days = [span for span in spans if overlap(Period(one.from_on, one.to_on), span)]
        if days and one.minutes is None:
            return None
        total = ByDays(one.from_on, one.to_on, one.minutes or 0)
        minutes += sum(used_in(total, first - ONE_DAY, last) for first, last in days)
    return minutes


def that_count(book: CarBook, span: Period) -> list[Period]:
    """Return the days of ``span`` that count in the book's figures: all of them in the car's own book."""
    return [span] if book.whose is None else inside(own_times(book), span)
