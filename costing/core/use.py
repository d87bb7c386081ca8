"""How one car was used over a period, what was paid for it, and what its book lacks."""

from collections.abc import Iterator, Sequence

from costing.core.depreciation import owned_spans
from costing.core.economy import Stretch, stretches
from costing.core.keeping import ShareOfDays, inside, lesson_days, that_count
from costing.core.known import Known
from costing.core.missing import (
    Missing,
    OfRecord,
    Reason,
    missing_cover,
    missing_lessons,
    missing_terms,
    missing_values,
)
from costing.core.records import CarBook, Period, Unit
from costing.core.shares import InTurn, RunningTotal
from costing.core.spent import Spent


class Use:
    """What every period of one book is worked out from, and what each of them lacks."""

    def __init__(self, book: CarBook) -> None:
        self.book, self.spent = book, Spent(book)
        self.fills, self.odometer = self.spent.fills, self.spent.odometer
        self.known = Known(book, self.odometer)
        self._owned = owned_spans(book)
        self._taught = lesson_days(book)
        # A record that counts and tells everything lacks nothing in any period.
        self._doubtful = [(one, days) for one, days in self._taught if not days or None in one[2:5]]

    def doubtful(self, period: Period) -> list[OfRecord]:
        """Return the reasons that lie in one teaching record each."""
        return list(missing_lessons(self.book, self._doubtful, period))

    def lacking(self, period: Period, doubtful: Sequence[OfRecord]) -> list[Missing]:
        """Return what is not recorded of the days that count in ``period``, with its `doubtful` reasons."""
        lessons = [one.missing for one in doubtful]
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
        found = stretches(self.fills, unit)
        if self.book.whose is None:
            yield from found
            return
        times = [time.period for time in self.known.times]
        for one in found:
            for first, last in times:
                if first <= one.begins_on and one.ends_on <= last:
                    yield one
                    break

    def taught(self) -> Iterator[list[RunningTotal]]:
        """Yield the running totals of lessons, of minutes and of private miles; what is not told counts as none.

        A record is shared over its days that count; one without such a day is left out. Those that follow one another,
        as weeks do, are one.
        """
        in_turn, others = [], []
        spans: list[Period] = []
        for record, days in self._taught:
            if len(days) == 1 and (not spans or spans[-1].last < days[0].first):
                in_turn.append(record[2:5])
                spans.append(days[0])
            elif days:
                others.append((days, record[2:5]))
        for which in range(3):
            found: list[RunningTotal] = [ShareOfDays(days, told[which] or 0) for days, told in others]
            yield [*found, InTurn(spans, [told[which] or 0 for told in in_turn])] if spans else found

    def paid_in(self, period: Period) -> int:
        """Return the pence paid in the period; for a car that the member never kept, nothing."""
        if not self.known.times:
            return 0
        return sum(cost.pence for cost in self.book.costs if period.first <= cost.paid_on <= period.last) + sum(
            fill.pence for fill in self.book.fills if period.first <= fill.filled_on <= period.last
        )
