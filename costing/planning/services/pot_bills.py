"""The bills of the next 12 months from the book: what falls due, what is paid again, what an agreement asks, what was
typed."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import NamedTuple

from costing.core.catalogue.agreements import AGREEMENT_KINDS
from costing.core.catalogue.bills import BILL_KINDS
from costing.core.catalogue.costs import COST_CATEGORIES
from costing.core.money import to_pence
from costing.core.periods import ONE_DAY
from costing.core.records import Period
from costing.models import Agreement, PotBill, PotPlan, Repeat
from costing.planning.core.bills import (
    Bill,
    Bills,
    DayFrom,
    Due,
    Lacks,
    NotKnown,
    Payments,
    Price,
    Source,
    bills_of_due,
    bills_of_payments,
    in_order,
    last_payment_on,
    price_of_payments,
    typed_day,
)
from costing.planning.services.pot_rows import PotRows, owns_category, pot_rows
from costing.queries.repeats import proposal_of, repeating_of
from fleet.core.ahead import stands_on
from fleet.core.due import DueStatus, State
from fleet.core.due_kinds import DUE_KINDS
from fleet.core.odometer import Odometer, Pace
from fleet.models import Car
from fleet.queries import DueLine, DueReport, TreadReport, tread_reports
from instructors.models import Member

#: What every car needs sooner or later, whether or not a day is recorded.
_NEEDED = tuple(kind.name for kind in DUE_KINDS.values() if kind.by_miles and not kind.named_by_note)
#: What whoever teaches renews, whether or not a day is recorded.
_LETTING_TEACH = [kind for kind in DUE_KINDS.values() if kind.lets_teach]
#: What was paid less than so long ago goes on, for all one knows: payments are a month apart at most.
_OF_LATE = timedelta(days=62)
_BY_TREAD = next(kind for kind in DUE_KINDS.values() if kind.by_tread)


class Gathered(NamedTuple):
    """All that the bills follow from."""

    member: Member
    year: Period
    due: DueReport
    treads: Mapping[int, TreadReport]
    rows: PotRows

    @property
    def cars(self) -> list[Car]:
        return [due.car for due in self.due.cars]

    def until(self, car: Car) -> date:
        """The last day on which a bill for the car is the member's."""
        return min(filter(None, [self.year.last, car.in_service_to, self.member.left_on]))


def rows_of(member: Member, due: DueReport) -> PotRows:
    """Return the member's rows for the cars on which something may fall due: two queries at most."""
    kinds = {line.kind.name for one in due.cars for line in one.items}
    return pot_rows(member, [one.car for one in due.cars], kinds)


def gather(
    member: Member, year: Period, due: DueReport, rows: PotRows, odometers: Mapping[int, Odometer] | None = None
) -> Gathered:
    """Read what else the bills follow from: the tyres, and the ``odometers`` by car id if they are not given."""
    return Gathered(member, year, due, tread_reports([one.car for one in due.cars], year.first, odometers), rows)


def bills_of(book: Gathered) -> Bills:
    """Return the bills of the year, known and not known."""
    quotes = _Quotes(book)
    found: list[Bill | NotKnown] = [*_of_due_items(book, quotes), *_of_repeats(book), *_of_agreements(book)]
    return in_order([*found, *quotes.left(), *_typed(book)])


