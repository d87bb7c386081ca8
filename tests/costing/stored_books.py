"""A core book written into the tables, so that what is read back can be held against it."""

from decimal import Decimal

from costing.core.records import CarBook
from fleet.models import Car, OdometerReading
from tests.factories import (
    AgreementFactory,
    CarFactory,
    CostEntryFactory,
    FillFactory,
    TeachingRecordFactory,
    ValuationFactory,
)


def store(book: CarBook) -> Car:
    """Write every record of ``book`` as its own row, of one car and its keeper."""
    car = CarFactory.create(in_service_from=book.service.first, in_service_to=book.service.last)
    highest: dict[object, int] = {}
    for read_on, miles in book.readings:
        highest[read_on] = max(miles, highest.get(read_on, 0))
    for read_on, miles in highest.items():
        OdometerReading.objects.create(car=car, read_on=read_on, miles=miles)
    for cost in book.costs:
        fields = cost._asdict()
        CostEntryFactory.create(car=car, amount=Decimal(fields.pop("pence")) / 100, **fields)
    for fill in book.fills:
        fields = fill._asdict()
        del fields["is_anothers"]
        quantity, amount = Decimal(fields.pop("thousandths")) / 1000, Decimal(fields.pop("pence")) / 100
        FillFactory.create(car=car, quantity=quantity, amount=amount, **fields)
    for record in book.teaching:
        fields = record._asdict()
        TeachingRecordFactory.create(car=car, lesson_count=fields.pop("lessons"), **fields)
    for agreement in {agreement.starts_on: agreement for agreement in book.agreements}.values():
        money = ("price", "deposit", "payment", "final_payment", "fees")
        terms = agreement._asdict()
        pounds = {name: None if terms[name] is None else Decimal(terms[name]) / 100 for name in money}
        AgreementFactory.create(car=car, **(terms | pounds))
    for valuation in {valuation.valued_on: valuation for valuation in book.valuations}.values():
        ValuationFactory.create(car=car, valued_on=valuation.valued_on, value=Decimal(valuation.pence) / 100)
    return car
