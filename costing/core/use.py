"""How one car was used over a period, what was paid for it, and what its book lacks."""

from collections.abc import Iterator

from costing.core.depreciation import owned_spans
from costing.core.economy import Stretch, in_order, stretches
from costing.core.keeping import ShareOfDays, inside, that_count
from costing.core.known import Known
from costing.core.missing import Missing, Reason, missing_cover, missing_lessons, missing_terms, missing_values
from costing.core.odometer import CarOdometer
from costing.core.records import CarBook, Period, Unit


class Use:
    """What every period of one book is worked out from, and what each of them lacks."""

    def __init__(self, book: CarBook) -> None:
        self.book, self.fills = book, in_order(book.fills)
        self.odometer = CarOdometer(book.readings, self.fills)
        self.known = Known(book, self.odometer)
        self._owned = owned_spans(book)

    def lacking(self, period: Period) -> list[Missing]:
        """Return what is not recorded of the days that count in ``period``."""
        lessons = missing_lessons(self.book, period)
        if not inside(self.known.times, period):
            return [Missing(Reason.NOT_IN_SERVICE), *lessons]
        return [
            *([Missing(Reason.BORROWED)] if self.known.is_borrowed_in(period) else []),
            *self.known.lacks(period),
            *([] if self.odometer else missing_cover(self.book, period)),
            *missing_values(self.book, self._owned, period),
            *missing_terms(self.book, period),
            *self.known.untold(period),
            *lessons,
        ]

    def miles(self, period: Period) -> int | None:
        """Return the miles of the period, of a member's own book on the member's days alone."""
        days = that_count(self.book, period)
        return sum(self.odometer.miles(one) or 0 for one in days) if self.odometer else None

    def stretches(self, unit: Unit) -> Iterator[Stretch]:
        """Yield the brim-to-brim stretches that count: of a member's own book, with both brims inside one time."""
        for found in stretches(self.fills, unit):
            if self.book.whose is None or any(
                time.period.first <= found.begins_on and found.ends_on <= time.period.last for time in self.known.times
            ):
                yield found

    def taught(self) -> Iterator[list[ShareOfDays]]:
        """Yield the running totals of lessons, of minutes and of private miles; what is not told counts as none.

        In a member's own book a record is shared over its days in the member's times; one without such a day is left
        out.
        """
        records = []
        for record in self.book.teaching:
            if days := that_count(self.book, Period(record.from_on, record.to_on)):
                records.append((days, record))
        yield [ShareOfDays(days, record.lessons or 0) for days, record in records]
        yield [ShareOfDays(days, record.minutes or 0) for days, record in records]
        yield [ShareOfDays(days, record.private_miles or 0) for days, record in records]

    def paid_in(self, period: Period) -> int:
        """Return the pence paid in the period; for a car that the member never kept, nothing."""
        if not self.known.times:
            return 0
        return sum(cost.pence for cost in self.book.costs if period.first <= cost.paid_on <= period.last) + sum(
            fill.pence for fill in self.book.fills if period.first <= fill.filled_on <= period.last
        )