class _Quotes:
    """The quotes for what falls due, each taken at most once for one thing."""

    def __init__(self, book: Gathered) -> None:
        self.book = book
        self.by_kind: dict[tuple[str, int | None], PotBill] = {}
        self.taken: set[int] = set()
        for bill in book.rows.typed:
            if BILL_KINDS[bill.kind].falls_due and (bill.due_on is None or bill.due_on >= book.year.first):
                self.by_kind[bill.kind, bill.car_id] = bill

    def for_(self, kind: str, car: Car | None, last: Price | None) -> PotBill | None:
        """Return the quote for one thing: its car's, or one of no single car; None if it was paid since."""
        quote = self.by_kind.get((kind, car.pk if car else None)) or self.by_kind.get((kind, None))
        if quote is None:
            return None
        self.taken.add(quote.pk)
        is_past = last is not None and last.told_on is not None and last.told_on > quote.created_at.date()
        return None if is_past and quote.due_on is None else quote

    def left(self) -> Iterator[Bill | NotKnown]:
        """Yield what was quoted and is not in the book otherwise."""
        for quote in self.by_kind.values():
            if quote.pk in self.taken:
                continue
            kind, of = BILL_KINDS[quote.kind], quote.car.registration if quote.car else ""
            if quote.due_on is None:
                yield NotKnown(kind.words, of, kind.name, Lacks.DAY, quote=quote.pk)
            elif quote.due_on <= self.book.year.last:
                pence = to_pence(quote.amount)
                yield Bill(quote.due_on, pence, kind.words, Source.TYPED, of, kind.category)


def _of_due_items(book: Gathered, quotes: _Quotes) -> Iterator[Bill | NotKnown]:
    for one in book.due.cars:
        lines = {line.kind.name: line for line in one.items}
        year = book.year._replace(last=book.until(one.car))
        for name in dict.fromkeys([*lines, *_NEEDED]):
            due = _due(name, lines.get(name), one.car, book)
            price = book.rows.prices.get((one.car.pk, name))
            yield from _priced(due, price, quotes.for_(name, one.car, price), one.car, book, year)
    for person in book.due.members:
        for line in person.items:
            due = Due(line.kind.name, line.title, "", "", stands_on(line.status), _day_from(line.status))
            yield from _priced(due, None, quotes.for_(line.kind.name, None, None), None, book, book.year)
        recorded = {line.kind.name for line in person.items}
        for kind in _LETTING_TEACH:
            if person.member.grade in kind.held_by and kind.name not in recorded:
                due = Due(kind.name, kind.words, "", "", None)
                yield from _priced(due, None, quotes.for_(kind.name, None, None), None, book, book.year)


def _priced(
    due: Due, price: Price | None, quote: PotBill | None, car: Car | None, book: Gathered, year: Period
) -> Iterator[Bill | NotKnown]:
    """Yield the bills of one due item by its quote, what its payments came to, or its last price; none if it is paid
    by what repeats."""
    for repeat in book.rows.repeats if car and owns_category(due.kind) else ():
        if (repeat.car_id, repeat.category) == (car.pk if car else None, due.category):
            terms = repeating_of(repeat)
            last = last_payment_on(terms, repeat.stopped_on, year.last)
            if last is None or (due.on is not None and last >= due.on):
                return
            paid = price_of_payments(terms, last)
            if paid and (price is None or (price.told_on or date.min) < last):
                price = paid
    if quote is not None:
        due = due._replace(on=quote.due_on, day=DayFrom.TERMS) if quote.due_on else due
        lasts = price.lasts if price else None
        price = Price(to_pence(quote.amount), Source.QUOTE, quote.created_at.date(), lasts)
    for bill in bills_of_due(due, price, year):
        # With a quote, only the day can lack.
        yield bill._replace(quote=quote.pk) if isinstance(bill, NotKnown) and quote else bill


def _due(name: str, line: DueLine | None, car: Car, book: Gathered) -> Due:
    """Return what falls due on a car: its day as recorded, or that of the tyres as their tread foretells it."""
    kind, tread = DUE_KINDS[name], book.treads[car.pk]
    title, of = line.title if line else kind.words, car.registration
    pace = tread.wheels[0].pace
    if kind is _BY_TREAD and (worn_on := _worn_on(tread, book.year.first)):
        price = book.rows.prices.get((car.pk, name))
        days = _days_for(price.miles if price else None, pace)
        return Due(name, title, of, kind.cost_category, worn_on, DayFrom.TREAD, every_days=days)
    if line is None:
        return Due(name, title, of, kind.cost_category, None)
    return Due(
        *(name, title, of, kind.cost_category, stands_on(line.status), _day_from(line.status)),
        every_months=line.every.months or (kind.usual_months if line.every.miles is None else None),
        every_days=_days_for(line.every.miles, pace),
    )


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


