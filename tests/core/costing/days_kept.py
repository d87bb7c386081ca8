"""Who kept a car on which day, by the slow road: nothing imported from the core but the records."""

from datetime import date, timedelta

from costing.core.records import Agreement, CarBook, Valuation

DAY = timedelta(days=1)
#: What each kind of agreement charges for; one that is not here is not known, and no book may have it.
CHARGED_AS = {
    "owned": "",
    "hire_purchase": "interest",
    "pcp": "interest",
    "contract_hire": "rental",
    "weekly_rental": "rental",
}
Time = tuple[date, date]


def days(first: date, last: date) -> list[date]:
    """Every day from ``first`` to ``last``, both counted."""
    found, day = [], first
    while day <= last:
        found.append(day)
        day += DAY
    return found


def is_hire(kind: str) -> bool:
    """Whether a car held so belongs to somebody else."""
    return CHARGED_AS[kind] == "rental"


class Kept:
    """The days that count in one book's figures, and which agreements and valuations do."""

    def __init__(self, book: CarBook) -> None:
        self.book = book
        self.service = (book.service.first, book.service.last or date.max)
        self.is_cut = book.whose is not None
        self.times: list[Time] = [self.service]
        if self.is_cut and book.keepings:
            spans = [self.in_service(k.first, k.last or date.max) for k in book.keepings if k.keeper == book.whose]
            self.times = sorted(span for span in spans if span)
        mine = (a for a in book.agreements if self.is_mine(a.starts_on) and a.starts_on <= self.service[1])
        self.agreements = sorted(mine, key=lambda a: a.starts_on)
        self.valuations = [valuation for valuation in book.valuations if self.is_mine(valuation.valued_on)]
        self.in_force = [(self.in_force_since(a), a.starts_on, a.kind) for a in self.agreements]
        self.kept = [time for time in self.times if not self.is_loan(time)]

    def in_service(self, first: date, last: date) -> Time | None:
        """The part of a time in which the car was in service."""
        first, last = max(first, self.service[0]), min(last, self.service[1])
        return (first, last) if first <= last else None

    def counts(self, day: date) -> bool:
        """Whether ``day`` counts: of the car's own book every day does."""
        return not self.is_cut or any(first <= day <= last for first, last in self.times)

    def is_kept(self, day: date) -> bool:
        """Whether ``day`` lies in a time that is no loan."""
        return any(first <= day <= last for first, last in self.kept)

    def next_day(self, day: date) -> date:
        """The day on which what falls on ``day`` counts: itself, the next own day, or else the last one."""
        if self.counts(day):
            return day
        return min((first for first, _ in self.times if first > day), default=self.times[-1][1])

    def keeper(self, day: date) -> int | None:
        """Who kept the car on ``day``; before the first time, the first keeper."""
        for one in self.book.keepings:
            if one.first <= day <= (one.last or date.max):
                return one.keeper
        first = min(self.book.keepings, key=lambda one: one.first, default=None)
        return first.keeper if first and day < first.first else None

    def time_of(self, day: date) -> Time | None:
        """The keeper's time in which ``day`` lies; before the first, that one."""
        if not self.book.keepings:
            return self.service
        first = min(self.book.keepings, key=lambda one: one.first)
        for one in self.book.keepings:
            if one.first <= day <= (one.last or date.max) or (one is first and day < one.first):
                return self.in_service(one.first, one.last or date.max)
        return None

    def is_mine(self, day: date) -> bool:
        """Whether an agreement or a valuation of ``day`` counts in the book's figures."""
        return not self.is_cut or not self.book.keepings or self.keeper(day) == self.book.whose

    def is_loan(self, time: Time) -> bool:
        """Whether a member only borrowed the car."""
        first, last = time
        if not self.is_cut or not self.book.keepings or last > self.book.as_of or last > first + 27 * DAY:
            return False
        filled = any(first <= fill.filled_on <= last for fill in self.book.fills if not fill.is_anothers)
        valued = any(first <= valuation.valued_on <= last for valuation in self.valuations)
        bought = [a for a in self.agreements if a.price is not None and not is_hire(a.kind)]
        agreed = any(self.time_of(agreement.starts_on) == time for agreement in bought)
        return not (filled or valued or agreed)

    def in_force_since(self, held: Agreement) -> date:
        """The day from which an agreement says how the car is held."""
        mine = [a for a in self.agreements if self.keeper(a.starts_on) == self.keeper(held.starts_on)]
        time = self.time_of(held.starts_on)
        if held is not mine[0] or time is None or (is_hire(held.kind) and held.starts_on > time[0] + 7 * DAY):
            return held.starts_on
        first = (self.times or [None])[0] if self.is_cut else self.time_of(date.min)
        return date.min if held is self.agreements[0] and time == first else time[0]

    def is_hired(self, day: date) -> bool:
        """Whether the car was held on hire on ``day``; without any agreement it is one's own."""
        begun = [one for one in self.in_force if one[0] <= day]
        return bool(begun) and is_hire(max(begun)[2])

    def values(self) -> dict[date, int]:
        """What the car was worth on the days it is known: prices, and over them valuations."""
        values: dict[date, int] = {}
        for held in self.agreements:
            if is_hire(held.kind) or held.price is None:
                continue
            before = [a for a in self.agreements if is_hire(a.kind) and a.starts_on < held.starts_on]
            time = self.time_of(held.starts_on)
            hired_before = any(self.keeper(a.starts_on) == self.keeper(held.starts_on) for a in before)
            day = held.starts_on if hired_before or time is None else time[0]
            values.setdefault(day, held.price)
        return values | {valuation.valued_on: valuation.pence for valuation in self.valuations}

    def runs_of_value(self, horizon: date) -> list[tuple[list[Valuation], date]]:
        """The known values of each run of days on which the car was not hired, with the last day of the run."""
        values = self.values()
        runs: list[tuple[list[Valuation], date]] = []
        run: list[Valuation] = []
        for day in days(min(values, default=horizon), max([horizon, *values])):
            if self.is_hired(day):
                runs.append((run, day - DAY))
                run = []
            elif day in values:
                run.append(Valuation(day, values[day]))
        return [one for one in [*runs, (run, date.max)] if one[0]]

    def is_value_unknown(self, first: date, last: date) -> bool:
        """Whether the loss of value is unknown on a day of one's own from ``first`` to ``last``."""
        runs = self.runs_of_value(last)
        return any(
            self.is_kept(day)
            and not self.is_hired(day)
            and not any(run[0].valued_on <= day <= run_ends for run, run_ends in runs)
            for day in days(first, last)
        )
