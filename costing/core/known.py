"""Until which day everything that a car's figures rest on has come in, and what is lacking for a period."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from costing.core.keeping import OwnTime, in_order, inside, own_times
from costing.core.missing import Missing, Reason
from costing.core.odometer import CarOdometer
from costing.core.periods import NEAR, ONE_DAY, overlap
from costing.core.records import CarBook, Logged, Period

#: A fill tells the fuel up to a reading that shows at most so many miles more.
MILES_PAST_FILL = 5
#: More days than these between two teaching records, without one, are named.
MOST_UNTOLD_DAYS = 7


class Reach(NamedTuple):
    """The first and the last day for which an input is known."""

    first: date
    last: date


class Needed(NamedTuple):
    """The first and last day of a period that count in its figures, and the bounds of the times that they are of."""

    first: date
    last: date
    begins_on: date
    ends_on: date


class Known:
    """What is known of one book: how far its readings, its fuel and its lessons reach.

    A member's loans make no figure absent. Of a car of one's own book the lessons are those of its last keeper and,
    at the start, of its first one.
    """

    def __init__(self, book: CarBook, odometer: CarOdometer) -> None:
        self._book, self.times = book, own_times(book)
        self._readings = Reach(odometer.first_on, odometer.last_on) if odometer else None
        self._fuel, self._lessons = _fuel_reach(book, odometer), _lessons_reach(book)
        self._untold = list(_untold(book))

    @property
    def until(self) -> date | None:
        """The last day for which all three are known; None if there is no record of one of them."""
        reaches = (self._readings, self._fuel, self._lessons)
        if not self.times or None in reaches:
            return None
        ends = [time.period.last for time in self._kept(self.times) or self.times]
        return min(max(self._reaches_to(reach, ends_on) for ends_on in ends) for reach in reaches if reach)

    def is_borrowed_in(self, period: Period) -> bool:
        """Whether every day of the period with the car was a loan."""
        times = self._in(period)
        return bool(times) and not self._kept(times)

    def lacks(self, period: Period) -> Iterator[Missing]:
        """Yield why the period's figures that divide cannot be known yet, with the day each input reaches to."""
        needed = self._needed(period)
        if needed is None:
            return
        yield from self._lacking_readings(needed)
        yield from self._lacking(needed, self._fuel, Reason.NO_FILLS, Reason.NO_FILL_BEFORE, Reason.NO_FILL_AFTER)
        yield from self._lacking(
            needed, self._lessons, Reason.NO_TEACHING, Reason.NO_LESSONS_BEFORE, Reason.NO_LESSONS_AFTER
        )

    def untold(self, period: Period) -> Iterator[Missing]:
        """Yield the first of each run of days between two teaching records that is too long to pass unnamed."""
        for days in self._untold:
            if overlap(days, period):
                yield Missing(Reason.DAYS_WITHOUT_LESSONS, days.first)

    def is_level_in(self, period: Period) -> bool:
        """Whether the period's miles take the first or last reading as level over the few days beside it."""
        needed, reach = self._needed(period), self._readings
        if needed is None or reach is None:
            return False
        before = self._lacks_start(needed, reach.first) and not self._lacks_start(needed, self._from(reach, needed))
        return before or reach.last < needed.last <= self._reaches_to(reach, needed.ends_on)

    def _lacking_readings(self, needed: Needed) -> Iterator[Missing]:
        reach = self._readings
        if reach is None:
            yield Missing(Reason.NO_READINGS)
            return
        if self._lacks_start(needed, self._from(reach, needed)):
            yield Missing(Reason.NO_READING_BEFORE, reach.first)
        if self._reaches_to(reach, needed.ends_on) < needed.last:
            yield Missing(Reason.NO_READING_AFTER, reach.last)

    def _lacking(
        self, needed: Needed, reach: Reach | None, none: Reason, before: Reason, after: Reason
    ) -> Iterator[Missing]:
        if reach is None:
            yield Missing(none)
            return
        if self._from(reach, needed) > needed.first:
            yield Missing(before, reach.first)
        if self._reaches_to(reach, needed.ends_on) < needed.last:
            yield Missing(after, reach.last)

    def _lacks_start(self, needed: Needed, read_on: date) -> bool:
        """Whether a first reading is too late: miles count from the evening before, at the start from that day on."""
        return read_on > (needed.first if needed.first == needed.begins_on else needed.first - ONE_DAY)

    def _from(self, reach: Reach, needed: Needed) -> date:
        return min(reach.first, needed.begins_on) if reach.first - needed.begins_on <= NEAR else reach.first

    def _reaches_to(self, reach: Reach, ends_on: date) -> date:
        """The day an input reaches to: what lies near the end of a time reaches to it, once it has come."""
        return max(reach.last, ends_on) if ends_on - reach.last <= NEAR and ends_on <= self._book.as_of else reach.last

    def _in(self, period: Period) -> list[OwnTime]:
        return [time for time in self.times if overlap(time.period, period)]

    @staticmethod
    def _kept(times: Sequence[OwnTime]) -> list[OwnTime]:
        return [time for time in times if not time.is_loan]

    def _needed(self, period: Period) -> Needed | None:
        times = self._kept(self._in(period))
        if not times:
            return None
        first, last = times[0].period, times[-1].period
        return Needed(max(first.first, period.first), min(last.last, period.last), first.first, last.last)


