"""A core book written into the tables, so that what is read back can be held against it."""

from datetime import date
from decimal import Decimal
from typing import NamedTuple

from costing.core.keeping import in_order, keeper_on
from costing.core.records import CarBook
from fleet.models import Car, OdometerReading
from instructors.models import Member
from tests.factories import (
    AgreementFactory,
    CarFactory,
    CostEntryFactory,
    FillFactory,
    KeeperTimeFactory,
    MemberFactory,
    TeachingRecordFactory,
    ValuationFactory,
)


class Stored(NamedTuple):
    """A car, and the member whose own book was written; None for the car's own."""

    car: Car
    member: Member | None


def store(book: CarBook) -> Stored:
    """Write every record of ``book`` as its own row: in a member's own book as that member's, else as the keeper's."""
    numbers = {one.keeper for one in book.keepings} | {record.member for record in book.teaching} | {book.whose}
    members = {number: MemberFactory.create() for number in numbers}
    keeper = members[in_order(book.keepings)[-1].keeper] if book.keepings else members[book.whose]
    car = CarFactory.create(keeper=keeper, in_service_from=book.service.first, in_service_to=book.service.last)
    for time in book.keepings:
        KeeperTimeFactory.create(car=car, keeper=members[time.keeper], from_on=time.first, to_on=time.last)
    own = keeper if book.whose is None else members[book.whose]
    _store_readings(car, book)
    for cost in book.costs:
        fields = cost._asdict()
        del fields["key"]
        CostEntryFactory.create(car=car, member=own, amount=Decimal(fields.pop("pence")) / 100, **fields)
    for fill in book.fills:
        fields = fill._asdict()
        del fields["key"]
        by = MemberFactory.create() if fields.pop("is_anothers") else own
        # A row always has some; of somebody else's it is not read back.
        quantity, amount = Decimal(fields.pop("thousandths") or 1) / 1000, Decimal(fields.pop("pence")) / 100
        FillFactory.create(car=car, member=by, quantity=quantity, amount=amount, **fields)
    for record in book.teaching:
        fields = record._asdict()
        del fields["key"]
        is_own = record.member is None or book.whose is not None or not book.keepings
        by = own if is_own else members[record.member]
        TeachingRecordFactory.create(car=car, lesson_count=fields.pop("lessons"), **(fields | {"member": by}))
    _store_holdings(car, book, members)
    return Stored(car, None if book.whose is None else own)


def _store_readings(car: Car, book: CarBook) -> None:
    highest: dict[date, int] = {}
    for read_on, miles in book.readings:
        highest[read_on] = max(miles, highest.get(read_on, 0))
    for read_on, miles in highest.items():
        OdometerReading.objects.create(car=car, read_on=read_on, miles=miles)


def _store_holdings(car: Car, book: CarBook, members: dict[int | None, Member]) -> None:
    """Write agreements and valuations as those of whoever kept the car on their day, who alone could record them."""

    def whose(day: date) -> Member:
        return members[keeper_on(book, day) or book.whose] if book.keepings else car.keeper

    for agreement in {agreement.starts_on: agreement for agreement in book.agreements}.values():
        money = ("price", "deposit", "payment", "final_payment", "fees")
        terms = agreement._asdict()
        pounds = {name: None if terms[name] is None else Decimal(terms[name]) / 100 for name in money}
        AgreementFactory.create(car=car, member=whose(agreement.starts_on), **(terms | pounds))
    for valuation in {valuation.valued_on: valuation for valuation in book.valuations}.values():
        value = Decimal(valuation.pence) / 100
        ValuationFactory.create(car=car, member=whose(valuation.valued_on), valued_on=valuation.valued_on, value=value)