def _of_repeats(book: Gathered) -> Iterator[Bill]:
    cars = {car.pk: car for car in book.cars}
    agreements = {agreement.pk: agreement for agreement in book.rows.agreements}
    for repeat in book.rows.repeats:
        car, agreement = cars[repeat.car_id], agreements.get(repeat.agreement_id or 0)
        until = min(filter(None, [book.until(car), repeat.stopped_on]))
        after = max(filter(None, [repeat.made_until, book.year.first - ONE_DAY]))
        yield from bills_of_payments(_payments(repeat, car, agreement, book.rows.plan), after, until)


def _of_agreements(book: Gathered) -> Iterator[Bill | NotKnown]:
    """Yield what each agreement asks, but for what a repeat pays of it; of a car without any, that it is not known."""
    cars = {car.pk: car for car in book.cars}
    by_car: dict[int, list[Agreement]] = defaultdict(list)
    for agreement in book.rows.agreements:
        by_car[agreement.car_id].append(agreement)
    for of_car in by_car.values():
        for agreement, following in zip(of_car, [*of_car[1:], None], strict=True):
            yield from _of_agreement(agreement, following, cars[agreement.car_id], book)
    repeated = {(repeat.car_id, repeat.category) for repeat in book.rows.repeats}
    for (car_id, category), paid_on in book.rows.instalments.items():
        is_told = car_id in by_car or (car_id, category) in repeated
        if not is_told and paid_on > book.year.first - _OF_LATE:
            yield NotKnown(COST_CATEGORIES[category].words, cars[car_id].registration, "", Lacks.AGREEMENT)


def _of_agreement(
    agreement: Agreement, following: Agreement | None, car: Car, book: Gathered
) -> Iterator[Bill | NotKnown]:
    kind, first, until = AGREEMENT_KINDS[agreement.kind], book.year.first, book.until(car)
    category = kind.instalments
    if category is None:
        return
    if agreement.deposit and first < agreement.starts_on <= until:
        pence = to_pence(agreement.deposit)
        words = kind.deposit_words.capitalize()
        yield Bill(agreement.starts_on, pence, words, Source.DEPOSIT, car.registration, category.name)
    paid_until = first - ONE_DAY
    for repeat in (one for one in book.rows.repeats if _pays(one, agreement, category.name)):
        last = last_payment_on(repeating_of(repeat), repeat.stopped_on, until)
        if last is None:
            return
        paid_until = max(paid_until, last)
    proposal = proposal_of(agreement)
    if proposal is None:
        if following is None:
            yield NotKnown(category.words, car.registration, "", Lacks.TERMS)
        return
    if following and kind.is_hire:
        until = min(until, following.starts_on - ONE_DAY)
    yield from bills_of_payments(_payments(proposal, car, agreement, book.rows.plan), paid_until, until)


def _pays(repeat: Repeat, agreement: Agreement, category: str) -> bool:
    """Say whether what repeats pays an agreement: it was made from it, or is of its car and sort."""
    if repeat.agreement_id:
        return repeat.agreement_id == agreement.pk
    return (repeat.car_id, repeat.category) == (agreement.car_id, category)


def _payments(repeat: Repeat, car: Car, agreement: Agreement | None, plan: PotPlan | None) -> Payments:
    kind = AGREEMENT_KINDS[agreement.kind] if agreement else None
    return Payments(
        repeating_of(repeat),
        COST_CATEGORIES[repeat.category].words,
        car.registration,
        repeat.category,
        Source.INSTALMENT if agreement else Source.REPEAT,
        (agreement.payments if agreement else repeat.payments) or 0,
        pauses=bool(kind and kind.is_hire and plan and plan.hire_pauses),
        has_choice=bool(kind and kind.has_choice_of_end),
    )


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