def _fuel_reach(book: CarBook, odometer: CarOdometer) -> Reach | None:
    shown = [(fill.filled_on, fill.odometer) for fill in book.fills if not fill.is_anothers]
    if not shown:
        return None
    (first_on, _), (last_on, miles) = min(shown), max(shown)
    return Reach(first_on, max(last_on, odometer.last_read_up_to(miles + MILES_PAST_FILL)))


def _lessons_reach(book: CarBook) -> Reach | None:
    logged = _logged(book)
    if not logged:
        return None
    first, last = logged, logged
    if book.whose is None and book.keepings:
        # A handover that is still to come makes nobody the last keeper yet.
        times = [one for one in in_order(book.keepings) if one.first <= book.as_of] or in_order(book.keepings)
        first = [one for one in logged if one.member == times[0].keeper]
        last = [one for one in logged if one.member == times[-1].keeper]
    if not first or not last:
        return None
    return Reach(min(one.from_on for one in first), max(min(one.to_on, book.as_of) for one in last))


def _logged(book: CarBook) -> list[Logged]:
    if book.logged is None:
        return [Logged(0, record.from_on, record.to_on) for record in book.teaching]
    return [one for one in book.logged if book.whose is None or one.member == book.whose]


def _untold(book: CarBook) -> Iterator[Period]:
    """Yield the runs of more than 7 days between two records of a keeper, cut to that keeper's time with the car."""
    logged = _logged(book)
    for member in sorted({one.member for one in logged}):
        times = own_times(book._replace(whose=member)) if book.logged is not None else own_times(book)
        spans = sorted((one.from_on, one.to_on) for one in logged if one.member == member)
        reached = spans[0][1]
        for (_, to_on), (from_on, _) in pairwise(spans):
            reached = max(reached, to_on)
            if (from_on - reached).days > MOST_UNTOLD_DAYS + 1:
                yield from inside(times, Period(reached + ONE_DAY, from_on - ONE_DAY))


def known_until(book: CarBook) -> date | None:
    """Return the last day for which all that the book's figures rest on has come in; None without a record of it."""
    return Known(book, CarOdometer(book.readings, book.fills)).until


def so_far(books: Sequence[CarBook], period: Period) -> tuple[Period | None, date | None]:
    """Return the part of ``period`` that is known of all the ``books`` held in it, and the day until which it is.

    Loans do not count. There is no part if the day lies before the period, and no day without a record of an input.
    """
    return part_known([Known(book, CarOdometer(book.readings, book.fills)) for book in books], period)


def part_known(of_books: Iterable[Known], period: Period) -> tuple[Period | None, date | None]:
    """Return what `so_far` does, from what is known of each book."""
    held = [
        known for known in of_books if any(not time.is_loan and overlap(time.period, period) for time in known.times)
    ]
    days = [known.until for known in held]
    if not days or None in days:
        return None, None
    until = min(day for day in days if day)
    return (Period(period.first, min(until, period.last)) if until >= period.first else None), until
