"""The bills of the next 12 months from the book: what falls due, at its quote or last price, and what was typed.

What is paid again, and what an agreement asks, comes from `pot_agreements`.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from costing.core.catalogue.bills import BILL_KINDS
from costing.core.money import to_pence
from costing.core.records import Period
from costing.models import PotBill
from costing.planning.core.bills import (
    Bill,
    Bills,
    DayFrom,
    Due,
    Idle,
    IdleQuote,
    Lacks,
    NotKnown,
    Price,
    Source,
    bills_of_due,
    in_order,
    is_not_fitted,
    typed_day,
)
from costing.planning.core.paid_again import (
    begins_after_renewal,
    last_payment_on,
    pays_last_cover,
    with_payments,
)
from costing.planning.services.pot_agreements import of_agreements, of_repeats
from costing.planning.services.pot_gathered import Gathered
from costing.planning.services.pot_rows import owns_category
from costing.queries.repeats import repeating_of
from fleet.core.ahead import stands_on
from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.odometer import Pace
from fleet.models import Car
from fleet.queries import DueLine, TreadReport

#: What every car needs sooner or later, whether or not a day is recorded.
_NEEDED = tuple(kind.name for kind in DUE_KINDS.values() if kind.by_miles and not kind.named_by_note)
#: What whoever teaches renews, whether or not a day is recorded.
_LETTING_TEACH = [kind for kind in DUE_KINDS.values() if kind.lets_teach]
_BY_TREAD = next(kind for kind in DUE_KINDS.values() if kind.by_tread)


def bills_of(book: Gathered) -> Bills:
    """Return the bills of the year, known and not known."""
    quotes = _Quotes(book)
    found: list[Bill | NotKnown] = [*_of_due_items(book, quotes), *of_repeats(book), *of_agreements(book)]
    bills = in_order([*found, *quotes.left(), *_typed(book)])
    return bills._replace(idle=quotes.idle(), days_before=quotes.days_before)


class _Quotes:
    """The quotes for what falls due: those for one car, and those that stand for each.

    Of several for one thing and car, a car's own counts before one for all cars, then one within the year before a
    later one, then the newest. One without a day is for the day of the one that would count without it: a new price
    moves no bill. One for a day beyond the year leaves alone what falls due within it.
    """

    def __init__(self, book: Gathered) -> None:
        self.book = book
        self.by_kind: dict[tuple[str, int | None], list[PotBill]] = defaultdict(list)
        #: The quotes that were looked at, those that count for some car, and for which cars each does not.
        self.looked_at: set[int] = set()
        self.counting: set[int] = set()
        self.left_out: dict[int, list[IdleQuote]] = defaultdict(list)
        #: Of those without a day, that of a quote before them.
        self.days_before: dict[int, date] = {}
        for bill in sorted(book.rows.typed, key=lambda one: (self._is_later(one), -one.pk)):
            if BILL_KINDS[bill.kind].falls_due and (bill.due_on is None or bill.due_on >= book.year.first):
                self.by_kind[bill.kind, bill.car_id].append(bill)

    def _is_later(self, quote: PotBill) -> bool:
        return quote.due_on is not None and quote.due_on > self.book.year.last

    def of(self, car: Car) -> list[str]:
        """Return the kinds for which there is a quote for a car, or for all cars."""
        return [kind for kind, pk in self.by_kind if pk == car.pk or (pk is None and BILL_KINDS[kind].of_car)]

    def for_(self, due: Due, car: Car | None, last: Price | None) -> PotBill | None:
        """Return the quote that counts for what falls due; None if there is none, or all were paid since."""
        keys = dict.fromkeys([(due.kind, car.pk if car else None), (due.kind, None)])
        paid_on, found = (last.told_on if last else None) or date.min, list[PotBill]()
        for quote in [quote for key in keys for quote in self.by_kind.get(key, ())]:
            self.looked_at.add(quote.pk)
            if not quote.due_on and paid_on > quote.created_at.date():
                self.leave(quote, car, Idle.PAID)
            elif not (self._is_later(quote) and due.on and due.on <= self.book.year.last):
                found.append(quote)
        for other in found[1:]:
            self.leave(other, car, Idle.NEWER if found[0].car_id == other.car_id else Idle.OWN, found[0])
        return self._dated(found) if found else None

    def _dated(self, quotes: Sequence[PotBill]) -> PotBill:
        """Return the first, with the day of the first that has one if it has none itself."""
        first, on = quotes[0], next((quote.due_on for quote in quotes if quote.due_on), None)
        if on and not first.due_on:
            self.days_before[first.pk] = on
        return first

    def day_of(self, quote: PotBill) -> date | None:
        """Return for which day a quote is; None if only the book may know."""
        return quote.due_on or self.days_before.get(quote.pk)

    def leave(self, quote: PotBill, car: Car | None, why: Idle, instead: PotBill | None = None) -> None:
        """Note that a quote does not count for a car, and why."""
        of = (car.registration,) if car else ()
        found = IdleQuote(why, of, instead.pk if instead else None, to_pence(instead.amount) if instead else 0)
        self.left_out[quote.pk].append(found)

    def idle(self) -> dict[int, IdleQuote]:
        """Return the quotes that do not count for each of their cars."""
        idle = {}
        for pk, found in self.left_out.items():
            whys = {self._why(one) for one in found}
            of = tuple(mark for one in found for mark in one.of)
            why = whys.pop() if len(whys) == 1 else None
            idle[pk] = found[0]._replace(why=why, of=of, is_idle=pk not in self.counting)
        return idle

    def _why(self, one: IdleQuote) -> Idle | None:
        """Why a quote does not count: where that which goes before it is paid by what repeats, so is this one."""
        return one.why if one.instead is None or one.instead in self.counting else Idle.REPEATS

    def left(self) -> Iterator[Bill | NotKnown]:
        """Yield what was quoted and is not in the book otherwise."""
        for quotes in self.by_kind.values():
            if any(quote.pk in self.looked_at for quote in quotes):
                continue
            quote = self._dated(quotes)
            self.counting.add(quote.pk)
            for other in quotes[1:]:
                self.leave(other, other.car, Idle.NEWER, quote)
            kind, of = BILL_KINDS[quote.kind], quote.car.registration if quote.car else ""
            on = self.day_of(quote)
            if on is None:
                yield NotKnown(kind.words, of, kind.name, Lacks.DAY, quote=quote.pk)
            elif on <= self.book.year.last:
                pence = to_pence(quote.amount)
                yield Bill(on, pence, kind.words, Source.TYPED, of, kind.category)


def _of_due_items(book: Gathered, quotes: _Quotes) -> Iterator[Bill | NotKnown]:
    for one in book.due.cars:
        lines = {line.kind.name: line for line in one.items}
        year = book.year._replace(last=book.until(one.car))
        for name in dict.fromkeys([*lines, *_NEEDED, *quotes.of(one.car)]):
            price = book.rows.prices.get((one.car.pk, name))
            due = _due(name, lines.get(name), one.car, book)
            quote = quotes.for_(due, one.car, price)
            if quote is None and name not in lines and name not in _NEEDED:
                continue
            yield from _priced(due, price, quote, one.car, book, year, quotes)
    for person in book.due.members:
        for line in person.items:
            due = Due(line.kind.name, line.title, "", "", stands_on(line.status), _day_from(line.status))
            yield from _priced(due, None, quotes.for_(due, None, None), None, book, book.year, quotes)
        recorded = {line.kind.name for line in person.items}
        for kind in _LETTING_TEACH:
            if person.member.grade in kind.held_by and kind.name not in recorded:
                due = Due(kind.name, kind.words, "", "", None)
                yield from _priced(due, None, quotes.for_(due, None, None), None, book, book.year, quotes)


def _priced(
    due: Due,
    price: Price | None,
    quote: PotBill | None,
    car: Car | None,
    book: Gathered,
    year: Period,
    quotes: _Quotes,
) -> Iterator[Bill | NotKnown]:
    """Yield the bills of one due item by its quote, as its last payments went, or at its last price; none if it is paid
    by what repeats."""
    parts: list[Bill] = []
    for repeat in book.rows.repeats if car and owns_category(due.kind) else ():
        if (repeat.car_id, repeat.category) == (car.pk if car else None, due.category):
            terms = repeating_of(repeat)
            if due.on and begins_after_renewal(terms, max(due.on, year.first)):
                continue
            last = last_payment_on(terms, repeat.stopped_on, year.last)
            if last is None or (due.on and last >= due.on and not pays_last_cover(terms, last, due.on)):
                if quote is not None:
                    quotes.leave(quote, car, Idle.REPEATS)
                return
            price, again = with_payments(due, price, terms, last, year, book.rows.by_hand[repeat.pk])
            parts += again
    if quote is not None:
        quotes.counting.add(quote.pk)
        on = quotes.day_of(quote)
        due = due._replace(on=on, day=DayFrom.TERMS) if on else due
        lasts = price.lasts if price else None
        price, parts = Price(to_pence(quote.amount), Source.QUOTE, quote.created_at.date(), lasts), []
    yield from parts
    for bill in bills_of_due(due, price, year) if price or not parts else ():
        # With a quote, only the day can lack.
        yield bill._replace(quote=quote.pk) if isinstance(bill, NotKnown) and quote else bill


def _due(name: str, line: DueLine | None, car: Car, book: Gathered) -> Due:
    """Return what falls due on a car: its day as recorded, or that of the tyres as their tread foretells it."""
    kind, tread = DUE_KINDS[name], book.treads[car.pk]
    title, of = line.title if line else kind.words, car.registration
    pace = tread.wheels[0].pace
    price = book.rows.prices.get((car.pk, name))
    if kind is _BY_TREAD and price and _is_not_fitted(price, tread):
        if line is None:
            return Due(name, title, of, kind.cost_category, None, paid_on=price.told_on)
    elif kind is _BY_TREAD and (worn_on := _worn_on(tread, book.year.first)):
        days = _days_for(price.miles if price else None, pace)
        return Due(name, title, of, kind.cost_category, worn_on, DayFrom.TREAD, every_days=days)
    if line is None:
        return Due(name, title, of, kind.cost_category, None)
    return Due(
        *(name, title, of, kind.cost_category, stands_on(line.status), _day_from(line.status)),
        every_months=line.every.months or (kind.usual_months if line.every.miles is None else None),
        every_days=_days_for(line.every.miles, pace),
    )


def _is_not_fitted(price: Price, tread: TreadReport) -> bool:
    """Say whether tyres were paid for that the book does not have as fitted, so that its forecast is of others."""
    read_on = max((wheel.latest.read_on for wheel in tread.wheels if wheel.latest), default=None)
    fitted_on = max((wheel.fitted_on for wheel in tread.wheels if wheel.fitted_on), default=None)
    return is_not_fitted(price.told_on, read_on, fitted_on)


def _worn_on(tread: TreadReport, today: date) -> date | None:
    """Return the first day on which a tyre is down to what is common practice; today if one is."""
    limits = [wheel.practice for wheel in tread.wheels]
    if any(limit.is_below or limit.is_reached for limit in limits):
        return today
    return min((limit.on for limit in limits if limit.on), default=None)


def _days_for(miles: int | None, pace: Pace | None) -> int | None:
    """Return in how many days so many miles are run, rounded down."""
    return max(1, miles * pace.days // pace.miles) if miles and pace else None


def _day_from(status: DueStatus) -> DayFrom:
    if status.state is State.BOOKED and stands_on(status) == status.booked_for:
        return DayFrom.BOOKED
    if status.is_by_rule:
        return DayFrom.RULE
    return DayFrom.MILES if status.is_by_miles else DayFrom.RECORDED


def _typed(book: Gathered) -> Iterator[Bill]:
    """Yield the bills that the member typed with their days."""
    for bill in book.rows.typed:
        kind = BILL_KINDS[bill.kind]
        if kind.falls_due or bill.due_on is None:
            continue
        on = typed_day(bill.due_on, book.year, is_yearly=bill.is_yearly)
        if on is not None:
            of = bill.car.registration if bill.car else ""
            yield Bill(on, to_pence(bill.amount), bill.words or kind.words, Source.TYPED, of, kind.category)
