"""The part of a book that is looked at: its own days of a period that ends today."""

from collections.abc import Iterator
from datetime import date

from costing.core.economy import Stretch
from costing.core.periods import ONE_DAY, overlap
from costing.core.records import CarBook, Fill, Period, Unit
from costing.core.use import Use

UNITS: tuple[Unit, ...] = ("litre", "kwh")


class Looked:
    """One book from the first to the last day of a ``period``; the last day is today.

    ``times`` are the member's own with the car, without loans; what lies before the period is cut off. ``now`` is the
    one that goes on today; None if there is none.
    """

    def __init__(self, book: CarBook, period: Period) -> None:
        self.book, self.period, self.use = book, period, Use(book)
        own = [time.period for time in self.use.known.times if not time.is_loan]
        cut = [overlap(time, Period(period.first, date.max)) for time in own]
        self.times = [time for time in cut if time and time.first <= period.last]
        self.now = next((time for time in self.times if time.first <= period.last <= time.last), None)

    def fills(self, time: Period) -> list[Fill]:
        """The fills of a time until today, in order, other people's too."""
        until = min(time.last, self.period.last)
        return [fill for fill in self.use.fills if time.first <= fill.filled_on <= until]

    def stretches(self) -> Iterator[tuple[Unit, list[Stretch]]]:
        """Yield the stretches that ended in the period; of a car that takes both fuel and charge none tells."""
        units = {fill.unit for time in self.times for fill in self.fills(time) if not fill.is_anothers}
        for unit in UNITS:
            if units == {unit}:
                found = self.use.stretches(unit)
                yield unit, [one for one in found if self.period.first <= one.ends_on <= self.period.last]

    def readings_seen(self) -> int:
        """How many days have a reading of the member's: that of a handover was read on the evening before a time."""
        evenings = {time.first - ONE_DAY for time in self.times if time.first > self.period.first}
        own = {day for time in self.times for day in self.readings(time)}
        return len(own | evenings & set(self.use.odometer.days))

    def readings(self, time: Period) -> list[date]:
        """The days of a time with a reading, until today, oldest first."""
        until = min(time.last, self.period.last)
        return [day for day in self.use.odometer.days if time.first <= day <= until]
