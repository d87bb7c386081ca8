"""Until when a car's inputs reach, by the slow road: nothing imported from the core but the records."""

from datetime import date

from costing.core.records import CarBook, Period
from tests.core.costing.days_kept import DAY, Kept, days

Named = set[tuple[str, date | None]]
#: The reasons of each input: none at all, none before, none after.
READINGS = ("no_readings", "no_reading_before", "no_reading_after")
FILLS = ("no_fills", "no_fill_before", "no_fill_after")
LESSONS = ("no_teaching", "no_lessons_before", "no_lessons_after")


class DaysKnown:
    """How far the readings, the fuel and the lessons of one book reach."""

    def __init__(self, book: CarBook, kept: Kept, readings: dict[date, int]) -> None:
        self.book, self.kept, self.readings = book, kept, readings
        fills = sorted((f.filled_on, f.odometer) for f in book.fills if not f.is_anothers)
        fuelled: list[date] = [day for day, _ in fills]
        if fills:
            fuelled += [day for day, miles in readings.items() if miles <= fills[-1][1] + 5 and day > fills[-1][0]]
        #: The first and the last day of each input; empty without a record.
        self.inputs = {READINGS: sorted(readings), FILLS: sorted(fuelled), LESSONS: self.taught_days()}

    def logged(self, member: int | None) -> list[tuple[date, date]]:
        """The days of teaching records of one member, or of all."""
        if self.book.logged is None:
            return sorted((record.from_on, record.to_on) for record in self.book.teaching)
        return sorted((r.from_on, r.to_on) for r in self.book.logged if member is None or r.member == member)

    def taught_days(self) -> list[date]:
        """The first and the last day with a teaching record."""
        first_keeper = last_keeper = self.book.whose
        keepings = sorted((one.first, one.keeper) for one in self.book.keepings)
        keepings = [one for one in keepings if one[0] <= self.book.as_of] or keepings
        if first_keeper is None and keepings:
            first_keeper, last_keeper = keepings[0][1], keepings[-1][1]
        first, last = self.logged(first_keeper), self.logged(last_keeper)
        if not first or not last:
            return []
        return [first[0][0], max(min(to_on, self.book.as_of) for _, to_on in last)]

    def reaches_to(self, last: date) -> date:
        """The last day that an input tells: what lies near the end of a time reaches to it, once it has come."""
        near = [
            end
            for _, end in self.kept.kept or self.kept.times
            if end <= self.book.as_of and 0 <= (end - last).days <= 7
        ]
        return max([last, *near])

    def until(self) -> date | None:
        """The day until which all three inputs are known."""
        if not self.kept.times or not all(self.inputs.values()):
            return None
        return min(self.reaches_to(found[-1]) for found in self.inputs.values())

    def needed(self, period: Period) -> tuple[date, date, date] | None:
        """The first and the last day that count, no loans, and the first day of the first one's time."""
        inside = [day for day in days(period.first, period.last) if self.kept.is_kept(day)]
        if not inside:
            return None
        begin = next(first for first, last in self.kept.kept if first <= inside[0] <= last)
        return inside[0], inside[-1], begin

    def lacks(self, period: Period) -> Named:
        """Which inputs do not reach from the first to the last day that counts."""
        named: Named = set()
        needed = self.needed(period)
        if needed is None:
            return named
        first, last, begin = needed
        for (none, before, after), found in self.inputs.items():
            if not found:
                named.add((none, None))
                continue
            from_on = begin if 0 <= (found[0] - begin).days <= 7 else found[0]
            if from_on > self.start(none, first, begin):
                named.add((before, found[0]))
            if self.reaches_to(found[-1]) < last:
                named.add((after, found[-1]))
        return named

    def start(self, none: str, first: date, begin: date) -> date:
        """The day by which an input must begin: miles count from the evening before, unless the time begins."""
        return first - DAY if none == "no_readings" and first > begin else first

    def is_level(self, period: Period) -> bool:
        """Whether miles are taken as level over a few days at the start or the end of a time."""
        needed, found = self.needed(period), self.inputs[READINGS]
        if needed is None or not found:
            return False
        first, last, begin = needed
        before = found[0] > self.start("no_readings", first, begin) and 0 <= (found[0] - begin).days <= 7
        return before or found[-1] < last <= self.reaches_to(found[-1])

    def untold(self, period: Period) -> Named:
        """The first of each run of more than 7 days between two records, on the days of its member's time."""
        named: Named = set()
        members = {record.member for record in self.book.logged or ()}
        if self.kept.is_cut:
            members &= {self.book.whose}
        books = [self.book._replace(whose=member) for member in members]
        for book in [self.book] if self.book.logged is None else books:
            told = {day for first, last in self.logged(book.whose) for day in days(first, last)}
            times = Kept(book).times
            run: list[date] = []
            for day in days(min(told), max(told)) if told else []:
                if day not in told:
                    run.append(day)
                    continue
                named |= self.named_in(run, times, period) if len(run) > 7 else set()
                run = []
        return named

    def named_in(self, run: list[date], times: list[tuple[date, date]], period: Period) -> Named:
        """A run's first day in each of ``times``, if days of that part lie in ``period``."""
        parts = [[day for day in run if first <= day <= last] for first, last in times]
        return {
            ("days_without_lessons", part[0])
            for part in parts
            if any(period.first <= day <= period.last for day in part)
        }
